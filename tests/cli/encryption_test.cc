// The command line over TLS, against the service as a process: what it takes to be answered, and what it says where the
// two sides do not agree.
#include "encryption.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include "absl/strings/str_cat.h"
#include "calls/authority.h"
#include "calls/daemon.h"
#include "program.h"

namespace coilwright::cli {
namespace {

using calls::Authority;
using calls::Issued;
using ::testing::HasSubstr;

class EncryptionTest : public ::testing::Test {
 protected:
  // Two files of one name, with the flags of the command line that take them.
  std::vector<std::string> Own(const std::string& name, const Issued& issued) const {
    return {"--cert", folder_.Write(name + ".pem", issued.certificate), "--key",
            folder_.Write(name + ".key", issued.key)};
  }
  std::string Ca() const { return folder_.Write("ca.pem", authority_.certificate()); }

  // Starts a server by these flags beside its own certificate.
  void Serve(const std::vector<std::string>& flags, const calls::Wanted& own = {"server", true}) {
    const Issued issued = authority_.Issue(own);
    std::vector<std::string> all = {"--port=0", "--tls_cert=" + folder_.Write("server.pem", issued.certificate),
                                    "--tls_key=" + folder_.Write("server.key", issued.key)};
    all.insert(all.end(), flags.begin(), flags.end());
    Start(all);
  }
  void Start(const std::vector<std::string>& flags) {
    daemon_ = std::make_unique<calls::Daemon>(flags);
    port_ = calls::PortIn(daemon_->Line());
    ASSERT_GT(port_, 0) << daemon_->Errors();
  }
  Ran Ask(std::vector<std::string> words, const std::vector<std::string>& more = {}) const {
    words.insert(words.end(), {"--server", absl::StrCat("127.0.0.1:", port_)});
    words.insert(words.end(), more.begin(), more.end());
    return RunProgram(words);
  }
  Ran Limits(const std::vector<std::string>& more) const { return Ask({"limits", "--volts", "230"}, more); }
  void ExpectHint(const std::vector<std::string>& more, const std::string& hint) const {
    const Ran ran = Limits(more);
    EXPECT_EQ(ran.exit_status, 4) << ran.out;
    EXPECT_THAT(ran.err, HasSubstr("no answer from 127.0.0.1:"));
    EXPECT_THAT(ran.err, HasSubstr(hint));
  }

  const calls::CertificateFolder folder_;
  const Authority authority_{"Harbour Lane authority"};
  std::unique_ptr<calls::Daemon> daemon_;
  int port_ = 0;
};

TEST_F(EncryptionTest, IsOnWithTheAuthorityOfTheServer) {
  Serve({});
  EXPECT_THAT(daemon_->Line(), HasSubstr("speaks TLS as CN = server, valid until "));
  const Ran ran = Limits({"--ca", Ca()});
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, HasSubstr("1500 V ac rms"));
  EXPECT_EQ(ran.err, "");
}

TEST_F(EncryptionTest, IsSpokenByTheExamples) {
  Serve({"--tls_client_ca=" + Ca()});
  const std::vector<std::string> bench = Own("bench", authority_.Issue({"bench 3"}));
  std::vector<std::string> words = {absl::StrCat("127.0.0.1:", port_), "--ca", Ca()};
  EXPECT_EQ(RunFile("examples/limits", words).exit_status, 1) << "it shows no certificate";
  words.insert(words.end(), bench.begin(), bench.end());
  EXPECT_THAT(RunFile("examples/limits", words).out, HasSubstr("withstand 1500 V AC"));
  EXPECT_THAT(RunFile("examples/stream_limits", words, "230\n").out, HasSubstr("withstand 1500 V AC"));
  words.resize(5);
  EXPECT_THAT(RunFile("examples/limits", words).err, HasSubstr("usage: limits HOST:PORT [--ca FILE"));
  EXPECT_THAT(RunFile("examples/limits", {words[0], "--ca", "/no/such/file"}).err,
              HasSubstr("--ca: got /no/such/file, which cannot be read, accepted: a file in PEM"));
}

TEST_F(EncryptionTest, SaysWhatTheServerMayWant) {
  Serve({"--tls_client_ca=" + Ca()});
  const Authority other("Other authority");
  const std::string theirs = folder_.Write("other.pem", other.certificate());
  ExpectHint({}, "if it speaks TLS, say so with --ca FILE");
  ExpectHint({"--ca", Ca()}, "if it wants a client certificate, give one with --cert FILE and --key FILE");
  ExpectHint({"--ca", theirs}, absl::StrCat("not of an authority in ", theirs));
  std::vector<std::string> stranger = Own("stranger", other.Issue({"stranger"}));
  stranger.insert(stranger.end(), {"--ca", Ca()});
  ExpectHint(stranger, "the certificate of --cert is not of an authority it takes");
  std::vector<std::string> bench = Own("bench", authority_.Issue({"bench 3"}));
  bench.insert(bench.end(), {"--ca", Ca()});
  EXPECT_EQ(Limits(bench).exit_status, 0);
  // A stream is told of in the same words.
  const Ran watch = RunProgram({"watch", "-", "--volts", "400", "--test-volts", "500", "--ca", Ca(), "--server",
                                absl::StrCat("127.0.0.1:", port_)},
                               "seconds,megohms,celsius\n1,100,20\n");
  EXPECT_THAT(watch.err, HasSubstr("give one with --cert FILE"));
}

TEST_F(EncryptionTest, SaysThatTheServerSpeaksPlainText) {
  Start({"--port=0"});
  ExpectHint({"--ca", Ca()}, "it does not speak TLS");
}

TEST_F(EncryptionTest, TakesAServerByAnotherNameOnlyWhereAsked) {
  Serve({}, {"bench server", true, -3600, 86400, ""});
  ExpectHint({"--ca", Ca()}, "its certificate is for another name");
  EXPECT_EQ(Limits({"--ca", Ca(), "--server-name", "bench server"}).exit_status, 0);
}

// A job opened, read and released by three people with three roles.
TEST_F(EncryptionTest, RolesDecideWhoWrites) {
  const std::string roles = folder_.Write("roles.json", R"({ "clients": [
    { "common_name": "office", "role": "ACCESS_ROLE_READ" },
    { "common_name": "bench 3", "role": "ACCESS_ROLE_RECORD" },
    { "common_name": "foreman", "role": "ACCESS_ROLE_SIGN_OFF" } ] })");
  Serve({"--tls_client_ca=" + Ca(), "--roles=" + roles, "--archive=" + folder_.path() + "/archive.db"});
  const auto as = [&](const std::string& name) {
    std::vector<std::string> flags = Own(name, authority_.Issue({name}));
    flags.insert(flags.end(), {"--ca", Ca()});
    return flags;
  };
  const std::vector<std::string> open = {
      "job", "open", COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json", "--id", "seamer", "--by", "Ana"};
  const Ran denied = Ask(open, as("office"));
  EXPECT_EQ(denied.exit_status, 4);
  EXPECT_EQ(
      denied.err,
      "coilwright: the certificate \"office\" has the role read; coilwright.v1.JobService/CreateJob needs the role "
      "record\n");
  EXPECT_THAT(Ask(open, as("stranger")).err, HasSubstr("the certificate \"stranger\" has no role here"));
  EXPECT_EQ(Ask({"job", "show", "seamer"}, as("office")).exit_status, 3) << "nothing was written";
  const Ran opened = Ask(open, as("bench 3"));
  EXPECT_EQ(opened.exit_status, 0) << opened.err;
  EXPECT_EQ(Ask({"job", "show", "seamer"}, as("office")).exit_status, 0);
  const std::vector<std::string> release = {"job",
                                            "sign-off",
                                            "seamer",
                                            "--person",
                                            "Bo Lind",
                                            "--qualification",
                                            "licensed electrician",
                                            "--despite",
                                            "surge tester is out for repair"};
  EXPECT_THAT(Ask(release, as("bench 3")).err, HasSubstr("JobService/SignOffJob needs the role sign off"));
  const Ran released = Ask(release, as("foreman"));
  EXPECT_EQ(released.exit_status, 0) << released.err;
}

TEST_F(EncryptionTest, WrongFlagsAndFilesAreToldBeforeAnybodyIsAsked) {
  const auto says = [&](const std::vector<std::string>& flags) {
    std::vector<std::string> words = {"limits", "--volts", "230", "--server", "127.0.0.1:1"};
    words.insert(words.end(), flags.begin(), flags.end());
    const Ran ran = RunProgram(words);
    EXPECT_EQ(ran.exit_status, 2) << ran.err;
    return ran.err;
  };
  EXPECT_THAT(says({"--cert", "a", "--ca", "b"}), HasSubstr("--cert without --key, accepted: both"));
  EXPECT_THAT(says({"--server-name", "a"}), HasSubstr("--server-name without --ca"));
  EXPECT_THAT(says({"--ca", "/no/such/file"}), HasSubstr("--ca: /no/such/file: got a file that cannot be read"));
  EXPECT_THAT(says({"--ca", folder_.Write("garbage", "garbage")}),
              HasSubstr("got no PEM text, accepted: certificates"));
  std::vector<std::string> old = Own("old", authority_.Issue({"old", false, -7200, -3600}));
  old.insert(old.end(), {"--ca", Ca()});
  EXPECT_THAT(says(old), HasSubstr("got a certificate of CN = old that expired "));
  EXPECT_THAT(RunProgram({"limits", "--volts", "230", "--ca", Ca()}).err, HasSubstr("--ca without --server"));
}

}  // namespace
}  // namespace coilwright::cli
