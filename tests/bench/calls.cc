// bench_calls COILWRIGHTD BARE_ECHO [ROUNDS SECONDS]
// Test limits for one machine against a bare echo with messages of the same size: both servers run side by side, the
// same client loads them in turn over loopback with 64 calls in flight on one channel. It leaves the answers as bytes,
// so that the difference is the servers'; once more it decodes ours. Prints rows of a Markdown table: calls per second,
// processor time, resident memory.

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <thread>

#include "bench/child.h"
#include "bench/load.h"
#include "bench/spread.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "echo.pb.h"
#include "grpcpp/grpcpp.h"

namespace coilwright::bench {
namespace {

// What the service answers, for its size.
v1::GetTestLimitsResponse LimitsAnswer(const std::string& address) {
  const auto stub = v1::TestLimitService::NewStub(grpc::CreateChannel(address, grpc::InsecureChannelCredentials()));
  grpc::ClientContext context;
  v1::GetTestLimitsResponse answer;
  if (!stub->GetTestLimits(&context, LimitsRequest(), &answer).ok()) std::abort();
  return answer;
}

// A payload that makes the echo's message as long on the wire as `message`: a tag, the length in one or two bytes.
size_t PayloadFor(const google::protobuf::Message& message) {
  const size_t bytes = message.ByteSizeLong();
  return bytes - (bytes < 130 ? 2 : 3);
}

int Run(const std::string& ours_program, const std::string& bare_program, int rounds, double seconds) {
  Child ours({ours_program, "--port=0", "--archive=none"});
  const std::string ours_address = ours.ListeningAddress();
  const v1::GetTestLimitsRequest request = LimitsRequest();
  Spread ours_idle, bare_idle;
  for (int i = 0; i < 3; ++i) {
    Child idle_ours({ours_program, "--port=0", "--archive=none"});
    Child idle_bare({bare_program, "serve", "0"});
    idle_ours.ListeningAddress();
    idle_bare.ListeningAddress();
    std::this_thread::sleep_for(std::chrono::milliseconds(300));
    ours_idle.Add(idle_ours.ResidentMib());
    bare_idle.Add(idle_bare.ResidentMib());
  }
  const v1::GetTestLimitsResponse answer = LimitsAnswer(ours_address);
  Child bare({bare_program, "serve", std::to_string(PayloadFor(answer))});
  EchoRequest echo;
  echo.set_payload(std::string(PayloadFor(request), 'e'));

  const char* const limits_method = "/coilwright.v1.TestLimitService/GetTestLimits";
  Load limits(ours_address, limits_method, request, nullptr);
  Load decoded(ours_address, limits_method, request, &answer);
  Load echoes(bare.ListeningAddress(), "/coilwright.bench.EchoService/Echo", echo, nullptr);
  Load* const loads[] = {&limits, &decoded, &echoes};
  for (Load* load : loads) load->CallsPerSecond(seconds);  // connects and warms
  Spread rate[3], server_us[3], ratio, decoded_ratio, cpu_ratio;
  for (int round = 0; round < rounds; ++round) {
    double now[3] = {}, cpu_us[3] = {};
    // Each goes first in turn, so that a drift of the machine favours none.
    for (int turn = 0; turn < 3; ++turn) {
      const int which = (round + turn) % 3;
      const Child& server = which == 2 ? bare : ours;
      const double server_before = server.CpuSeconds(), client_before = OwnCpuSeconds();
      double calls = 0;
      now[which] = loads[which]->CallsPerSecond(seconds, &calls);
      const double server_seconds = server.CpuSeconds() - server_before;
      cpu_us[which] = 1e6 * (server_seconds + OwnCpuSeconds() - client_before) / calls;
      server_us[which].Add(1e6 * server_seconds / calls);
      rate[which].Add(now[which]);
    }
    ratio.Add(100 * now[0] / now[2]);
    decoded_ratio.Add(100 * now[1] / now[2]);
    cpu_ratio.Add(100 * cpu_us[2] / cpu_us[0]);
  }
  std::printf("| limits over bare echo, calls/s (request %zu B, answer %zu B) | at least 85 %% | %s %% |\n",
              request.ByteSizeLong(), answer.ByteSizeLong(), ratio.Text("%.1f").c_str());
  std::printf("| the same by processor time of server and client together | | %s %% |\n",
              cpu_ratio.Text("%.1f").c_str());
  std::printf("| the same, calls/s, with a client that decodes every answer | | %s %% |\n",
              decoded_ratio.Text("%.1f").c_str());
  std::printf("| calls/s, limits | | %s |\n", rate[0].Text("%.0f").c_str());
  std::printf("| calls/s, bare echo | | %s |\n", rate[2].Text("%.0f").c_str());
  std::printf("| server processor time per call, limits | | %s µs |\n", server_us[0].Text("%.1f").c_str());
  std::printf("| server processor time per call, bare echo | | %s µs |\n", server_us[2].Text("%.1f").c_str());
  std::printf("| resident memory, idle server | at most 32 MiB | %s MiB |\n", ours_idle.Text("%.1f").c_str());
  std::printf("| resident memory, idle bare echo | | %s MiB |\n", bare_idle.Text("%.1f").c_str());
  std::printf("| resident memory after these calls | | %.1f MiB, bare echo %.1f MiB |\n", ours.ResidentMib(),
              bare.ResidentMib());
  return 0;
}

}  // namespace
}  // namespace coilwright::bench

int main(int argc, char** argv) {
  const bool given = argc == 5;
  if (argc != 3 && !given) {
    std::fputs("usage: bench_calls COILWRIGHTD BARE_ECHO [ROUNDS SECONDS]\n", stderr);
    return 2;
  }
  return coilwright::bench::Run(argv[1], argv[2], given ? std::max(1, std::atoi(argv[3])) : 300,
                                given ? std::atof(argv[4]) : 0.04);
}
