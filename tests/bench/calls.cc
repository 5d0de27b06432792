// bench_calls COILWRIGHTD BARE_ECHO [PAIRS SECONDS]
// Test limits for one machine against a bare echo with messages of the same size: both servers run side by side, the
// same client loads them in turn over loopback with 64 calls in flight on one channel and decodes every answer. Prints
// rows of a Markdown table: calls per second, processor time of the servers, resident memory.

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string>
#include <thread>

#include "child.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "echo.pb.h"
#include "grpcpp/generic/generic_stub.h"
#include "grpcpp/grpcpp.h"
#include "spread.h"

namespace coilwright::bench {
namespace {

constexpr size_t kInFlight = 64;

// One method of one server, always asked the same.
class Load {
 public:
  // `answer` says what to decode and outlives this.
  Load(const std::string& address, const char* method, const google::protobuf::Message& request,
       const google::protobuf::Message& answer)
      : stub_(grpc::CreateChannel(address, grpc::InsecureChannelCredentials())), method_(method), prototype_(answer) {
    const grpc::Slice slice(request.SerializeAsString());
    request_ = grpc::ByteBuffer(&slice, 1);
  }

  // Calls for this long with all calls in flight; calls per second, and how many were made. Aborts when one fails.
  double CallsPerSecond(double seconds, double* calls = nullptr) {
    const double begin = Now();
    double end = begin;
    long long done = 0;
    long long all = 0;
    size_t open = 0;
    for (size_t slot = 0; slot < kInFlight; ++slot, ++open) Begin(slot);
    for (bool running = true; open > 0;) {
      void* tag = nullptr;
      bool ok = false;
      queue_.Next(&tag, &ok);
      const auto slot = reinterpret_cast<size_t>(tag);
      Take(slot);
      --open;
      ++all;
      if (running) {
        ++done;
        end = Now();
        running = end - begin < seconds;
      }
      if (running) {
        Begin(slot);
        ++open;
      }
    }
    if (calls != nullptr) *calls = static_cast<double>(all);
    return static_cast<double>(done) / (end - begin);
  }

 private:
  struct Call {
    grpc::ClientContext context;
    std::unique_ptr<grpc::GenericClientAsyncResponseReader> reader;
    grpc::ByteBuffer answer;
    grpc::Status status;
  };

  void Begin(size_t slot) {
    calls_[slot] = std::make_unique<Call>();
    Call& call = *calls_[slot];
    call.reader = stub_.PrepareUnaryCall(&call.context, method_, request_, &queue_);
    call.reader->StartCall();
    call.reader->Finish(&call.answer, &call.status, reinterpret_cast<void*>(slot));
  }

  void Take(size_t slot) {
    Call& call = *calls_[slot];
    const std::unique_ptr<google::protobuf::Message> answer(prototype_.New());
    const bool decoded =
        call.status.ok() &&
        grpc::GenericDeserialize<grpc::ProtoBufferReader, google::protobuf::Message>(&call.answer, answer.get()).ok();
    if (decoded) return;
    std::fprintf(stderr, "%s: %s\n", method_.c_str(), call.status.error_message().c_str());
    std::abort();
  }

  grpc::GenericStub stub_;
  const std::string method_;
  const google::protobuf::Message& prototype_;
  grpc::ByteBuffer request_;
  grpc::CompletionQueue queue_;
  std::array<std::unique_ptr<Call>, kInFlight> calls_;
};

v1::GetTestLimitsRequest LimitsRequest() {
  v1::GetTestLimitsRequest request;
  request.set_rated_volts(230);
  request.mutable_rated_power()->set_kw(1.4);
  request.set_built_year(2009);
  return request;
}

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

int Run(const std::string& ours_program, const std::string& bare_program, int pairs, double seconds) {
  Child ours({ours_program, "--port=0"});
  const std::string ours_address = ours.ListeningAddress();
  const v1::GetTestLimitsRequest request = LimitsRequest();
  Spread ours_idle, bare_idle;
  for (int i = 0; i < 3; ++i) {
    Child idle_ours({ours_program, "--port=0"});
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

  Load limits(ours_address, "/coilwright.v1.TestLimitService/GetTestLimits", request, answer);
  Load echoes(bare.ListeningAddress(), "/coilwright.bench.EchoService/Echo", echo, EchoResponse::default_instance());
  limits.CallsPerSecond(seconds);  // connects and warms
  echoes.CallsPerSecond(seconds);
  Spread ratio, limits_rate, echo_rate, limits_cpu, echo_cpu;
  for (int pair = 0; pair < pairs; ++pair) {
    double rate[2] = {};
    // Each goes first in every other pair, so that a drift of the machine favours neither.
    for (const int which : {pair % 2, 1 - pair % 2}) {
      const Child& server = which == 0 ? ours : bare;
      const double before = server.CpuSeconds();
      double calls = 0;
      rate[which] = (which == 0 ? limits : echoes).CallsPerSecond(seconds, &calls);
      (which == 0 ? limits_cpu : echo_cpu).Add(1e6 * (server.CpuSeconds() - before) / calls);
    }
    limits_rate.Add(rate[0]);
    echo_rate.Add(rate[1]);
    ratio.Add(100 * rate[0] / rate[1]);
  }
  std::printf("| limits over bare echo, calls/s (request %zu B, answer %zu B) | at least 85 %% | %s %% |\n",
              request.ByteSizeLong(), answer.ByteSizeLong(), ratio.Text("%.1f").c_str());
  std::printf("| calls/s, limits | | %s |\n", limits_rate.Text("%.0f").c_str());
  std::printf("| calls/s, bare echo | | %s |\n", echo_rate.Text("%.0f").c_str());
  std::printf("| server processor time per call, limits | | %s µs |\n", limits_cpu.Text("%.1f").c_str());
  std::printf("| server processor time per call, bare echo | | %s µs |\n", echo_cpu.Text("%.1f").c_str());
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
    std::fputs("usage: bench_calls COILWRIGHTD BARE_ECHO [PAIRS SECONDS]\n", stderr);
    return 2;
  }
  return coilwright::bench::Run(argv[1], argv[2], given ? std::max(1, std::atoi(argv[3])) : 101,
                                given ? std::atof(argv[4]) : 0.15);
}
