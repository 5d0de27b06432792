// Asks a running coilwrightd for the test levels of motor after motor: rated volts, one per line of standard input.
//   seq 100 100 700 | stream_limits 127.0.0.1:7360
#include <cstdio>
#include <iostream>
#include <string>
#include <thread>

#include "channel.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "grpcpp/grpcpp.h"

int main(int argc, char** argv) {
  constexpr char kUsage[] = "stream_limits HOST:PORT [--ca FILE [--cert FILE --key FILE]] < rated volts, one per line";
  if (argc == 2 && std::string(argv[1]) == "--help") return std::printf("usage: %s\n", kUsage), 0;
  auto channel = ChannelAskedFor(argc, argv, kUsage);
  if (channel == nullptr) return 2;
  auto stub = coilwright::v1::TestLimitService::NewStub(channel);
  grpc::ClientContext context;
  auto stream = stub->StreamTestLimits(&context);

  // Writes wait while answers are not read: one thread asks, another reads.
  bool wrong = false;
  std::thread ask([&stream, &wrong] {
    std::string line;
    for (int number = 1; std::getline(std::cin, line); ++number) {
      double volts = 0;
      char rest = 0;
      if (line.find_first_not_of(" \t\r") == std::string::npos) continue;
      if (std::sscanf(line.c_str(), "%lf %c", &volts, &rest) != 1) {
        std::fprintf(stderr, "line %d: got \"%s\", accepted: a number of volts\n", number, line.c_str());
        wrong = true;
        continue;
      }
      coilwright::v1::StreamTestLimitsRequest request;
      auto* machine = request.add_machines();
      machine->set_label(std::to_string(volts));  // comes back with the answer
      machine->mutable_limits()->set_rated_volts(volts);
      if (!stream->Write(request)) break;
    }
    stream->WritesDone();
  });
  for (coilwright::v1::StreamTestLimitsResponse response; stream->Read(&response);) {
    for (const auto& answer : response.answers()) {
      if (answer.has_status()) {
        std::printf("%s: %s\n", answer.label().c_str(), answer.status().message().c_str());
        continue;
      }
      const auto& limits = answer.limits();
      std::printf("%s: withstand %.0f V AC, megohms at least %g at 40 C\n", answer.label().c_str(),
                  limits.withstand_ac().test_volts(), limits.minimum_megohms());
      for (const auto& caution : limits.cautions()) std::printf("! %s\n", caution.c_str());
    }
  }
  ask.join();
  const grpc::Status status = stream->Finish();
  if (!status.ok()) return std::fprintf(stderr, "%s\n", status.error_message().c_str()), 1;
  return wrong ? 2 : 0;
}
