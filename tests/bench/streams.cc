// bench_streams COILWRIGHTD [ROUNDS SECONDS]
// What one stream carries against unary calls for the same limits, 64 in flight on one channel, in turn against one
// server: machines with their limits per second, one to a message and many to a message. The client leaves answers as
// bytes in both. Prints rows of a Markdown table.

#include <algorithm>
#include <cstdlib>

#include "bench/load.h"
#include "bench/spread.h"
#include "coilwright/v1/test_limit_service.grpc.pb.h"

namespace coilwright::bench {
namespace {

v1::GetTestLimitsRequest LimitsRequest() {
  v1::GetTestLimitsRequest request;
  request.set_rated_volts(230);
  request.mutable_rated_power()->set_kw(1.4);
  request.set_built_year(2009);
  return request;
}

// One stream kept busy: always the same message, up to `ahead` of them sent before their answers are read.
class StreamLoad {
 public:
  StreamLoad(const std::string& address, const char* method, const google::protobuf::Message& message,
             int items_per_message, int ahead)
      : stub_(grpc::CreateChannel(address, grpc::InsecureChannelCredentials())),
        items_(items_per_message),
        ahead_(ahead) {
    const grpc::Slice slice(message.SerializeAsString());
    message_ = grpc::ByteBuffer(&slice, 1);
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
        stream_->Write(message_, kWrite);
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

 private:
  static inline int tags_[3] = {};
  static inline void* const kStart = &tags_[0];
  static inline void* const kRead = &tags_[1];
  static inline void* const kWrite = &tags_[2];

  void* Await() {
    void* tag = nullptr;
    bool ok = false;
    if (queue_.Next(&tag, &ok) && (ok || tag == kStart)) return tag;
    std::fputs("the stream ended\n", stderr);
    std::abort();
  }

  grpc::GenericStub stub_;
  const int items_;
  const int ahead_;
  grpc::ByteBuffer message_;
  grpc::ByteBuffer answer_;
  grpc::ClientContext context_;
  grpc::CompletionQueue queue_;
  std::unique_ptr<grpc::GenericClientAsyncReaderWriter> stream_;
};

v1::StreamTestLimitsRequest Machines(int count) {
  v1::StreamTestLimitsRequest message;
  for (int i = 0; i < count; ++i) *message.add_machines()->mutable_limits() = LimitsRequest();
  return message;
}

int Run(const std::string& program, int rounds, double seconds) {
  Child server({program, "--port=0"});
  const std::string address = server.ListeningAddress();
  constexpr int kMany = 64;
  const char* const method = "/coilwright.v1.TestLimitService/StreamTestLimits";
  Load unary(address, "/coilwright.v1.TestLimitService/GetTestLimits", LimitsRequest(), nullptr);
  StreamLoad single(address, method, Machines(1), 1, 64);
  StreamLoad many(address, method, Machines(kMany), kMany, 4);
  unary.CallsPerSecond(seconds);
  single.ItemsPerSecond(seconds);
  many.ItemsPerSecond(seconds);
  Spread unary_rate, single_ratio, many_ratio, many_rate, cpu[3];
  for (int round = 0; round < rounds; ++round) {
    double rate[3] = {};
    for (int turn = 0; turn < 3; ++turn) {
      const int which = (round + turn) % 3;
      const double before = server.CpuSeconds(), begin = Now();
      rate[which] = which == 0   ? unary.CallsPerSecond(seconds)
                    : which == 1 ? single.ItemsPerSecond(seconds)
                                 : many.ItemsPerSecond(seconds);
      cpu[which].Add(1e6 * (server.CpuSeconds() - before) / (rate[which] * (Now() - begin)));
    }
    unary_rate.Add(rate[0]);
    many_rate.Add(rate[2]);
    single_ratio.Add(rate[1] / rate[0]);
    many_ratio.Add(rate[2] / rate[0]);
  }
  std::printf("| limits streamed over unary, %d machines to a message | | %s x |\n", kMany,
              many_ratio.Text("%.1f").c_str());
  std::printf("| the same, one machine to a message | | %s x |\n", single_ratio.Text("%.1f").c_str());
  std::printf("| machines/s, unary / streamed | | %s / %s |\n", unary_rate.Text("%.0f").c_str(),
              many_rate.Text("%.0f").c_str());
  std::printf("| server processor time per machine, unary / one / %d to a message | | %s / %s / %s µs |\n", kMany,
              cpu[0].Text("%.1f").c_str(), cpu[1].Text("%.1f").c_str(), cpu[2].Text("%.1f").c_str());
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
