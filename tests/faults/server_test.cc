// What goes wrong around a call: the port taken, messages too large, a service nobody has, a flood, a stop in the
// middle.
#include "rpc/server.h"

#include <gmock/gmock.h>

#include <atomic>
#include <thread>

#include "calls/loopback.h"
#include "calls/samples.h"
#include "calls/standard_services.h"
#include "calls/walk.h"
#include "coilwright/services.h"
#include "rpc/services.h"

namespace coilwright::calls {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;
using ::testing::HasSubstr;
using Clock = std::chrono::steady_clock;

// With SO_REUSEPORT, gRPC's default, both would start and share the callers.
TEST(Server, ASecondOneOnTheSamePortIsRefused) {
  Loopback first;
  rpc::ServerOptions options;
  options.port = first.server().port();
  const auto second = rpc::Server::Start(options);
  EXPECT_EQ(second.status().code(), absl::StatusCode::kUnavailable);
  EXPECT_THAT(std::string(second.status().message()), HasSubstr(absl::StrCat("127.0.0.1:", options.port)));
  EXPECT_THAT(std::string(second.status().message()), HasSubstr("address in use"));
}

TEST(Server, PortsThatAreNoneAreRefused) {
  for (const int port : {-1, 65536, 70000}) {
    rpc::ServerOptions options;
    options.port = port;
    EXPECT_TRUE(absl::IsInvalidArgument(rpc::Server::Start(options).status())) << port;
  }
}

TEST(Server, AnAddressOfAnotherMachineIsRefused) {
  rpc::ServerOptions options;
  options.host = "192.0.2.1";  // TEST-NET-1, RFC 5737: nobody's
  EXPECT_TRUE(absl::IsUnavailable(rpc::Server::Start(options).status()));
}

TEST(Server, AnswersInItsOwnProcessWithoutASocket) {
  rpc::ServerOptions options;
  options.listen = false;
  const auto server = rpc::Server::Start(options);
  ASSERT_TRUE(server.ok());
  EXPECT_EQ((*server)->port(), 0);
  grpc::ClientContext context;
  v1::ListRulesResponse rules;
  EXPECT_TRUE(Named("ListRules").stub((*server)->InProcessChannel(), &context, v1::ListRulesRequest(), &rules).ok());
  EXPECT_GT(rules.rules_size(), 0);
}

TEST(Health, OfTheServerAndOfEveryService) {
  const Loopback loopback;
  std::vector<std::string> names = {""};
  for (const auto* service : Services()) names.push_back(service->full_name());
  for (const std::string& service : names) {
    Health health = Health::kUnknown;
    EXPECT_TRUE(CheckHealth(loopback.channel(), service, &health).ok()) << service;
    EXPECT_EQ(health, Health::kServing) << service;
  }
  Health health = Health::kUnknown;
  EXPECT_EQ(CheckHealth(loopback.channel(), "coilwright.v1.NoService", &health).error_code(),
            grpc::StatusCode::NOT_FOUND);
}

TEST(Reflection, ListsTheServices) {
  const Loopback loopback;
  grpc::GenericStub stub(loopback.channel());
  grpc::ClientContext context;
  context.set_deadline(std::chrono::system_clock::now() + seconds(30));
  grpc::CompletionQueue queue;
  const auto stream =
      stub.PrepareCall(&context, "/grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo", &queue);
  const auto wait = [&] {
    void* tag = nullptr;
    bool ok = false;
    return queue.Next(&tag, &ok) && ok;
  };
  stream->StartCall(nullptr);
  ASSERT_TRUE(wait());
  stream->Write(BufferOf("\x3a\x01*"), nullptr);  // ServerReflectionRequest.list_services is field 7
  ASSERT_TRUE(wait());
  grpc::ByteBuffer answer;
  stream->Read(&answer, nullptr);
  ASSERT_TRUE(wait());
  for (const char* service : {v1::RuleService::service_full_name(), v1::RewindPlanService::service_full_name()})
    EXPECT_THAT(BytesOf(answer), HasSubstr(service));
  context.TryCancel();
  grpc::Status status;
  stream->Finish(&status, nullptr);
  wait();
  queue.Shutdown();
}

TEST(Messages, LargerThanFourMebibytesAreRefused) {
  const Loopback loopback;
  v1::PlanRewindRequest request;
  *request.mutable_record() = DemoRecord();
  request.mutable_record()->set_note(std::string(5 << 20, 'x'));
  v1::PlanRewindResponse plan;
  EXPECT_EQ(loopback.Call(Named("PlanRewind"), request, &plan).error_code(), grpc::StatusCode::RESOURCE_EXHAUSTED);
  request.mutable_record()->clear_note();
  EXPECT_TRUE(loopback.Call(Named("PlanRewind"), request, &plan).ok()) << "the connection goes on";
}

TEST(Messages, OfGarbageAndOfUnknownMethodsLeaveTheServerStanding) {
  const Loopback loopback;
  std::string response;
  EXPECT_FALSE(CallRaw(loopback.channel(), "/coilwright.v1.WireService/LookUpWire", "\xff\xff\xff", &response).ok());
  // Text that is not UTF-8 is refused by the library before our code runs.
  EXPECT_FALSE(CallRaw(loopback.channel(), "/coilwright.v1.RuleService/GetRule", "\x0a\x02\xc3\x28", &response).ok());
  EXPECT_EQ(CallRaw(loopback.channel(), "/coilwright.v1.WireService/NoMethod", "", &response).error_code(),
            grpc::StatusCode::UNIMPLEMENTED);
  // Fields of a later contract are passed over.
  EXPECT_TRUE(CallRaw(loopback.channel(), "/coilwright.v1.RuleService/ListRules", "\xfa\x3e\x01x", &response).ok());
}

// A hundred wrong fields fill the trailer to its caps; a client drops trailers above about 8 KiB and then misreports
// this error and later ones on the connection.
TEST(Errors, OfAHundredWrongFieldsReachTheClientWhole) {
  const Loopback loopback;
  v1::JudgeMegohmsRequest request;
  request.set_rated_volts(400);
  for (int i = 0; i < 100; ++i) {
    request.add_readings()->set_insulation_megohms(-1);
    request.mutable_readings(i)->mutable_winding_temperature()->set_celsius(20);
  }
  v1::JudgeMegohmsResponse answer;
  for (int times = 0; times < 3; ++times) {
    const grpc::Status status = loopback.Call(Named("JudgeMegohms"), request, &answer);
    EXPECT_EQ(status.error_code(), grpc::StatusCode::INVALID_ARGUMENT);
    const Violations violations = ViolationsOf(status);
    EXPECT_EQ(violations.fields.size(), 20u);
    EXPECT_EQ(violations.fields.front(), "readings[0].insulation_megohms");
    EXPECT_EQ(violations.more, "and 80 more");
    // Percent-encoding triples the message at most, base64 adds a third to the details.
    EXPECT_LT(3 * status.error_message().size() + status.error_details().size() * 4 / 3, 8192u);
  }
}

// gRPC runs handlers on two threads of a small machine: one that computes there would keep health waiting.
TEST(Flood, OfPlansLeavesHealthQuick) {
  const Loopback loopback;
  std::atomic<int> answered = 0;
  std::atomic<bool> go_on = true;
  std::vector<std::thread> callers;
  v1::PlanRewindRequest request;
  *request.mutable_record() = DemoRecord();
  for (int i = 0; i < 64; ++i) {
    callers.emplace_back([&] {
      const auto channel = loopback.channel();
      while (go_on) {
        v1::PlanRewindResponse plan;
        grpc::ClientContext context;
        const grpc::Status status = Named("PlanRewind").stub(channel, &context, request, &plan);
        EXPECT_TRUE(status.ok()) << status.error_message();
        ++answered;
      }
    });
  }
  const auto other = loopback.NewChannel();
  std::vector<milliseconds> waits;
  for (int i = 0; i < 50; ++i) {
    Health health = Health::kUnknown;
    const auto start = Clock::now();
    EXPECT_TRUE(CheckHealth(other, "", &health).ok());
    waits.push_back(std::chrono::duration_cast<milliseconds>(Clock::now() - start));
    std::this_thread::sleep_for(milliseconds(5));
  }
  go_on = false;
  for (std::thread& caller : callers) caller.join();
  EXPECT_GE(answered, 64);
  std::sort(waits.begin(), waits.end());
  EXPECT_LT(waits[waits.size() / 2].count(), 200) << "half of the health checks";
}

}  // namespace
}  // namespace coilwright::calls
