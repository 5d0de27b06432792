// A test bench with many windings at once, and benches that misbehave: nothing leaks, nothing hangs, and nobody else
// waits.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>

#include <thread>

#include "bench/child.h"
#include "calls/loopback.h"
#include "calls/samples.h"
#include "rpc/services.h"
#include "simulated/play.h"

namespace coilwright::calls {
namespace {

// The sanitizers keep freed memory to find its use: resident memory says nothing there.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr bool kKeepsFreedMemory = true;
#else
constexpr bool kKeepsFreedMemory = false;
#endif

using bench::Child;
using simulated::Played;
using std::chrono::milliseconds;
using std::chrono::seconds;
using ::testing::IsEmpty;
using Clock = std::chrono::steady_clock;

template <typename Condition>
bool Soon(Condition condition, milliseconds limit = seconds(20)) {
  for (const auto end = Clock::now() + limit; Clock::now() < end; std::this_thread::sleep_for(milliseconds(2))) {
    if (condition()) return true;
  }
  return condition();
}

std::shared_ptr<grpc::Channel> ChannelTo(const std::string& address) {
  grpc::ChannelArguments arguments;
  arguments.SetInt(GRPC_ARG_USE_LOCAL_SUBCHANNEL_POOL, 1);
  return grpc::CreateCustomChannel(address, grpc::InsecureChannelCredentials(), arguments);
}

std::string DaemonPath() { return COILWRIGHT_BINARY_DIR "/bin/coilwrightd"; }

// One call of somebody else, which must be quick.
void ExpectServed(const std::shared_ptr<grpc::Channel>& channel) {
  grpc::ClientContext context;
  context.set_deadline(std::chrono::system_clock::now() + seconds(10));
  v1::GetTestLimitsResponse limits;
  const grpc::Status status =
      Named("GetTestLimits").stub(channel, &context, *calls::GoodRequests("GetTestLimits").front(), &limits);
  EXPECT_TRUE(status.ok()) << status.error_message();
}

void ExpectPlayedToTheEnd(const Played& played, int windings, int messages) {
  EXPECT_THAT(played.faults, IsEmpty());
  for (const grpc::Status& status : played.ended_otherwise) ADD_FAILURE() << status.error_message();
  EXPECT_EQ(played.ended_ok, windings);
  EXPECT_EQ(played.answers, static_cast<long long>(windings) * messages);
}

TEST(Bench, TwoHundredWindingsAtOnceAreAnsweredInOrderAndLeaveNothingBehind) {
  Loopback loopback;
  ExpectPlayedToTheEnd(simulated::PlayLimits(loopback.channel(), 200, 20, seconds(60)), 200, 20);
  EXPECT_TRUE(Soon([&] { return loopback.server().open_streams() == 0; }));
}

TEST(Bench, TwoHundredInsulationRunsAtOnceAreEachToldWhatTheirWindingIs) {
  Loopback loopback;
  ExpectPlayedToTheEnd(simulated::PlayRuns(loopback.channel(), 200, seconds(120)), 200, 62);
  EXPECT_TRUE(Soon([&] { return loopback.server().open_streams() == 0; }));
}

// The allocator takes memory in steps, at moments of its own; what streams leave behind is taken every time. So of
// eight turns one must pass with less than 1 KiB for each of its streams.
TEST(Bench, MemoryStaysFlatOverThousandsOfStreams) {
  Child server({DaemonPath(), "--port=0", "--archive=none"});
  const auto channel = ChannelTo(server.ListeningAddress());
  const auto play = [&] { ExpectPlayedToTheEnd(simulated::PlayLimits(channel, 200, 5, seconds(60)), 200, 5); };
  std::vector<double> grown_mib;
  do {
    const double before = server.ResidentMib();
    for (int i = 0; i < 5; ++i) play();
    grown_mib.push_back(server.ResidentMib() - before);
  } while (grown_mib.back() >= 1 && grown_mib.size() < 8);
  if (!kKeepsFreedMemory) {
    EXPECT_LT(grown_mib.back(), 1) << ::testing::PrintToString(grown_mib) << " MiB, each over 1000 streams";
  }
}

TEST(Bench, ThatIsKilledLeavesNoStreamOpen) {
  Loopback loopback;
  const std::string address = absl::StrCat("127.0.0.1:", loopback.server().port());
  {
    Child bench({COILWRIGHT_BINARY_DIR "/tests/simulated_bench", address, "100", "100000000"});
    ASSERT_EQ(bench.Line(), "playing");
    EXPECT_EQ(loopback.server().open_streams(), 100);
    bench.Kill();
  }
  EXPECT_TRUE(Soon([&] { return loopback.server().open_streams() == 0; }));
  ExpectServed(loopback.channel());
}

// A bench that stands still, with its connection open, holds its streams; they are bounded, and the others go on.
TEST(Bench, ThatStandsStillHoldsUpNobody) {
  Loopback loopback;
  const std::string address = absl::StrCat("127.0.0.1:", loopback.server().port());
  Child bench({COILWRIGHT_BINARY_DIR "/tests/simulated_bench", address, "100", "100000000"});
  ASSERT_EQ(bench.Line(), "playing");
  bench.Signal(SIGSTOP);
  ExpectPlayedToTheEnd(simulated::PlayLimits(loopback.channel(), 50, 20, seconds(60)), 50, 20);
  ExpectServed(loopback.channel());
  bench.Signal(SIGCONT);
  bench.Kill();
  EXPECT_TRUE(Soon([&] { return loopback.server().open_streams() == 0; }));
}

// Twenty clients send without end and never read. What the server holds for each is the answer under way and what lies
// in the windows of the connection.
TEST(Bench, ThatNeverReadsDoesNotFillTheServer) {
  Child server({DaemonPath(), "--port=0", "--archive=none"});
  const std::string address = server.ListeningAddress();
  ExpectPlayedToTheEnd(simulated::PlayLimits(ChannelTo(address), 20, 5, seconds(60)), 20, 5);
  const double before = server.ResidentMib();
  v1::StreamTestLimitsRequest request;
  for (int i = 0; i < 256; ++i) {
    request.add_machines()->mutable_limits()->set_rated_volts(400);
    request.mutable_machines(i)->set_label(std::string(200, 'x'));
  }
  constexpr int kClients = 20;
  std::vector<std::unique_ptr<grpc::ClientContext>> contexts;
  std::vector<std::thread> clients;
  std::atomic<long long> sent = 0;
  for (int i = 0; i < kClients; ++i) {
    contexts.push_back(std::make_unique<grpc::ClientContext>());
    contexts.back()->set_deadline(std::chrono::system_clock::now() + seconds(60));
    clients.emplace_back([&, context = contexts.back().get()] {
      const auto stub = v1::TestLimitService::NewStub(ChannelTo(address));
      const auto stream = stub->StreamTestLimits(context);
      while (stream->Write(request)) ++sent;
      EXPECT_EQ(stream->Finish().error_code(), grpc::StatusCode::CANCELLED);
    });
  }
  // Until nobody can send any more.
  EXPECT_TRUE(Soon([&] {
    const long long earlier = sent;
    std::this_thread::sleep_for(milliseconds(400));
    return earlier >= kClients && sent == earlier;
  }));
  if (!kKeepsFreedMemory) {
    EXPECT_LT(server.ResidentMib() - before, 3 * kClients) << "MiB for answers that nobody reads";
  }
  ExpectServed(ChannelTo(address));
  for (const auto& context : contexts) context->TryCancel();
  for (std::thread& client : clients) client.join();
  ExpectPlayedToTheEnd(simulated::PlayLimits(ChannelTo(address), 20, 5, seconds(60)), 20, 5);
}

TEST(Bench, WhoseDeadlinePassesEndsThereAndLeavesNothingBehind) {
  Loopback loopback;
  const Played played = simulated::PlayLimits(loopback.channel(), 50, 1000000, milliseconds(500));
  EXPECT_THAT(played.faults, IsEmpty());
  EXPECT_EQ(played.ended_otherwise.size(), 50u);
  for (const grpc::Status& status : played.ended_otherwise)
    EXPECT_EQ(status.error_code(), grpc::StatusCode::DEADLINE_EXCEEDED) << status.error_message();
  EXPECT_TRUE(Soon([&] { return loopback.server().open_streams() == 0; }));
}

TEST(Bench, AtWorkWhenTheServerStopsIsToldUnavailableAfterTheGrace) {
  Child server({DaemonPath(), "--port=0", "--archive=none", "--grace_seconds=1"});
  const auto channel = ChannelTo(server.ListeningAddress());
  std::atomic<bool> playing = false;
  Played played;
  std::thread bench([&] { played = simulated::PlayLimits(channel, 50, 100000000, seconds(60), &playing); });
  EXPECT_TRUE(Soon([&] { return playing.load(); }));
  const auto start = Clock::now();
  server.Signal(SIGTERM);
  bench.join();
  EXPECT_GT(Clock::now() - start, milliseconds(900)) << "they have their grace";
  EXPECT_LT(Clock::now() - start, seconds(5));
  EXPECT_THAT(played.faults, IsEmpty());
  EXPECT_EQ(played.ended_otherwise.size(), 50u);
  for (const grpc::Status& status : played.ended_otherwise)
    EXPECT_EQ(status.error_code(), grpc::StatusCode::UNAVAILABLE) << status.error_message();
  double answered = 0;
  server.Finish(&answered);  // aborts unless it ended well
}

TEST(Bench, WithMoreStreamsThanTheServerHoldsIsToldSo) {
  Child server({DaemonPath(), "--port=0", "--archive=none", "--streams=10"});
  const auto channel = ChannelTo(server.ListeningAddress());
  const Played played = simulated::PlayLimits(channel, 40, 300, seconds(60));
  EXPECT_THAT(played.faults, IsEmpty());
  EXPECT_GE(played.ended_ok, 10);
  EXPECT_GT(played.ended_otherwise.size(), 0u);
  for (const grpc::Status& status : played.ended_otherwise)
    EXPECT_EQ(status.error_code(), grpc::StatusCode::RESOURCE_EXHAUSTED) << status.error_message();
}

}  // namespace
}  // namespace coilwright::calls
