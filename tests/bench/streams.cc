// bench_streams COILWRIGHTD [ROUNDS SECONDS]
// What one stream carries against unary calls for the same limits, 64 in flight on one channel, in turn against one
// server: machines with their limits per second, one to a message and many to a message; readings of an insulation run
// per second, from runs of a thousand and more seconds. The client leaves answers as bytes throughout. Prints rows of a
// Markdown table.

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <utility>

#include "bench/load.h"
#include "bench/spread.h"
#include "coilwright/v1/insulation_run_service.grpc.pb.h"

namespace coilwright::bench {
namespace {

// One stream kept busy with message after message, up to `ahead` of them sent before their answers are read.
class StreamLoad {
 public:
  StreamLoad(const std::string& address, const char* method, std::function<grpc::ByteBuffer()> next,
             int items_per_message, int ahead)
      : stub_(grpc::CreateChannel(address, grpc::InsecureChannelCredentials())),
        next_(std::move(next)),
        items_(items_per_message),
        ahead_(ahead) {
    stream_ = stub_.PrepareCall(&context_, method, &queue_);
    stream_->StartCall(kStart);
    Await();
  }
  ~StreamLoad() {
    context_.TryCancel();
    grpc::Status status;
    stream_->Finish(&status, kStart);
    Await();
    queue_.Shutdown();
  }

  // Items answered per second. Aborts when the stream ends.
  double ItemsPerSecond(double seconds) {
    const double begin = Now();
    long long answered = 0;
    int sent = 0, read = 0;
    bool writing = false, running = true;
    stream_->Read(&answer_, kRead);
    double end = begin;
    for (;;) {
      if (running && !writing && sent - read < ahead_) {
        stream_->Write(next_(), kWrite);
        writing = true;
        ++sent;
      }
      if (Await() == kWrite) {
        writing = false;
        continue;
      }
      ++read;
      if (running) {
        answered += items_;
        end = Now();
        running = end - begin < seconds;
      }
      if (!running && read == sent && !writing) break;
      stream_->Read(&answer_, kRead);
    }
    return static_cast<double>(answered) / (end - begin);
  }

  // The last answer.
  template <typename Answer>
  Answer Last() {
    Answer answer;
    if (!grpc::GenericDeserialize<grpc::ProtoBufferReader, Answer>(&answer_, &answer).ok()) std::abort();
    return answer;
  }

 private:
  static inline int tags[3] = {};
  static inline void* const kStart = &tags[0];
  static inline void* const kRead = &tags[1];
  static inline void* const kWrite = &tags[2];

  void* Await() {
    void* tag = nullptr;
    bool ok = false;
    if (queue_.Next(&tag, &ok) && (ok || tag == kStart)) return tag;
    std::fputs("the stream ended\n", stderr);
    std::abort();
  }

  grpc::GenericStub stub_;
  const std::function<grpc::ByteBuffer()> next_;
  const int items_;
  const int ahead_;
  grpc::ByteBuffer answer_;
  grpc::ClientContext context_;
  grpc::CompletionQueue queue_;
  std::unique_ptr<grpc::GenericClientAsyncReaderWriter> stream_;
};

std::function<grpc::ByteBuffer()> Machines(int count) {
  v1::StreamTestLimitsRequest message;
  for (int i = 0; i < count; ++i) *message.add_machines()->mutable_limits() = LimitsRequest();
  return [bytes = BytesOf(message)] { return bytes; };
}

// A run read a hundred times a second, without end; i = A t^-n + V/R.
std::function<grpc::ByteBuffer()> Readings(int count) {
  return [count, read = 0LL]() mutable {
    v1::RunInsulationTestRequest message;
    if (read == 0) {
      message.mutable_setup()->set_rated_volts(690);
      message.mutable_setup()->set_test_volts_dc(500);
    }
    for (int i = 0; i < count; ++i) {
      const double seconds = 0.01 * static_cast<double>(++read);
      v1::InsulationSample* sample = message.add_samples();
      sample->set_seconds(seconds);
      sample->set_test_volts_dc(500);
      sample->set_current_microamps(2 / (1 + seconds) + 0.2);
      sample->set_winding_celsius(25);
    }
    return BytesOf(message);
  };
}

int Run(const std::string& program, int rounds, double seconds) {
  Child server({program, "--port=0", "--archive=none"});
  const std::string address = server.ListeningAddress();
  constexpr int kMany = 64;
  const char* const limits = "/coilwright.v1.TestLimitService/StreamTestLimits";
  const char* const run = "/coilwright.v1.InsulationRunService/RunInsulationTest";
  Load unary(address, "/coilwright.v1.TestLimitService/GetTestLimits", LimitsRequest(), nullptr);
  StreamLoad single(address, limits, Machines(1), 1, 64);
  StreamLoad many(address, limits, Machines(kMany), kMany, 4);
  StreamLoad readings(address, run, Readings(kMany), kMany, 4);
  constexpr int kLoads = 4;
  const std::function<double()> loads[kLoads] = {
      [&] { return unary.CallsPerSecond(seconds); }, [&] { return single.ItemsPerSecond(seconds); },
      [&] { return many.ItemsPerSecond(seconds); }, [&] { return readings.ItemsPerSecond(seconds); }};
  for (const auto& load : loads) load();
  Spread rates[kLoads], ratios[kLoads], cpu_us[kLoads];
  for (int round = 0; round < rounds; ++round) {
    double rate[kLoads] = {};
    for (int turn = 0; turn < kLoads; ++turn) {
      const int which = (round + turn) % kLoads;
      const double before = server.CpuSeconds(), begin = Now();
      rate[which] = loads[which]();
      cpu_us[which].Add(1e6 * (server.CpuSeconds() - before) / (rate[which] * (Now() - begin)));
      rates[which].Add(rate[which]);
    }
    for (int which = 0; which < kLoads; ++which) ratios[which].Add(rate[which] / rate[0]);
  }
  const auto last = readings.Last<v1::RunInsulationTestResponse>();
  if (last.samples_refused() > 0 || last.samples_taken() == 0 || last.stop()) {
    std::fprintf(stderr, "readings were not taken:\n%s\n", last.DebugString().c_str());
    std::abort();
  }
  const char* const what[kLoads] = {"limits, unary", "limits, streamed one to a message",
                                    "limits, streamed 64 to a message",
                                    "readings of an insulation run, streamed 64 to a message"};
  for (int which = 0; which < kLoads; ++which) {
    std::printf("| %s: over unary limits, per second, server processor time of one | %s | %s x, %s, %s µs |\n",
                what[which], which == kLoads - 1 ? "at least 10 x" : "", ratios[which].Text("%.1f").c_str(),
                rates[which].Text("%.0f").c_str(), cpu_us[which].Text("%.2f").c_str());
  }
  return 0;
}

}  // namespace
}  // namespace coilwright::bench

int main(int argc, char** argv) {
  const bool given = argc == 4;
  if (argc != 2 && !given) {
    std::fputs("usage: bench_streams COILWRIGHTD [ROUNDS SECONDS]\n", stderr);
    return 2;
  }
  return coilwright::bench::Run(argv[1], given ? std::max(1, std::atoi(argv[2])) : 100,
                                given ? std::atof(argv[3]) : 0.05);
}
