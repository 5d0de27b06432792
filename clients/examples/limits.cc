// Asks a running coilwrightd for the test levels of one motor.   limits 127.0.0.1:7360
#include <chrono>
#include <cstdio>

#include "channel.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "grpcpp/grpcpp.h"

int main(int argc, char** argv) {
  auto channel = ChannelAskedFor(argc, argv, "limits HOST:PORT [--ca FILE [--cert FILE --key FILE]]");
  if (channel == nullptr) return 2;
  auto stub = coilwright::v1::TestLimitService::NewStub(channel);

  coilwright::v1::GetTestLimitsRequest request;
  request.set_rated_volts(230);                   // of the winding, line to line, rms
  request.mutable_rated_power()->set_watts(400);  // in whatever unit the plate says
  request.mutable_choice()->set_family(coilwright::v1::STANDARD_FAMILY_IEC_60034_1);

  grpc::ClientContext context;
  context.set_deadline(std::chrono::system_clock::now() + std::chrono::seconds(2));
  coilwright::v1::GetTestLimitsResponse limits;
  const grpc::Status status = stub->GetTestLimits(&context, request, &limits);
  if (!status.ok()) return std::fprintf(stderr, "%s\n", status.error_message().c_str()), 1;

  std::printf("withstand %.0f V AC (%s)\n", limits.withstand_ac().test_volts(), limits.withstand_ac().rule().c_str());
  std::printf("megohms   at least %g at 40 C, read at %.0f V DC\n", limits.minimum_megohms(),
              limits.megohm_test().test_volts());
  for (const auto& caution : limits.cautions()) std::printf("! %s\n", caution.c_str());
}
