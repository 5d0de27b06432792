// The figures and the log of a running coilwrightd against the calls that were made of it.
#include <arpa/inet.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>
#include <regex>
#include <set>
#include <string>

#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "archive/faulty.h"
#include "archive_sizes.h"
#include "calls/authority.h"
#include "calls/daemon.h"
#include "calls/methods.h"
#include "calls/samples.h"
#include "calls/test_archive.h"
#include "coilwright/v1/job_service.grpc.pb.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"

namespace coilwright::calls {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

// What a GET of this path gives, head and body; empty where nobody answers.
std::string Get(int port, const std::string& path) {
  const int connection = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address = {};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  std::string answer;
  if (connect(connection, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0) {
    const std::string request = absl::StrCat("GET ", path, " HTTP/1.0\r\n\r\n");
    EXPECT_EQ(send(connection, request.data(), request.size(), 0), static_cast<ssize_t>(request.size()));
    char part[65536];
    for (ssize_t size = 0; (size = recv(connection, part, sizeof part, 0)) > 0;)
      answer.append(part, static_cast<size_t>(size));
  }
  close(connection);
  return answer;
}

// A page of figures: values by name with labels, types by name.
struct Page {
  std::map<std::string, double> values;
  std::map<std::string, std::string> types;
  std::set<std::string> helped;

  double operator[](const std::string& name) const {
    const auto value = values.find(name);
    return value == values.end() ? -1 : value->second;
  }
};

Page Scrape(int port) {
  const std::string answer = Get(port, "/metrics");
  EXPECT_THAT(answer, AllOf(HasSubstr("200 OK"), HasSubstr("text/plain")));
  Page page;
  for (const absl::string_view line : absl::StrSplit(answer.substr(answer.find("\r\n\r\n") + 4), '\n')) {
    const std::vector<std::string> words = absl::StrSplit(line, ' ');
    if (absl::StartsWith(line, "# TYPE ")) page.types[words[2]] = words[3];
    if (absl::StartsWith(line, "# HELP ")) page.helped.insert(words[2]);
    if (line.empty() || line[0] == '#') continue;
    const size_t space = line.rfind(' ');
    double value = 0;
    EXPECT_TRUE(absl::SimpleAtod(line.substr(space + 1), &value)) << line;
    EXPECT_TRUE(page.values.emplace(std::string(line.substr(0, space)), value).second) << line << " stands twice";
  }
  return page;
}

class Watching : public ::testing::Test {
 protected:
  void Start(std::vector<std::string> flags) {
    flags.insert(flags.end(), {"--port=0", "--metrics_port=0", "--archive=" + file_.path()});
    daemon_ = std::make_unique<Daemon>(flags);
    port_ = PortIn(daemon_->Line());
    ASSERT_GT(port_, 0) << daemon_->Errors();
    daemon_->Line();  // of the archive
    absl::string_view line = says_ = daemon_->Line();
    ASSERT_TRUE(absl::ConsumePrefix(&line, "coilwrightd serves metrics on http://127.0.0.1:")) << line;
    ASSERT_TRUE(absl::SimpleAtoi(line.substr(0, line.find('/')), &metrics_port_)) << line;
    channel_ = grpc::CreateChannel(absl::StrCat("127.0.0.1:", port_), grpc::InsecureChannelCredentials());
  }
  grpc::StatusCode Call(const char* method, const Message& request) const {
    grpc::ClientContext context;
    context.set_deadline(std::chrono::system_clock::now() + std::chrono::seconds(30));
    const std::unique_ptr<Message> answer(Named(method).response->New());
    return Named(method).stub(channel_, &context, request, answer.get()).error_code();
  }
  static std::string Of(const char* family, const char* service, const char* method, const char* more = "") {
    return absl::StrCat("coilwright_", family, "{service=\"coilwright.v1.", service, "\",method=\"", method, "\"", more,
                        "}");
  }
  std::string Errors() {
    channel_ = nullptr;  // an idle client is waited for
    daemon_->Signal(SIGTERM);
    EXPECT_EQ(daemon_->Wait(), 0);
    return daemon_->Errors();
  }

  const TemporaryFile file_{"watching"};
  std::unique_ptr<Daemon> daemon_;
  std::string says_;
  int port_ = 0, metrics_port_ = 0;
  std::shared_ptr<grpc::Channel> channel_;
};

TEST_F(Watching, FiguresAreThoseOfTheCallsMade) {
  Start({});
  const v1::GetTestLimitsRequest good = Parse<v1::GetTestLimitsRequest>("rated_volts: 230");
  for (int i = 0; i < 7; ++i) EXPECT_EQ(Call("GetTestLimits", good), grpc::StatusCode::OK);
  for (int i = 0; i < 3; ++i)
    EXPECT_EQ(Call("GetTestLimits", v1::GetTestLimitsRequest()), grpc::StatusCode::INVALID_ARGUMENT);
  for (int i = 0; i < 2; ++i) {
    EXPECT_EQ(
        Call("CreateJob", Parse<v1::CreateJobRequest>(
                              R"(job { title: "fan" machine { kind: MACHINE_KIND_INDUCTION } } recorded_by: "A")")),
        grpc::StatusCode::OK);
  }
  // A stream that is open while it is looked at: two messages each way.
  grpc::ClientContext context;
  const auto stream = v1::TestLimitService::NewStub(channel_)->StreamTestLimits(&context);
  v1::StreamTestLimitsRequest machine;
  machine.add_machines()->mutable_limits()->set_rated_volts(230);
  v1::StreamTestLimitsResponse limits;
  for (int i = 0; i < 2; ++i) EXPECT_TRUE(stream->Write(machine) && stream->Read(&limits));

  const Page open = Scrape(metrics_port_);
  const char* service = "TestLimitService";
  EXPECT_EQ(open[Of("calls_started_total", service, "GetTestLimits")], 10);
  EXPECT_EQ(open[Of("calls_handled_total", service, "GetTestLimits", ",code=\"OK\"")], 7);
  EXPECT_EQ(open[Of("calls_handled_total", service, "GetTestLimits", ",code=\"INVALID_ARGUMENT\"")], 3);
  EXPECT_EQ(open[Of("calls_in_flight", service, "GetTestLimits")], 0);
  EXPECT_EQ(open[Of("call_duration_seconds_count", service, "GetTestLimits")], 10);
  EXPECT_EQ(open[Of("call_duration_seconds_bucket", service, "GetTestLimits", ",le=\"+Inf\"")], 10);
  const double in_calls = open[Of("call_duration_seconds_sum", service, "GetTestLimits")];
  EXPECT_GT(in_calls, 0);
  EXPECT_LT(in_calls, 10);
  EXPECT_EQ(open[Of("calls_started_total", service, "StreamTestLimits")], 1);
  EXPECT_EQ(open[Of("calls_in_flight", service, "StreamTestLimits")], 1);
  EXPECT_EQ(open[Of("stream_messages_received_total", service, "StreamTestLimits")], 2);
  EXPECT_EQ(open["coilwright_streams_open"], 1);
  EXPECT_EQ(open["coilwright_streams_limit"], 512);
  EXPECT_EQ(open[Of("calls_started_total", "WireService", "LookUpWire")], 0) << "no calls are a figure too";
  EXPECT_EQ(open["coilwright_archive_writes_total"], 2);
  EXPECT_EQ(open["coilwright_archive_commits_total"], open["coilwright_archive_commit_duration_seconds_count"]);
  EXPECT_GE(open["coilwright_archive_commits_total"], 1);
  EXPECT_EQ(open["coilwright_archive_writes_waiting"], 0);
  EXPECT_GE(open["coilwright_archive_writes_waiting_greatest"], 1);
  EXPECT_EQ(open["coilwright_archive_up"], 1);
  EXPECT_EQ(open["coilwright_archive_entries"], 2);
  EXPECT_EQ(open["coilwright_archive_resources{kind=\"job\"}"], 2);
  EXPECT_GT(open["coilwright_archive_bytes"], 4096);
  EXPECT_GT(open["process_resident_memory_bytes"], 1 << 20);
  EXPECT_NEAR(open["process_start_time_seconds"], static_cast<double>(std::time(nullptr)), 60);

  stream->WritesDone();
  while (stream->Read(&limits)) {
  }
  EXPECT_TRUE(stream->Finish().ok());
  const Page closed = Scrape(metrics_port_);
  EXPECT_EQ(closed[Of("calls_handled_total", service, "StreamTestLimits", ",code=\"OK\"")], 1);
  EXPECT_EQ(closed[Of("calls_in_flight", service, "StreamTestLimits")], 0);
  EXPECT_EQ(closed[Of("stream_messages_sent_total", service, "StreamTestLimits")], 2);
}

TEST_F(Watching, FiguresFollowTheConventionsAndThePageNamesThemAll) {
  Start({});
  const Page page = Scrape(metrics_port_);
  std::ifstream file(COILWRIGHT_SOURCE_DIR "/docs/operations.md");
  const std::string documented{std::istreambuf_iterator<char>(file), {}};
  int ours = 0;
  for (const auto& [name, type] : page.types) {
    if (absl::StartsWith(name, "exposer_")) continue;  // of the library, about itself
    ++ours;
    EXPECT_TRUE(std::regex_match(name, std::regex("(coilwright|process)_[a-z_]+"))) << name;
    EXPECT_EQ(type == "counter", absl::EndsWith(name, "_total")) << name << " is a " << type;
    EXPECT_EQ(page.helped.count(name), 1u) << name;
    EXPECT_TRUE(absl::StrContains(documented, absl::StrCat("`", name, "`"))) << name;
  }
  EXPECT_GE(ours, 25);
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
  EXPECT_LT(page["process_resident_memory_bytes"], 32 << 20) << "an idle server that is watched";
#endif
  // Steps of a histogram only climb.
  double before = -1;
  for (const char* end : {"0.0001", "0.001", "0.01", "0.1", "1", "10", "+Inf"}) {
    const double now = page[absl::StrCat("coilwright_archive_commit_duration_seconds_bucket{le=\"", end, "\"}")];
    EXPECT_GE(now, std::max(before, 0.0)) << end;
    before = now;
  }
}

TEST_F(Watching, EveryCallIsOneLineWithoutAWordOfWhatItSaid) {
  Start({"--log=calls"});
  const char* job = R"(job { title: "OverheardTitle" customer_reference: "OverheardCustomer" note: "OverheardNote"
                             machine { kind: MACHINE_KIND_INDUCTION nameplate { serial_text: "OverheardSerial" } } }
                       job_id: "overheard" recorded_by: "OverheardPerson")";
  EXPECT_EQ(Call("CreateJob", Parse<v1::CreateJobRequest>(job)), grpc::StatusCode::OK);
  EXPECT_EQ(Call("CreateJob", Parse<v1::CreateJobRequest>(job)), grpc::StatusCode::ALREADY_EXISTS);
  EXPECT_EQ(Call("GetJob", Parse<v1::GetJobRequest>("name: 'jobs/overheard-and-gone'")), grpc::StatusCode::NOT_FOUND);
  EXPECT_EQ(Call("LookUpWire", Parse<v1::LookUpWireRequest>("wire { designation: 'Overheard' }")),
            grpc::StatusCode::INVALID_ARGUMENT);
  EXPECT_EQ(Call("StreamTestLimits", *GoodRequests("StreamTestLimits").front()), grpc::StatusCode::OK);
  const std::string errors = Errors();
  EXPECT_THAT(errors, Not(HasSubstr("verheard")));
  std::vector<std::string> calls;
  for (const absl::string_view line : absl::StrSplit(errors, '\n')) {
    if (absl::StartsWith(line, "time=")) calls.emplace_back(line);
  }
  ASSERT_EQ(calls.size(), 5u) << errors;
  const std::regex form(
      "time=20\\d\\d-\\d\\d-\\d\\dT\\d\\d:\\d\\d:\\d\\d\\.\\d{6}Z method=coilwright\\.v1\\.\\w+/\\w+ code=[A-Z_]+ "
      "seconds=\\d+\\.\\d{6} peer=ipv4:127\\.0\\.0\\.1:\\d+ "
      "(request_bytes=\\d+ answer_bytes=\\d+|messages_in=1 messages_out=1)");
  for (const std::string& line : calls) EXPECT_TRUE(std::regex_match(line, form)) << line;
  EXPECT_THAT(calls[0], HasSubstr("JobService/CreateJob code=OK"));
  EXPECT_THAT(calls[1], HasSubstr("code=ALREADY_EXISTS"));
  EXPECT_THAT(calls[4], HasSubstr("messages_in=1"));
}

TEST_F(Watching, OnlyErrorsAreLoggedUnlessAskedOtherwise) {
  Start({});
  const v1::GetTestLimitsRequest good = Parse<v1::GetTestLimitsRequest>("rated_volts: 230");
  EXPECT_EQ(Call("GetTestLimits", good), grpc::StatusCode::OK);
  EXPECT_EQ(Call("GetTestLimits", v1::GetTestLimitsRequest()), grpc::StatusCode::INVALID_ARGUMENT);
  const std::string errors = Errors();
  EXPECT_THAT(errors, HasSubstr("code=INVALID_ARGUMENT"));
  EXPECT_THAT(errors, Not(HasSubstr("code=OK")));
}

TEST_F(Watching, NoneLogsNone) {
  Start({"--log=none"});
  EXPECT_EQ(Call("GetTestLimits", v1::GetTestLimitsRequest()), grpc::StatusCode::INVALID_ARGUMENT);
  EXPECT_THAT(Errors(), Not(HasSubstr("code=")));
}

// Nobody reads standard error here while the calls are made; a pipe holds 64 KiB.
TEST_F(Watching, ALogThatNobodyReadsHoldsUpNoCall) {
  Start({"--log=calls"});
  const v1::GetTestLimitsRequest good = Parse<v1::GetTestLimitsRequest>("rated_volts: 230");
  for (int i = 0; i < 6000; ++i) ASSERT_EQ(Call("GetTestLimits", good), grpc::StatusCode::OK) << i;
  EXPECT_GT(Scrape(metrics_port_)["coilwright_log_lines_dropped_total"], 0);
  channel_ = nullptr;
  daemon_->Signal(SIGTERM);
  EXPECT_EQ(daemon_->Wait(std::chrono::seconds(5)), 0) << "nor the stop";
}

TEST_F(Watching, APortInUseAndWrongFlagsAreOneClearLine) {
  Start({});
  Daemon second({"--port=0", absl::StrCat("--metrics_port=", metrics_port_)});
  EXPECT_EQ(second.Wait(), 1);
  EXPECT_EQ(second.Errors(), absl::StrCat("coilwrightd: cannot serve metrics on 127.0.0.1:", metrics_port_,
                                          ": address in use, not an address of this machine, or not permitted\n"));
  Daemon wrong({"--port=0", "--log=all"});
  EXPECT_EQ(wrong.Wait(), 2);
  EXPECT_THAT(wrong.Errors(), HasSubstr("--log: got \"all\", accepted: calls, errors, none"));
  EXPECT_THAT(Get(metrics_port_, "/etc/passwd"), HasSubstr("404"));
}

TEST(Sizes, OfAStoreThatIsAwayHoldUpNobody) {
  const TemporaryFile file("sizes");
  auto open = archive::OpenSqlite(file.path());
  ASSERT_TRUE(open.ok());
  const auto faults = std::make_shared<archive::Faults>();
  archive::ArchiveOptions options;
  options.patience = std::chrono::seconds(3);
  auto opened = archive::Archive::Open(archive::Faulty(*std::move(open), faults), options);
  ASSERT_TRUE(opened.ok()) << opened.status();
  ArchiveSizes sizes(*std::move(opened));
  const ArchiveSizes::Known there = sizes.Read();
  EXPECT_TRUE(there.answered);
  EXPECT_GT(there.bytes, 0);
  faults->SetAway(true);
  const auto start = std::chrono::steady_clock::now();
  const ArchiveSizes::Known away = sizes.Read();
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(2));
  EXPECT_FALSE(away.answered);
  EXPECT_EQ(away.bytes, there.bytes) << "what it last said";
  faults->SetAway(false);
  bool answered = false;
  for (int i = 0; i < 20 && !answered; ++i) answered = sizes.Read().answered;
  EXPECT_TRUE(answered) << "it is asked again";
}

}  // namespace
}  // namespace coilwright::calls
