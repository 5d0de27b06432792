// The shell of every stream, with sessions made for the purpose behind a real socket: one answer at a time, a last word
// at every end but the client's own going, and nothing left behind.
#include "rpc/stream.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <stdexcept>
#include <thread>

#include "absl/strings/str_cat.h"
#include "calls/standard_services.h"
#include "calls/walk.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "rpc/services.h"

namespace coilwright::rpc {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using Clock = std::chrono::steady_clock;
using StreamRequest = v1::StreamTestLimitsRequest;
using StreamResponse = v1::StreamTestLimitsResponse;

constexpr const char* kMethod = "/coilwright.v1.TestLimitService/StreamTestLimits";

struct Counts {
  std::atomic<int> taken = 0;
  std::atomic<int> finished = 0;
  std::atomic<int> alive = 0;
};

// Does what the label of the first machine says and sums up the labels at the end.
class Told final : public Session<StreamRequest, StreamResponse> {
 public:
  explicit Told(Counts* counts) : counts_(counts) { ++counts_->alive; }
  ~Told() override { --counts_->alive; }

  absl::StatusOr<bool> Take(const StreamRequest& request, StreamResponse* response) override {
    ++counts_->taken;
    const std::string& label = request.machines(0).label();
    absl::StrAppend(&said_, label, ";");
    EXPECT_EQ(response->ByteSizeLong(), 0u) << "answers begin empty";
    if (label == "throw") throw std::runtime_error("left the table");
    if (label == "refuse") return absl::FailedPreconditionError("no such rule");
    if (label == "quiet") return false;
    response->add_answers()->set_label(label == "large" ? std::string(100000, 'x') : label);
    return true;
  }
  absl::StatusOr<bool> Finish(StreamResponse* response) override {
    ++counts_->finished;
    EXPECT_EQ(response->ByteSizeLong(), 0u);
    response->add_answers()->set_label(said_);
    return !said_.empty();
  }

 private:
  Counts* counts_;
  std::string said_;
};

class TellingService final
    : public v1::TestLimitService::WithRawCallbackMethod_StreamTestLimits<v1::TestLimitService::Service> {
 public:
  TellingService(Streams* streams, Counts* counts) : streams_(streams), counts_(counts) {}
  BytesReactor* StreamTestLimits(grpc::CallbackServerContext* context) override {
    return streams_->Open(context,
                          std::unique_ptr<Session<StreamRequest, StreamResponse>>(std::make_unique<Told>(counts_)));
  }

 private:
  Streams* streams_;
  Counts* counts_;
};

// True as soon as it is; false after ten seconds.
template <typename Condition>
bool Soon(Condition condition) {
  for (const auto end = Clock::now() + seconds(10); Clock::now() < end; std::this_thread::sleep_for(milliseconds(2))) {
    if (condition()) return true;
  }
  return condition();
}

class Stream : public ::testing::Test {
 protected:
  explicit Stream(int most_open = 4, milliseconds idle = seconds(600))
      : streams_(calls_, most_open, idle), service_(&streams_, &counts_) {
    grpc::ServerBuilder builder;
    int port = 0;
    builder.AddListeningPort("127.0.0.1:0", grpc::InsecureServerCredentials(), &port);
    builder.RegisterService(&service_);
    server_ = builder.BuildAndStart();
    channel_ = grpc::CreateChannel(absl::StrCat("127.0.0.1:", port), grpc::InsecureChannelCredentials());
    stub_ = v1::TestLimitService::NewStub(channel_);
  }
  ~Stream() override {
    EXPECT_TRUE(Soon([this] { return streams_.open() == 0; })) << "a stream is left open";
    EXPECT_TRUE(Soon([this] { return counts_.alive == 0; })) << "a session is left behind";
    server_->Shutdown(std::chrono::system_clock::now() + seconds(10));
  }

  struct Call {
    grpc::ClientContext context;
    std::unique_ptr<grpc::ClientReaderWriter<StreamRequest, StreamResponse>> stream;

    bool Say(const std::string& label) const {
      StreamRequest request;
      request.add_machines()->set_label(label);
      return stream->Write(request);
    }
    std::string Hear() const {
      StreamResponse response;
      return stream->Read(&response) ? response.answers(0).label() : "(nothing)";
    }
  };
  std::unique_ptr<Call> Open(milliseconds deadline = seconds(60)) {
    auto call = std::make_unique<Call>();
    call->context.set_deadline(std::chrono::system_clock::now() + deadline);
    call->stream = stub_->StreamTestLimits(&call->context);
    return call;
  }

  Counts counts_;
  Calls calls_;
  Streams streams_;
  TellingService service_;
  std::unique_ptr<grpc::Server> server_;
  std::shared_ptr<grpc::Channel> channel_;
  std::unique_ptr<v1::TestLimitService::Stub> stub_;
};

TEST_F(Stream, AnswersInOrderAndSumsUpWhenTheClientClosesItsSide) {
  const auto call = Open();
  for (const char* label : {"a", "quiet", "b", "quiet", "large", "c"}) EXPECT_TRUE(call->Say(label));
  call->stream->WritesDone();
  EXPECT_EQ(call->Hear(), "a");
  EXPECT_EQ(call->Hear(), "b");
  EXPECT_EQ(call->Hear().size(), 100000u);
  EXPECT_EQ(call->Hear(), "c");
  EXPECT_EQ(call->Hear(), "a;quiet;b;quiet;large;c;");
  EXPECT_EQ(call->Hear(), "(nothing)");
  EXPECT_TRUE(call->stream->Finish().ok());
}

TEST_F(Stream, ClosedWithoutAWordIsOk) {
  const auto call = Open();
  call->stream->WritesDone();
  EXPECT_EQ(call->Hear(), "(nothing)");
  EXPECT_TRUE(call->stream->Finish().ok());
  EXPECT_EQ(counts_.finished, 1);
}

TEST_F(Stream, AnErrorOfTheSessionEndsItAfterItsLastWord) {
  const auto call = Open();
  call->Say("a");
  call->Say("refuse");
  EXPECT_EQ(call->Hear(), "a");
  EXPECT_EQ(call->Hear(), "a;refuse;");
  EXPECT_EQ(call->Hear(), "(nothing)");
  const grpc::Status status = call->stream->Finish();
  EXPECT_EQ(status.error_code(), grpc::StatusCode::FAILED_PRECONDITION);
  EXPECT_EQ(status.error_message(), "no such rule");
  EXPECT_EQ(counts_.finished, 1);
}

TEST_F(Stream, HoldsExceptionsBack) {
  const auto call = Open();
  call->Say("throw");
  EXPECT_EQ(call->Hear(), "throw;");
  const grpc::Status status = call->stream->Finish();
  EXPECT_EQ(status.error_code(), grpc::StatusCode::UNKNOWN);
  EXPECT_THAT(status.error_message(), HasSubstr("left the table"));
}

// gRPC with typed messages tells bytes that are no message from a closed side by nothing, and a broken run would be
// summed up as a whole one.
TEST_F(Stream, BytesThatAreNoMessageAreNotTakenForTheEnd) {
  for (const std::string bytes : {"\xff\xff\xff", "\x0a\x02\x0a\x7f"}) {
    grpc::GenericStub stub(channel_);
    grpc::ClientContext context;
    grpc::CompletionQueue queue;
    const auto stream = stub.PrepareCall(&context, kMethod, &queue);
    const auto wait = [&queue] {
      void* tag = nullptr;
      bool ok = false;
      EXPECT_TRUE(queue.Next(&tag, &ok));
    };
    stream->StartCall(nullptr);
    wait();
    stream->Write(calls::BufferOf(bytes), nullptr);
    wait();
    grpc::Status status;
    stream->Finish(&status, nullptr);
    wait();
    EXPECT_EQ(status.error_code(), grpc::StatusCode::INVALID_ARGUMENT);
    queue.Shutdown();
  }
}

TEST_F(Stream, OneMoreThanItHoldsIsToldSo) {
  std::vector<std::unique_ptr<Call>> calls;
  for (int i = 0; i < 4; ++i) {
    calls.push_back(Open());
    calls.back()->Say("a");
    EXPECT_EQ(calls.back()->Hear(), "a");
  }
  const auto fifth = Open();
  EXPECT_EQ(fifth->Hear(), "(nothing)");
  const grpc::Status status = fifth->stream->Finish();
  EXPECT_EQ(status.error_code(), grpc::StatusCode::RESOURCE_EXHAUSTED);
  EXPECT_THAT(status.error_message(), HasSubstr("4 streams are open"));
  calls.back()->stream->WritesDone();
  EXPECT_EQ(calls.back()->Hear(), "a;");
  EXPECT_TRUE(calls.back()->stream->Finish().ok());
  ASSERT_TRUE(Soon([this] { return streams_.open() == 3; }));
  const auto again = Open();
  again->Say("b");
  EXPECT_EQ(again->Hear(), "b");
  for (const auto* call : {calls[0].get(), calls[1].get(), calls[2].get(), again.get()})
    const_cast<Call*>(call)->context.TryCancel();
}

TEST_F(Stream, ACallerWhoGoesIsNotSummedUpFor) {
  {
    const auto call = Open();
    call->Say("a");
    EXPECT_EQ(call->Hear(), "a");
    call->context.TryCancel();
    EXPECT_EQ(call->stream->Finish().error_code(), grpc::StatusCode::CANCELLED);
  }
  EXPECT_TRUE(Soon([this] { return streams_.open() == 0 && counts_.alive == 0; }));
  EXPECT_EQ(counts_.finished, 0);
}

TEST_F(Stream, EndsAtItsDeadline) {
  const auto call = Open(milliseconds(300));
  call->Say("a");
  EXPECT_EQ(call->Hear(), "a");
  EXPECT_EQ(call->Hear(), "(nothing)");
  EXPECT_EQ(call->stream->Finish().error_code(), grpc::StatusCode::DEADLINE_EXCEEDED);
}

// Reading stops until an answer is out: what is read without being sent is no more than what lies in the windows.
TEST_F(Stream, OfAClientThatDoesNotReadIsNotReadFrom) {
  const auto call = Open();
  std::atomic<int> said = 0;
  std::thread writer([&] {
    for (int i = 0; i < 400 && call->Say("large"); ++i) ++said;
    call->stream->WritesDone();
  });
  int taken = 0;
  // Until nothing has moved for a while.
  EXPECT_TRUE(Soon([&] {
    const int before = counts_.taken;
    std::this_thread::sleep_for(milliseconds(300));
    return before > 0 && counts_.taken == before;
  }));
  taken = counts_.taken;
  EXPECT_LT(taken, 200) << "100 kB each";
  for (int i = 0; i < 400; ++i) ASSERT_EQ(call->Hear().size(), 100000u) << i;
  EXPECT_EQ(call->Hear().size(), 400 * 6u);
  writer.join();
  EXPECT_EQ(said, 400);
  EXPECT_TRUE(call->stream->Finish().ok());
}

TEST_F(Stream, OpenWhenTheServerStopsEndsUnavailableAfterItsLastWord) {
  const auto call = Open();
  call->Say("a");
  EXPECT_EQ(call->Hear(), "a");
  streams_.CloseAt(Clock::now() + milliseconds(200));
  call->Say("b");
  EXPECT_EQ(call->Hear(), "b") << "until then it goes on";
  EXPECT_EQ(call->Hear(), "a;b;");
  EXPECT_EQ(call->Hear(), "(nothing)");
  const grpc::Status status = call->stream->Finish();
  EXPECT_EQ(status.error_code(), grpc::StatusCode::UNAVAILABLE);
  EXPECT_THAT(status.error_message(), HasSubstr("stopping"));
  const auto late = Open();
  EXPECT_EQ(late->Hear(), "(nothing)");
  EXPECT_EQ(late->stream->Finish().error_code(), grpc::StatusCode::UNAVAILABLE);
}

class IdleStream : public Stream {
 protected:
  IdleStream() : Stream(4, milliseconds(400)) {}
};

TEST_F(IdleStream, EndsAfterItsLastWord) {
  const auto call = Open();
  for (int i = 0; i < 8; ++i) {
    call->Say("a");
    EXPECT_EQ(call->Hear(), "a") << "it is not idle";
    std::this_thread::sleep_for(milliseconds(100));
  }
  EXPECT_EQ(call->Hear(), "a;a;a;a;a;a;a;a;");
  EXPECT_EQ(call->Hear(), "(nothing)");
  EXPECT_EQ(call->stream->Finish().error_code(), grpc::StatusCode::DEADLINE_EXCEEDED);
}

TEST_F(IdleStream, OfAClientThatNeverReadsIsCutOff) {
  const auto call = Open();
  while (call->Say("large")) {
  }
  EXPECT_TRUE(Soon([this] { return streams_.open() == 0; }));
  EXPECT_EQ(counts_.finished, 0);
}

}  // namespace
}  // namespace coilwright::rpc
