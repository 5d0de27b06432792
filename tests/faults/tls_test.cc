// TLS and roles over real sockets, by the files that the flags name: who is let in, who is refused and how, and that
// nothing of a call that was refused is done.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "absl/strings/str_cat.h"
#include "absl/time/clock.h"
#include "calls/authority.h"
#include "calls/methods.h"
#include "calls/samples.h"
#include "calls/standard_services.h"
#include "calls/test_archive.h"
#include "coilwright/v1/job_service.grpc.pb.h"
#include "rpc/access.h"
#include "rpc/server.h"
#include "security.h"

namespace coilwright::calls {
namespace {

using rpc::Role;
using ::testing::HasSubstr;

const Authority& Ours() {
  static const Authority& authority = *new Authority("Harbour Lane authority");
  return authority;
}

class Tls : public ::testing::Test {
 protected:
  // Serves the archive of the tests by these flags.
  void Serve(SecurityFlags flags) {
    const auto security = ReadSecurity(flags, absl::Now());
    ASSERT_TRUE(security.ok()) << security.status();
    rpc::ServerOptions options;
    options.archive = TestArchive();
    options.credentials = security->credentials;
    options.access = security->access;
    auto started = rpc::Server::Start(options);
    ASSERT_TRUE(started.ok()) << started.status();
    server_ = *std::move(started);
  }
  SecurityFlags Flags(bool asks_clients, const std::string& roles = "") {
    const Issued own = Ours().Issue({"server", true});
    SecurityFlags flags;
    flags.host = "127.0.0.1";
    flags.tls_cert = folder_.Write("server.pem", own.certificate);
    flags.tls_key = folder_.Write("server.key", own.key);
    if (asks_clients) flags.tls_client_ca = folder_.Write("ca.pem", Ours().certificate());
    if (!roles.empty()) flags.roles = folder_.Write("roles.json", roles);
    return flags;
  }

  std::shared_ptr<grpc::Channel> Channel(const std::shared_ptr<grpc::ChannelCredentials>& credentials) const {
    grpc::ChannelArguments arguments;
    arguments.SetInt(GRPC_ARG_USE_LOCAL_SUBCHANNEL_POOL, 1);
    return grpc::CreateCustomChannel(absl::StrCat("127.0.0.1:", server_->port()), credentials, arguments);
  }
  static std::shared_ptr<grpc::ChannelCredentials> With(const Issued& own,
                                                        const std::string& roots = Ours().certificate()) {
    return grpc::SslCredentials({roots, own.key, own.certificate});
  }
  // The outcome of a call that writes; refused or not, the archive says whether it did.
  grpc::Status Write(const std::shared_ptr<grpc::ChannelCredentials>& credentials) {
    const v1::CreateJobRequest request = static_cast<const v1::CreateJobRequest&>(*GoodRequests("CreateJob").front());
    v1::CreateJobResponse response;
    grpc::ClientContext context;
    context.set_deadline(std::chrono::system_clock::now() + std::chrono::seconds(20));
    return v1::JobService::NewStub(Channel(credentials))->CreateJob(&context, request, &response);
  }
  static int64_t Written() { return *TestArchive()->LastSequence(); }

  void ExpectRefused(const std::shared_ptr<grpc::ChannelCredentials>& credentials, grpc::StatusCode code,
                     const std::string& says) {
    const int64_t before = Written();
    const grpc::Status status = Write(credentials);
    EXPECT_EQ(status.error_code(), code) << status.error_message();
    EXPECT_THAT(status.error_message(), HasSubstr(says));
    EXPECT_EQ(Written(), before) << "a refused call wrote";
  }

  CertificateFolder folder_;
  std::unique_ptr<rpc::Server> server_;
};

TEST_F(Tls, OfTheServerAloneLetsInWhoKnowsItsAuthority) {
  Serve(Flags(false));
  const int64_t before = Written();
  EXPECT_TRUE(Write(grpc::SslCredentials({Ours().certificate(), "", ""})).ok());
  EXPECT_EQ(Written(), before + 1);
  ExpectRefused(grpc::InsecureChannelCredentials(), grpc::StatusCode::UNAVAILABLE, "Socket closed");
  const Authority other("Other authority");
  ExpectRefused(grpc::SslCredentials({other.certificate(), "", ""}), grpc::StatusCode::UNAVAILABLE,
                "certificate verify failed");
}

TEST_F(Tls, OfBothSidesLetsInWhoHasAValidCertificate) {
  Serve(Flags(true));
  const int64_t before = Written();
  EXPECT_TRUE(Write(With(Ours().Issue({"bench 3"}))).ok());
  EXPECT_EQ(Written(), before + 1);
}

TEST_F(Tls, OfBothSidesRefusesEverybodyElse) {
  Serve(Flags(true));
  const Authority other("Other authority");
  const Authority pretender("Harbour Lane authority");  // the same name, another key
  const std::string closed = "Socket closed";
  const auto unavailable = grpc::StatusCode::UNAVAILABLE;
  ExpectRefused(grpc::SslCredentials({Ours().certificate(), "", ""}), unavailable, closed);
  ExpectRefused(With(other.Issue({"bench 3"})), unavailable, closed);
  ExpectRefused(With(pretender.Issue({"bench 3"})), unavailable, closed);
  ExpectRefused(With(Ours().Issue({"bench 3", false, -7200, -3600})), unavailable, closed);
  ExpectRefused(With(Ours().Issue({"bench 3", false, 3600, 7200})), unavailable, closed);
  ExpectRefused(grpc::InsecureChannelCredentials(), unavailable, closed);
  ExpectRefused(With(Ours().Issue({"bench 3"}), other.certificate()), unavailable, "certificate verify failed");
}

TEST_F(Tls, IsNotSpokenByAServerInPlainText) {
  SecurityFlags flags;
  flags.host = "127.0.0.1";
  Serve(flags);
  ExpectRefused(With(Ours().Issue({"bench 3"})), grpc::StatusCode::UNAVAILABLE, "wrong version number");
  EXPECT_TRUE(Write(grpc::InsecureChannelCredentials()).ok());
}

TEST_F(Tls, OfAServerUnderAnotherNameIsRefusedByTheClient) {
  SecurityFlags flags = Flags(false);
  const Issued own = Ours().Issue({"elsewhere", true, -3600, 86400, ""});
  folder_.Write("server.pem", own.certificate);
  folder_.Write("server.key", own.key);
  Serve(flags);
  ExpectRefused(grpc::SslCredentials({Ours().certificate(), "", ""}), grpc::StatusCode::UNAVAILABLE,
                "not in peer certificate");
}

constexpr char kRoles[] = R"(// of the test
{ "clients": [
  { "common_name": "office", "role": "ACCESS_ROLE_READ" },
  { "common_name": "bench 3", "role": "ACCESS_ROLE_RECORD" },
  { "common_name": "foreman", "role": "ACCESS_ROLE_SIGN_OFF" } ] })";

// Every method of the contract, streams among them, with every role.
TEST_F(Tls, EveryMethodAsksForItsRoleBeforeItDoesAnything) {
  Serve(Flags(true, kRoles));
  const std::vector<std::pair<std::string, Role>> clients = {
      {"stranger", Role::kNone}, {"office", Role::kRead}, {"bench 3", Role::kRecord}, {"foreman", Role::kSignOff}};
  for (const auto& [name, role] : clients) {
    const auto channel = Channel(With(Ours().Issue({name})));
    for (const AnyMethod& method : Methods()) {
      const rpc::MethodEntry& entry = rpc::EntryTaking(*method.request->GetDescriptor());
      const auto requests = GoodRequests(method.name);
      ASSERT_FALSE(requests.empty()) << method.name;
      const std::unique_ptr<Message> answer(method.response->New());
      grpc::ClientContext context;
      context.set_deadline(std::chrono::system_clock::now() + std::chrono::seconds(60));
      // The stub of a sample prepares the archive for it; the second time as every time after.
      Fresh(*requests.front());
      const int64_t prepared = Written();
      Fresh(*requests.front());
      const int64_t before = Written();
      const int64_t by_preparing = before - prepared;
      const grpc::Status status = method.stub(channel, &context, *requests.front(), answer.get());
      if (role >= entry.needs) {
        // What others did before may have been the same change.
        EXPECT_TRUE(status.ok() || status.error_code() == grpc::StatusCode::INVALID_ARGUMENT ||
                    status.error_code() == grpc::StatusCode::FAILED_PRECONDITION)
            << name << " " << method.name << ": " << status.error_message();
        continue;
      }
      EXPECT_EQ(status.error_code(), grpc::StatusCode::PERMISSION_DENIED) << name << " " << method.name;
      EXPECT_THAT(status.error_message(), HasSubstr(absl::StrCat("\"", name, "\"")));
      EXPECT_THAT(status.error_message(),
                  HasSubstr(absl::StrCat(std::string(entry.name), " needs the role ", std::string(Name(entry.needs)))));
      EXPECT_EQ(answer->ByteSizeLong(), 0u) << "nothing is told either";
      EXPECT_EQ(Written(), before + by_preparing) << method.name;
    }
  }
}

TEST_F(Tls, ARefusedWriteWritesNothing) {
  Serve(Flags(true, kRoles));
  ExpectRefused(With(Ours().Issue({"office"})), grpc::StatusCode::PERMISSION_DENIED, "has the role read");
  ExpectRefused(With(Ours().Issue({"stranger"})), grpc::StatusCode::PERMISSION_DENIED, "has no role here");
  EXPECT_TRUE(Write(With(Ours().Issue({"bench 3"}))).ok());
}

TEST_F(Tls, HealthIsForEveryCertificateThatIsVerified) {
  Serve(Flags(true, kRoles));
  Health health = Health::kUnknown;
  EXPECT_TRUE(CheckHealth(Channel(With(Ours().Issue({"stranger"}))), "", &health).ok());
  EXPECT_EQ(health, Health::kServing);
  EXPECT_FALSE(CheckHealth(Channel(grpc::SslCredentials({Ours().certificate(), "", ""})), "", &health).ok());
}

// One of two certificates with one name is taken out by its fingerprint, or given less.
TEST_F(Tls, AFingerprintWinsOverAName) {
  const Issued lost = Ours().Issue({"foreman"});
  const Issued kept = Ours().Issue({"foreman"});
  const std::string path = folder_.Write("lost.pem", lost.certificate);
  FILE* openssl = popen(absl::StrCat("openssl x509 -in ", path, " -noout -fingerprint -sha256").c_str(), "r");
  ASSERT_NE(openssl, nullptr);
  char line[256] = "";
  ASSERT_NE(fgets(line, sizeof line, openssl), nullptr);
  EXPECT_EQ(pclose(openssl), 0);
  const std::string printed = line;
  const std::string fingerprint = printed.substr(printed.find('=') + 1, 95);
  Serve(Flags(true, absl::StrCat(R"({ "clients": [ { "common_name": "foreman", "role": "ACCESS_ROLE_SIGN_OFF" },
      { "sha256_fingerprint": ")",
                                 fingerprint, R"(", "role": "ACCESS_ROLE_READ" } ] })")));
  EXPECT_TRUE(Write(With(kept)).ok());
  ExpectRefused(With(lost), grpc::StatusCode::PERMISSION_DENIED, "has the role read");
}

TEST_F(Tls, WrongRolesAreToldByFileLineAndField) {
  const auto security = ReadSecurity(
      Flags(true, "{ \"clients\": [\n { \"common_name\": \"a\" },\n { \"role\": \"ACCESS_ROLE_READ\" } ] }"),
      absl::Now());
  ASSERT_FALSE(security.ok());
  EXPECT_EQ(security.status().code(), absl::StatusCode::kInvalidArgument);
  const std::string says(security.status().message());
  EXPECT_THAT(says, HasSubstr("roles.json: line 2: clients[0].role: got nothing, accepted: ACCESS_ROLE_READ, "
                              "ACCESS_ROLE_RECORD, ACCESS_ROLE_SIGN_OFF"));
  EXPECT_THAT(says, HasSubstr("roles.json: line 3: clients[1].common_name: got nothing"));
  EXPECT_THAT(
      std::string(
          ReadSecurity(Flags(true, "{ \"clients\": [ { \"common_nam\": \"a\" } ] }"), absl::Now()).status().message()),
      HasSubstr("did you mean common_name?"));
}

}  // namespace
}  // namespace coilwright::calls
