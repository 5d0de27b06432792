// coilwrightd as a process: what it prints, how it stops, how it refuses to start.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <chrono>
#include <cstddef>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <thread>

#include "absl/strings/str_cat.h"
#include "calls/daemon.h"
#include "calls/methods.h"
#include "calls/standard_services.h"
#include "rpc/server.h"

namespace coilwright::calls {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;
using ::testing::HasSubstr;
using Clock = std::chrono::steady_clock;

grpc::Status ListRules(int port) {
  const auto channel = grpc::CreateChannel(absl::StrCat("127.0.0.1:", port), grpc::InsecureChannelCredentials());
  grpc::ClientContext context;
  context.set_deadline(std::chrono::system_clock::now() + seconds(30));
  v1::ListRulesResponse rules;
  return Named("ListRules").stub(channel, &context, v1::ListRulesRequest(), &rules);
}

// A call that never ends: a stream of reflection left open. It holds a stop up until the grace is over.
class OpenStream {
 public:
  explicit OpenStream(const Daemon& daemon) {
    const int port = PortIn(daemon.Line());
    if (port == 0) return;
    grpc::GenericStub stub(grpc::CreateChannel(absl::StrCat("127.0.0.1:", port), grpc::InsecureChannelCredentials()));
    stream_ = stub.PrepareCall(&context_, "/grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo", &queue_);
    stream_->StartCall(nullptr);
    open_ = Next() && ListRules(port).ok();
  }
  ~OpenStream() {
    if (stream_ == nullptr) return;
    context_.TryCancel();
    grpc::Status status;
    stream_->Finish(&status, nullptr);
    Next();
    queue_.Shutdown();
  }
  OpenStream(const OpenStream&) = delete;
  OpenStream& operator=(const OpenStream&) = delete;

  bool open() const { return open_; }

 private:
  bool Next() {
    void* tag = nullptr;
    bool ok = false;
    return queue_.Next(&tag, &ok) && ok;
  }

  grpc::ClientContext context_;
  grpc::CompletionQueue queue_;
  std::unique_ptr<grpc::GenericClientAsyncReaderWriter> stream_;
  bool open_ = false;
};

TEST(Daemon, PrintsItsPortAnswersAndStopsCleanlyOnEitherSignal) {
  for (const int signal : {SIGTERM, SIGINT}) {
    Daemon daemon({"--port=0"});
    const int port = PortIn(daemon.Line());
    ASSERT_GT(port, 0);
    EXPECT_TRUE(ListRules(port).ok());
    const auto start = Clock::now();
    daemon.Signal(signal);
    EXPECT_EQ(daemon.Wait(), 0);
    EXPECT_LT(Clock::now() - start, seconds(5)) << "nothing was running";
    EXPECT_THAT(daemon.Errors(), HasSubstr("stopping"));
    EXPECT_EQ(ListRules(port).error_code(), grpc::StatusCode::UNAVAILABLE);
  }
}

// What systemd waits for where a unit says Type=notify.
TEST(Daemon, TellsItsSupervisorWhenItTakesCallsAndWhenItStops) {
  const int heard = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  const timeval patience = {30, 0};
  setsockopt(heard, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  sockaddr_un address = {};
  address.sun_family = AF_UNIX;
  const std::string name = absl::StrCat("coilwright-notify-", getpid());
  name.copy(address.sun_path + 1, name.size());  // after a NUL: a name without a file
  ASSERT_EQ(bind(heard, reinterpret_cast<const sockaddr*>(&address),
                 static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + name.size())),
            0);
  const auto next = [heard] {
    char message[64];
    const ssize_t size = recv(heard, message, sizeof message, 0);
    return std::string(message, size < 0 ? 0 : static_cast<size_t>(size));
  };
  setenv("NOTIFY_SOCKET", ("@" + name).c_str(), 1);
  Daemon daemon({"--port=0"});
  unsetenv("NOTIFY_SOCKET");
  EXPECT_EQ(next(), "READY=1");
  EXPECT_TRUE(ListRules(PortIn(daemon.Line())).ok());
  daemon.Signal(SIGTERM);
  EXPECT_EQ(next(), "STOPPING=1");
  EXPECT_EQ(daemon.Wait(), 0);
  close(heard);
}

TEST(Daemon, WrongSettingsAreToldAndExitStatusTwo) {
  const std::string path = absl::StrCat(::testing::TempDir(), "coilwrightd_settings_", getpid(), ".json");
  std::ofstream(path) << "{\n \"name\": \"x\",\n \"tests\": { \"trip_ac_milliamps\": 0 }\n}\n";
  Daemon daemon({"--port=0", "--settings=" + path});
  EXPECT_EQ(daemon.Wait(), 2);
  EXPECT_THAT(daemon.Errors(), HasSubstr(path + ": line 3: tests.trip_ac_milliamps: got 0 mA, accepted: more than 0"));
  Daemon served({"--port=0", "--settings=" COILWRIGHT_SOURCE_DIR "/clients/demo/shop-settings.json"});
  EXPECT_GT(PortIn(served.Line()), 0);
  std::remove(path.c_str());
}

TEST(Daemon, ASecondSignalEndsItAtOnce) {
  Daemon daemon({"--port=0", "--grace_seconds=60"});
  OpenStream stream(daemon);
  ASSERT_TRUE(stream.open());
  daemon.Signal(SIGTERM);
  EXPECT_EQ(daemon.Wait(milliseconds(500)), -1) << "the open stream has its grace";
  daemon.Signal(SIGTERM);
  EXPECT_EQ(daemon.Wait(seconds(10)), 1);
  EXPECT_THAT(daemon.Errors(), HasSubstr("stopped without waiting"));
}

TEST(Daemon, GraceEndsAStopThatACallHoldsUp) {
  Daemon daemon({"--port=0", "--grace_seconds=1"});
  OpenStream stream(daemon);
  ASSERT_TRUE(stream.open());
  daemon.Signal(SIGTERM);
  EXPECT_EQ(daemon.Wait(seconds(10)), 0);
}

TEST(Daemon, APortInUseIsOneClearLineAndExitStatusOne) {
  const auto holder = rpc::Server::Start({});
  ASSERT_TRUE(holder.ok());
  Daemon daemon({absl::StrCat("--port=", (*holder)->port())});
  EXPECT_EQ(daemon.Wait(), 1);
  const std::string errors = daemon.Errors();
  EXPECT_THAT(errors, HasSubstr(absl::StrCat("coilwrightd: cannot listen on 127.0.0.1:", (*holder)->port(),
                                             ": address in use")));
  EXPECT_EQ(std::count(errors.begin(), errors.end(), '\n'), 1) << errors;
}

struct WrongCall {
  std::string argument;
  const char* said;
  int status;
};

TEST(Daemon, WrongFlagsAreOneLineThatNamesThem) {
  for (const WrongCall& wrong : {WrongCall{"--port=70000", "port", 2},
                                 {"--port=-1", "port", 2},
                                 {"--grace_seconds=-1", "grace_seconds", 2},
                                 {"--grace_seconds=4000", "grace_seconds", 2},
                                 {"--streams=-1", "streams", 2},
                                 {"--stream_idle_seconds=0", "stream_idle_seconds", 2},
                                 {"7360", "7360", 2},
                                 {"--port=x", "port", 2},
                                 {"--prot=7360", "prot", 2}}) {
    Daemon daemon({wrong.argument});
    EXPECT_EQ(daemon.Wait(), wrong.status) << wrong.argument;
    const std::string errors = daemon.Errors();
    EXPECT_THAT(errors, HasSubstr(wrong.said));
    EXPECT_EQ(std::count(errors.begin(), errors.end(), '\n'), 1) << errors;
  }
}

// "127.x" that is a name may be anybody's.
TEST(Daemon, ANameThatBeginsLikeLoopbackIsNotTrusted) {
  Daemon daemon({"--port=0", "--host=127.0.0.1.invalid"});  // .invalid never resolves, RFC 2606
  EXPECT_EQ(daemon.Wait(), 2);
  EXPECT_THAT(daemon.Errors(), HasSubstr("--host: got 127.0.0.1.invalid in plain text"));
  Daemon asked({"--port=0", "--host=127.0.0.1.invalid", "--plain_text_beyond_loopback"});
  EXPECT_EQ(asked.Wait(), 1);
  EXPECT_THAT(asked.Errors(), HasSubstr("warning: listening on 127.0.0.1.invalid in plain text"));
}

TEST(Daemon, AnIpv6AddressMayBeGivenBareOrInBrackets) {
  for (const char* host : {"--host=::1", "--host=[::1]"}) {
    Daemon daemon({"--port=0", host});
    const std::string line = daemon.Line();
    if (line.empty()) {
      EXPECT_EQ(daemon.Wait(), 1) << "no IPv6 on this machine";
      continue;
    }
    EXPECT_THAT(line, HasSubstr("[::1]:"));
    daemon.Signal(SIGTERM);
    EXPECT_EQ(daemon.Wait(), 0);
  }
}

}  // namespace
}  // namespace coilwright::calls
