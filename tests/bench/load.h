#pragma once

#include <array>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string>

#include "bench/child.h"
#include "coilwright/v1/test_limit_service.pb.h"
#include "google/protobuf/message.h"
#include "grpcpp/generic/generic_stub.h"
#include "grpcpp/grpcpp.h"
#include "grpcpp/impl/codegen/proto_utils.h"

namespace coilwright::bench {

inline constexpr size_t kInFlight = 64;

// Test limits for one machine: what every load of limits asks.
inline v1::GetTestLimitsRequest LimitsRequest() {
  v1::GetTestLimitsRequest request;
  request.set_rated_volts(230);
  request.mutable_rated_power()->set_kw(1.4);
  request.set_built_year(2009);
  return request;
}

inline grpc::ByteBuffer BytesOf(const google::protobuf::Message& message) {
  const grpc::Slice slice(message.SerializeAsString());
  return grpc::ByteBuffer(&slice, 1);
}

// One method of one server, always asked the same.
class Load {
 public:
  // `answer` says what to decode and outlives this; null leaves answers as bytes.
  Load(const std::string& address, const char* method, const google::protobuf::Message& request,
       const google::protobuf::Message* answer)
      : stub_(grpc::CreateChannel(address, grpc::InsecureChannelCredentials())),
        method_(method),
        request_(BytesOf(request)),
        prototype_(answer) {}

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
    bool good = call.status.ok();
    if (good && prototype_ != nullptr) {
      const std::unique_ptr<google::protobuf::Message> answer(prototype_->New());
      good =
          grpc::GenericDeserialize<grpc::ProtoBufferReader, google::protobuf::Message>(&call.answer, answer.get()).ok();
    }
    if (good) return;
    std::fprintf(stderr, "%s: %s\n", method_.c_str(), call.status.error_message().c_str());
    std::abort();
  }

  grpc::GenericStub stub_;
  const std::string method_;
  const grpc::ByteBuffer request_;
  const google::protobuf::Message* prototype_;
  grpc::CompletionQueue queue_;
  std::array<std::unique_ptr<Call>, kInFlight> calls_;
};

}  // namespace coilwright::bench
