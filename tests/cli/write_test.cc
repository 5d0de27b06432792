// A write that meets a service that fails: tried again, always with the same request id.
#include <gmock/gmock.h>

#include <chrono>
#include <mutex>
#include <thread>

#include "absl/strings/str_cat.h"
#include "coilwright/v1/job_service.grpc.pb.h"
#include "command.h"
#include "connection.h"

namespace coilwright::cli {
namespace {

using testing::Each;
using testing::Eq;
using testing::HasSubstr;

// Answers as told, the last answer from then on.
class Jobs : public v1::JobService::Service {
 public:
  grpc::Status CreateJob(grpc::ServerContext* /*context*/, const v1::CreateJobRequest* request,
                         v1::CreateJobResponse* answer) override {
    grpc::Status status;
    std::chrono::milliseconds wait{0};
    {
      const std::lock_guard<std::mutex> lock(mutex_);
      const size_t at = std::min(ids_.size(), answers.size() - 1);
      ids_.push_back(request->request_id());
      status = answers[at];
      if (at == slow) wait = std::chrono::milliseconds(7000);
    }
    std::this_thread::sleep_for(wait);
    answer->mutable_job()->set_name("jobs/x");
    return status;
  }
  std::vector<grpc::Status> answers = {grpc::Status::OK};
  size_t slow = 100;  // which answer comes late
  std::vector<std::string> ids() {
    const std::lock_guard<std::mutex> lock(mutex_);
    return ids_;
  }

 private:
  std::mutex mutex_;
  std::vector<std::string> ids_;
};

class Write : public testing::Test {
 protected:
  Write() {
    grpc::ServerBuilder builder;
    builder.AddListeningPort("127.0.0.1:0", grpc::InsecureServerCredentials(), &port);
    builder.RegisterService(&jobs);
    server = builder.BuildAndStart();
  }
  absl::Status Send(double deadline = 30, const std::string& id = "") {
    Connection connection(absl::StrCat("127.0.0.1:", port), deadline, nullptr);
    v1::CreateJobRequest request;
    request.set_request_id(id);
    v1::CreateJobResponse answer;
    return connection.Write(&request, &answer, [](const std::string& field) { return field; });
  }
  Jobs jobs;
  int port = 0;
  std::unique_ptr<grpc::Server> server;
};

TEST_F(Write, IsRepeatedUnderOneId) {
  const grpc::Status away(grpc::StatusCode::UNAVAILABLE, "the store is restarting");
  const grpc::Status busy(grpc::StatusCode::RESOURCE_EXHAUSTED, "1024 writes wait");
  jobs.answers = {away, busy, away, grpc::Status::OK};
  EXPECT_TRUE(Send().ok());
  const std::vector<std::string> ids = jobs.ids();
  ASSERT_EQ(ids.size(), 4u);
  EXPECT_EQ(ids[0].size(), 32u);
  EXPECT_THAT(ids, Each(Eq(ids[0])));
  EXPECT_TRUE(Send().ok());
  EXPECT_NE(jobs.ids().back(), ids[0]) << "another write has an id of its own";
  EXPECT_TRUE(Send(30, "mine").ok());
  EXPECT_EQ(jobs.ids().back(), "mine");
}

TEST_F(Write, IsAskedForAgainWhereTheAnswerIsLate) {
  jobs.slow = 0;
  jobs.answers = {grpc::Status::OK, grpc::Status::OK};
  EXPECT_TRUE(Send(12).ok());
  ASSERT_EQ(jobs.ids().size(), 2u);
  EXPECT_EQ(jobs.ids()[0], jobs.ids()[1]);
}

TEST_F(Write, IsNotRepeatedWhereItWasRefused) {
  for (grpc::StatusCode code : {grpc::StatusCode::ABORTED, grpc::StatusCode::ALREADY_EXISTS,
                                grpc::StatusCode::INVALID_ARGUMENT, grpc::StatusCode::FAILED_PRECONDITION}) {
    const size_t before = jobs.ids().size();
    jobs.answers = {{code, "no"}};
    EXPECT_FALSE(Send().ok());
    EXPECT_EQ(jobs.ids().size(), before + 1) << code;
  }
}

TEST_F(Write, GivesUpAndSaysHowToFindOut) {
  jobs.answers = {{grpc::StatusCode::UNAVAILABLE, "gone"}};
  const absl::Status status = Send();
  EXPECT_EQ(jobs.ids().size(), 5u);
  EXPECT_EQ(ExitStatus(status), kExitServer);
  EXPECT_THAT(std::string(status.message()), testing::AllOf(HasSubstr("whether it was written is not known"),
                                                            HasSubstr(absl::StrCat("--request-id ", jobs.ids()[0]))));
  // The deadline holds for all of it.
  const auto start = std::chrono::steady_clock::now();
  EXPECT_FALSE(Send(0.5).ok());
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(2));
}

TEST_F(Write, WhereNobodyListensWasNeverSent) {
  server->Shutdown();
  const absl::Status status = Send();
  EXPECT_EQ(ExitStatus(status), kExitServer);
  EXPECT_THAT(std::string(status.message()), testing::Not(HasSubstr("not known")));
}

TEST_F(Write, OfAServiceThatIsFullSaysSo) {
  jobs.answers = {{grpc::StatusCode::RESOURCE_EXHAUSTED, "1024 writes wait"}};
  const absl::Status status = Send();
  EXPECT_EQ(status.message(), "1024 writes wait");
  EXPECT_EQ(ExitStatus(status), kExitServer);
}

TEST(ExitStatus, TellsWhatWentWrongWithAWrite) {
  EXPECT_EQ(ExitStatus(absl::AbortedError("")), 6);
  EXPECT_EQ(ExitStatus(absl::AlreadyExistsError("")), 2);
  EXPECT_EQ(ExitStatus(absl::ResourceExhaustedError("")), 4);
}

}  // namespace
}  // namespace coilwright::cli
