#pragma once

#include <condition_variable>
#include <memory>
#include <mutex>
#include <string>

#include "google/protobuf/wrappers.pb.h"
#include "grpcpp/generic/generic_stub.h"
#include "grpcpp/grpcpp.h"

// Health and reflection as any tool calls them. Their proto files are packaged nowhere here, so that requests and
// answers are put together by hand after grpc/health/v1/health.proto and grpc/reflection/v1alpha/reflection.proto.
namespace coilwright::calls {

inline grpc::ByteBuffer BufferOf(const std::string& bytes) {
  const grpc::Slice slice(bytes);
  return grpc::ByteBuffer(&slice, 1);
}

inline std::string BytesOf(const grpc::ByteBuffer& buffer) {
  grpc::Slice slice;
  if (!buffer.DumpToSingleSlice(&slice).ok()) return "";
  return std::string(reinterpret_cast<const char*>(slice.begin()), slice.size());
}

// A unary call of any method with any bytes.
inline grpc::Status CallRaw(const std::shared_ptr<grpc::Channel>& channel, const std::string& method,
                            const std::string& request, std::string* response) {
  grpc::GenericStub stub(channel);
  grpc::ClientContext context;
  context.set_deadline(std::chrono::system_clock::now() + std::chrono::seconds(30));
  const grpc::ByteBuffer out = BufferOf(request);
  grpc::ByteBuffer in;
  grpc::Status status;
  std::mutex mutex;
  std::condition_variable changed;
  bool done = false;
  stub.UnaryCall(&context, method, grpc::StubOptions(), &out, &in, [&](grpc::Status outcome) {
    const std::lock_guard<std::mutex> lock(mutex);
    status = std::move(outcome);
    done = true;
    changed.notify_one();
  });
  std::unique_lock<std::mutex> lock(mutex);
  changed.wait(lock, [&] { return done; });
  if (status.ok()) *response = BytesOf(in);
  return status;
}

enum class Health { kUnknown = 0, kServing = 1, kNotServing = 2 };

// HealthCheckRequest.service is field 1, as the only field of StringValue; HealthCheckResponse.status likewise.
inline grpc::Status CheckHealth(const std::shared_ptr<grpc::Channel>& channel, const std::string& service,
                                Health* health) {
  google::protobuf::StringValue request;
  request.set_value(service);
  std::string response;
  const grpc::Status status = CallRaw(channel, "/grpc.health.v1.Health/Check", request.SerializeAsString(), &response);
  google::protobuf::Int32Value read;
  if (status.ok() && read.ParseFromString(response)) *health = static_cast<Health>(read.value());
  return status;
}

}  // namespace coilwright::calls
