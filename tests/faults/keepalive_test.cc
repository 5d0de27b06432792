// Keepalive must be agreed on: a client that pings more often than the server allows is told "too many pings" on its
// third strike and loses its connection.
#include <gtest/gtest.h>

#include <thread>

#include "calls/loopback.h"
#include "calls/standard_services.h"

namespace coilwright::calls {
namespace {

std::shared_ptr<grpc::Channel> Pinging(const Loopback& loopback, int every_ms) {
  grpc::ChannelArguments arguments;
  arguments.SetInt(GRPC_ARG_KEEPALIVE_TIME_MS, every_ms);
  arguments.SetInt(GRPC_ARG_KEEPALIVE_PERMIT_WITHOUT_CALLS, 1);
  arguments.SetInt(GRPC_ARG_HTTP2_MAX_PINGS_WITHOUT_DATA, 0);
  const auto channel = loopback.NewChannel(arguments);
  Health health = Health::kUnknown;
  EXPECT_TRUE(CheckHealth(channel, "", &health).ok());
  EXPECT_EQ(channel->GetState(false), GRPC_CHANNEL_READY);
  return channel;
}

// Every 20 s is what clients are told; gRPC's own default allows one ping in five minutes. Every 2 s is not accepted,
// which shows that a third strike would be seen.
TEST(Keepalive, AcceptsAPingEveryTwentySecondsWithoutACallAndNotEveryTwo) {
  const Loopback loopback;
  const auto agreed = Pinging(loopback, 20500);
  const auto eager = Pinging(loopback, 2000);
  const auto start = std::chrono::system_clock::now();
  EXPECT_TRUE(eager->WaitForStateChange(GRPC_CHANNEL_READY, start + std::chrono::seconds(40)));
  EXPECT_FALSE(agreed->WaitForStateChange(GRPC_CHANNEL_READY, start + std::chrono::seconds(88)));
}

}  // namespace
}  // namespace coilwright::calls
