// Calls that wait for a worker: the queue says when it is full, and nothing is computed for a caller who has gone,
// whose time is up, or when the server stops. A service of the contract with a body that waits stands in for a slow
// plan.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <future>
#include <thread>

#include "calls/loopback.h"
#include "calls/samples.h"
#include "rpc/services.h"

namespace coilwright::calls {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;
using ::testing::HasSubstr;
using Clock = std::chrono::steady_clock;

// A body is a plain function, so what it waits for stands outside it; each test sets it anew.
struct Gate {
  std::promise<void> open;
  std::shared_future<void> opened = open.get_future().share();
  std::atomic<int> begun = 0;
};
Gate* gate = nullptr;

absl::Status WaitAtGate(const v1::PlanRewindRequest&, v1::PlanRewindResponse*) {
  ++gate->begun;
  gate->opened.wait();
  return absl::OkStatus();
}

class SlowPlans final : public v1::RewindPlanService::CallbackService {
 public:
  explicit SlowPlans(rpc::Workers& workers) : workers_(workers) {}
  grpc::ServerUnaryReactor* PlanRewind(grpc::CallbackServerContext* context, const v1::PlanRewindRequest* request,
                                       v1::PlanRewindResponse* response) override {
    return rpc::AnswerLater(calls_, workers_, context, WaitAtGate, request, response);
  }

 private:
  rpc::Calls calls_;
  rpc::Workers& workers_;
};

class Queue : public ::testing::Test {
 protected:
  Queue() {
    gate = &gate_;
    grpc::ServerBuilder builder;
    int port = 0;
    builder.AddListeningPort("127.0.0.1:0", grpc::InsecureServerCredentials(), &port);
    builder.RegisterService(&service_);
    server_ = builder.BuildAndStart();
    channel_ = grpc::CreateChannel(absl::StrCat("127.0.0.1:", port), grpc::InsecureChannelCredentials());
  }
  ~Queue() override {
    Open();
    for (std::thread& thread : threads_) thread.join();
    server_->Shutdown(std::chrono::system_clock::now() + seconds(10));
  }

  void Open() {
    if (!open_) gate_.open.set_value();
    open_ = true;
  }

  struct Call {
    grpc::ClientContext context;
    std::promise<grpc::Status> promise;
    std::future<grpc::Status> status = promise.get_future();
  };
  std::shared_ptr<Call> Start(milliseconds deadline = seconds(60)) {
    auto call = std::make_shared<Call>();
    call->context.set_deadline(std::chrono::system_clock::now() + deadline);
    threads_.emplace_back([this, call] {
      v1::PlanRewindResponse plan;
      call->promise.set_value(
          v1::RewindPlanService::NewStub(channel_)->PlanRewind(&call->context, v1::PlanRewindRequest(), &plan));
    });
    return call;
  }
  void AwaitBegun(int count) {
    while (gate_.begun < count) std::this_thread::sleep_for(milliseconds(1));
  }

  Gate gate_;
  bool open_ = false;
  rpc::Workers workers_{1, 2};
  SlowPlans service_{workers_};
  std::unique_ptr<grpc::Server> server_;
  std::shared_ptr<grpc::Channel> channel_;
  std::vector<std::thread> threads_;
};

TEST_F(Queue, FullSaysSoAtOnce) {
  const auto running = Start();
  AwaitBegun(1);
  std::vector<std::shared_ptr<Call>> calls;
  for (int i = 0; i < 5; ++i) calls.push_back(Start());
  // Two wait, three are refused while the first still runs.
  int refused = 0;
  const auto give_up = Clock::now() + seconds(30);
  while (refused < 3 && Clock::now() < give_up) {
    refused = 0;
    for (const auto& call : calls) refused += call->status.wait_for(milliseconds(5)) == std::future_status::ready;
  }
  EXPECT_EQ(refused, 3);
  Open();
  int answered = 0;
  for (const auto& call : calls) {
    const grpc::Status status = call->status.get();
    answered += status.ok();
    if (status.ok()) continue;
    EXPECT_EQ(status.error_code(), grpc::StatusCode::RESOURCE_EXHAUSTED);
    EXPECT_THAT(status.error_message(), HasSubstr("try again later"));
  }
  EXPECT_EQ(answered, 2);
  EXPECT_TRUE(running->status.get().ok());
}

TEST_F(Queue, NothingIsComputedForACallerWhoHasGone) {
  const auto running = Start();
  AwaitBegun(1);
  const auto gone = Start();
  std::this_thread::sleep_for(milliseconds(100));
  gone->context.TryCancel();
  EXPECT_EQ(gone->status.get().error_code(), grpc::StatusCode::CANCELLED);
  std::this_thread::sleep_for(milliseconds(200));
  Open();
  EXPECT_TRUE(running->status.get().ok());
  const auto after = Start();
  EXPECT_TRUE(after->status.get().ok());
  EXPECT_EQ(gate_.begun, 2) << "the first and the last";
}

TEST_F(Queue, NothingIsComputedAfterTheDeadline) {
  const auto running = Start();
  AwaitBegun(1);
  const auto late = Start(milliseconds(100));
  EXPECT_EQ(late->status.get().error_code(), grpc::StatusCode::DEADLINE_EXCEEDED);
  // The server's own clock started when the call reached it, a little later.
  std::this_thread::sleep_for(milliseconds(300));
  Open();
  EXPECT_TRUE(running->status.get().ok());
  const auto after = Start();
  EXPECT_TRUE(after->status.get().ok());
  EXPECT_EQ(gate_.begun, 2) << "the first and the last";
}

TEST_F(Queue, AStopLetsARunningCallFinish) {
  const auto running = Start();
  AwaitBegun(1);
  std::thread stop([this] { server_->Shutdown(std::chrono::system_clock::now() + seconds(30)); });
  std::this_thread::sleep_for(milliseconds(100));
  Open();
  EXPECT_TRUE(running->status.get().ok());
  stop.join();
}

TEST_F(Queue, AStopWithADeadlineTellsTheCallerAndWaitsForTheBody) {
  const auto running = Start();
  AwaitBegun(1);
  std::thread stop([this] { server_->Shutdown(std::chrono::system_clock::now() + milliseconds(200)); });
  EXPECT_FALSE(running->status.get().ok()) << "cancelled at the deadline, while the body still waits";
  Open();
  stop.join();
}

TEST(Shutdown, MayBeAskedForTwiceAndTakesNoNewCalls) {
  Loopback loopback;
  v1::ListRulesResponse rules;
  ASSERT_TRUE(loopback.Call(Named("ListRules"), v1::ListRulesRequest(), &rules).ok());
  loopback.server().Shutdown(milliseconds(500));
  EXPECT_EQ(loopback.Call(Named("ListRules"), v1::ListRulesRequest(), &rules).error_code(),
            grpc::StatusCode::UNAVAILABLE);
  loopback.server().Shutdown(milliseconds(0));
}

}  // namespace
}  // namespace coilwright::calls
