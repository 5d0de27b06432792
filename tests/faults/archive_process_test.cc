// coilwrightd with an archive in a file: what it tells at the start, what stands after a stop, a kill and under load.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <fstream>
#include <thread>

#include "calls/archive_samples.h"
#include "calls/daemon.h"
#include "calls/loopback.h"
#include "calls/samples.h"

namespace coilwright::calls {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;
using ::testing::HasSubstr;

class Kept {
 public:
  explicit Kept(const std::string& file) : daemon_({"--port=0", "--archive=" + file}) {
    port_ = PortIn(daemon_.Line());
    says_ = daemon_.Line();
    grpc::ChannelArguments arguments;
    arguments.SetInt(GRPC_ARG_USE_LOCAL_SUBCHANNEL_POOL, 1);
    channel_ =
        grpc::CreateCustomChannel(absl::StrCat("127.0.0.1:", port_), grpc::InsecureChannelCredentials(), arguments);
  }
  template <typename Response>
  grpc::Status Call(const char* method, const Message& request, Response* response) {
    grpc::ClientContext context;
    context.set_deadline(std::chrono::system_clock::now() + seconds(30));
    return Named(method).stub(channel_, &context, request, response);
  }
  Daemon& daemon() { return daemon_; }
  int port() const { return port_; }
  const std::string& says() const { return says_; }

 private:
  Daemon daemon_;
  int port_ = 0;
  std::string says_;
  std::shared_ptr<grpc::Channel> channel_;
};

v1::CreateWindingRequest Card(const std::string& id) {
  v1::CreateWindingRequest request;
  request.mutable_record()->set_title("card " + id);
  request.set_winding_id(id);
  request.set_request_id("request-" + id);
  request.set_recorded_by("A. Winder");
  return request;
}

TEST(DaemonArchive, StandsAfterARestartWithEverythingInIt) {
  const TemporaryFile file("restart");
  v1::CreateWindingResponse created;
  v1::CreateJobResponse job;
  v1::AddReadingsResponse readings;
  v1::CreateWindingRequest create;
  *create.mutable_record() = DemoRecord();
  create.set_winding_id("seamer");
  create.set_recorded_by("A. Winder");
  create.set_request_id("one");
  auto create_job =
      Parse<v1::CreateJobRequest>(R"(job { winding: "windings/seamer" } job_id: "7114" recorded_by: "A.")");
  {
    Kept kept(file.path());
    ASSERT_GT(kept.port(), 0);
    EXPECT_EQ(kept.says(), "coilwrightd keeps its archive in " + file.path() + ": new, nothing in it yet");
    ASSERT_TRUE(kept.Call("CreateWinding", create, &created).ok());
    ASSERT_TRUE(kept.Call("CreateJob", create_job, &job).ok());
    ASSERT_TRUE(kept.Call("AddReadings", MegohmsOf("jobs/7114", 2020, 300), &readings).ok());
    kept.daemon().Signal(SIGTERM);
    EXPECT_EQ(kept.daemon().Wait(), 0);
  }
  // How much there is tells a file that was lost from the one of yesterday.
  Kept kept(file.path());
  EXPECT_EQ(kept.says(), "coilwrightd keeps its archive in " + file.path() + ": 3 entries, 1 windings and 1 jobs");
  v1::CreateWindingResponse again;
  ASSERT_TRUE(kept.Call("CreateWinding", create, &again).ok()) << "the same request id";
  EXPECT_EQ(again.SerializeAsString(), created.SerializeAsString());
  v1::GetReadingsRequest get;
  get.set_name("jobs/7114/readings/1");
  v1::GetReadingsResponse got;
  ASSERT_TRUE(kept.Call("GetReadings", get, &got).ok());
  EXPECT_EQ(got.readings().SerializeAsString(), readings.readings().SerializeAsString());
  v1::GetArchiveResponse about;
  ASSERT_TRUE(kept.Call("GetArchive", v1::GetArchiveRequest(), &about).ok());
  EXPECT_EQ(about.windings(), 1);
  EXPECT_EQ(about.jobs(), 1);
  EXPECT_EQ(about.entries(), 3);
}

// Eight callers write until the process is killed; what was answered is there, and each of it once.
TEST(DaemonArchive, EveryAnsweredWriteStandsAfterAKill) {
  const TemporaryFile file("killed");
  std::atomic<int> answered = 0;
  std::vector<std::vector<std::string>> kept_names(8);
  {
    Kept kept(file.path());
    ASSERT_GT(kept.port(), 0);
    std::vector<std::thread> callers;
    for (size_t caller = 0; caller < 8; ++caller) {
      callers.emplace_back([&, caller] {
        for (int i = 0;; ++i) {
          v1::CreateWindingResponse response;
          if (!kept.Call("CreateWinding", Card(absl::StrCat(caller, "-", i)), &response).ok()) return;
          kept_names[caller].push_back(response.winding().name());
          ++answered;
        }
      });
    }
    while (answered < 100) std::this_thread::sleep_for(milliseconds(1));
    kept.daemon().Signal(SIGKILL);
    for (std::thread& caller : callers) caller.join();
    EXPECT_EQ(kept.daemon().Wait(), 128 + SIGKILL);
  }
  Kept kept(file.path());
  ASSERT_GT(kept.port(), 0);
  int lost = 0;
  for (const auto& names : kept_names) {
    for (const std::string& name : names) {
      v1::GetWindingRequest get;
      get.set_name(name);
      v1::GetWindingResponse got;
      lost += !kept.Call("GetWinding", get, &got).ok();
    }
  }
  EXPECT_EQ(lost, 0) << "of " << answered;
  // A caller who heard nothing sends the same again and makes no second one.
  v1::GetArchiveResponse before, after;
  ASSERT_TRUE(kept.Call("GetArchive", v1::GetArchiveRequest(), &before).ok());
  int repeated = 0;
  for (size_t caller = 0; caller < 8; ++caller) {
    v1::CreateWindingResponse response;
    const std::string id = absl::StrCat(caller, "-", kept_names[caller].size());
    ASSERT_TRUE(kept.Call("CreateWinding", Card(id), &response).ok());
    ++repeated;
  }
  ASSERT_TRUE(kept.Call("GetArchive", v1::GetArchiveRequest(), &after).ok());
  EXPECT_EQ(after.entries(), answered + repeated);
  EXPECT_LE(before.entries(), after.entries());
}

TEST(DaemonArchive, WritesUnderWayAreFinishedByAStop) {
  const TemporaryFile file("stopped");
  std::atomic<int> answered = 0;
  {
    Kept kept(file.path());
    std::vector<std::thread> callers;
    for (int caller = 0; caller < 8; ++caller) {
      callers.emplace_back([&, caller] {
        v1::CreateWindingResponse response;
        for (int i = 0; kept.Call("CreateWinding", Card(absl::StrCat(caller, "-", i)), &response).ok(); ++i) ++answered;
      });
    }
    while (answered < 50) std::this_thread::sleep_for(milliseconds(1));
    kept.daemon().Signal(SIGTERM);
    for (std::thread& caller : callers) caller.join();
    EXPECT_EQ(kept.daemon().Wait(), 0);
  }
  const auto archive = OpenForTest(file.path());
  EXPECT_EQ(archive->LastSequence().value(), answered) << "none lost, and none that nobody heard of";
}

TEST(DaemonArchive, ThatCannotBeOpenedIsToldInOneLineWithWhatToDo) {
  const auto refused = [](const std::string& place, int status) {
    Daemon daemon({"--port=0", "--archive=" + place});
    EXPECT_EQ(daemon.Wait(), status) << place;
    const std::string errors = daemon.Errors();
    EXPECT_EQ(std::count(errors.begin(), errors.end(), '\n'), 1) << errors;
    return errors;
  };
  EXPECT_THAT(refused("ftp://shelf/archive", 2), HasSubstr("--archive: got \"ftp://...\", accepted: a file"));
  const TemporaryFile foreign("foreign");
  std::ofstream(foreign.path()) << "a letter to the cannery\n" << std::string(200, 'x');
  EXPECT_THAT(refused(foreign.path(), 1), HasSubstr("is no archive of Coilwright"));
  std::ifstream unharmed(foreign.path());
  std::string line;
  std::getline(unharmed, line);
  EXPECT_EQ(line, "a letter to the cannery");
  // Held by another process.
  const TemporaryFile held("held");
  Kept holder(held.path());
  ASSERT_GT(holder.port(), 0);
  EXPECT_THAT(refused(held.path(), 1), HasSubstr(held.path()));
  // A database server that is not there: port 1 of loopback (tcpmux, RFC 1078) is served by nothing here.
  EXPECT_THAT(refused("postgresql://nobody@127.0.0.1:1/none", 1), HasSubstr("127.0.0.1"));
}

TEST(DaemonArchive, WithoutOneTheServiceStillComputes) {
  Daemon daemon({"--port=0", "--archive=none"});
  const int port = PortIn(daemon.Line());
  ASSERT_GT(port, 0);
  const auto channel = grpc::CreateChannel(absl::StrCat("127.0.0.1:", port), grpc::InsecureChannelCredentials());
  grpc::ClientContext first, second;
  v1::ListRulesResponse rules;
  EXPECT_TRUE(Named("ListRules").stub(channel, &first, v1::ListRulesRequest(), &rules).ok());
  v1::GetArchiveResponse about;
  EXPECT_EQ(Named("GetArchive").stub(channel, &second, v1::GetArchiveRequest(), &about).error_code(),
            grpc::StatusCode::FAILED_PRECONDITION);
}

// More writes than may wait are told so at once; what was answered is there, and nothing else.
TEST(ArchiveUnderLoad, SaysWhenTooManyWritesWaitAndLosesNone) {
  const TemporaryFile file("load");
  archive::ArchiveOptions few;
  few.most_writes_waiting = 2;
  rpc::ServerOptions options;
  options.archive = OpenForTest(file.path(), few);
  const Loopback loopback(options);
  std::atomic<int> answered = 0, refused = 0;
  std::vector<std::thread> callers;
  for (int caller = 0; caller < 32; ++caller) {
    callers.emplace_back([&, caller] {
      for (int i = 0; i < 20; ++i) {
        v1::CreateWindingResponse response;
        const grpc::Status status =
            loopback.Call(Named("CreateWinding"), Card(absl::StrCat(caller, "-", i)), &response);
        status.ok() ? ++answered : ++refused;
        if (!status.ok()) {
          EXPECT_EQ(status.error_code(), grpc::StatusCode::RESOURCE_EXHAUSTED) << status.error_message();
        }
      }
    });
  }
  for (std::thread& caller : callers) caller.join();
  EXPECT_GT(answered, 0);
  EXPECT_GT(refused, 0);
  EXPECT_EQ(options.archive->LastSequence().value(), answered);
}

}  // namespace
}  // namespace coilwright::calls
