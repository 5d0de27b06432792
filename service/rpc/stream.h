#pragma once

#include <chrono>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <set>
#include <thread>
#include <utility>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "grpcpp/grpcpp.h"
#include "grpcpp/impl/codegen/proto_utils.h"
#include "rpc/calls.h"
#include "rpc/guard.h"
#include "rpc/session.h"

namespace coilwright::rpc {

using BytesReactor = grpc::ServerBidiReactor<grpc::ByteBuffer, grpc::ByteBuffer>;

// A session without its types: bytes in, bytes out. With typed messages gRPC reports bytes that are no message just as
// it reports that the client has closed its side.
class BytesSession {
 public:
  virtual ~BytesSession() = default;
  virtual absl::StatusOr<bool> Take(grpc::ByteBuffer* in, grpc::ByteBuffer* out) = 0;
  virtual absl::StatusOr<bool> Finish(grpc::ByteBuffer* out) = 0;
};

// Reads and writes the messages of a session, which are kept from one to the next unless they were large, and holds
// exceptions back.
template <typename Request, typename Response>
class EncodedSession final : public BytesSession {
 public:
  explicit EncodedSession(std::unique_ptr<Session<Request, Response>> session) : session_(std::move(session)) {}

  absl::StatusOr<bool> Take(grpc::ByteBuffer* in, grpc::ByteBuffer* out) override {
    const bool large = in->Length() > kKeptBytes;
    bool answered = false;
    const absl::Status status = HoldBack([&]() -> absl::Status {
      if (!grpc::GenericDeserialize<grpc::ProtoBufferReader, Request>(in, &request_).ok())
        return absl::InvalidArgumentError("bytes that are not a message of this method");
      return Put(session_->Take(request_, &response_), out, &answered);
    });
    if (large) request_ = Request();
    if (!status.ok()) return status;
    return answered;
  }

  absl::StatusOr<bool> Finish(grpc::ByteBuffer* out) override {
    bool answered = false;
    const absl::Status status = HoldBack([&] { return Put(session_->Finish(&response_), out, &answered); });
    if (!status.ok()) return status;
    return answered;
  }

 private:
  static constexpr size_t kKeptBytes = 64 << 10;

  absl::Status Put(const absl::StatusOr<bool>& answer, grpc::ByteBuffer* out, bool* answered) {
    if (!answer.ok()) return answer.status();
    *answered = *answer;
    if (*answered) {
      bool own = false;
      const grpc::Status status = grpc::GenericSerialize<grpc::ProtoBufferWriter, Response>(response_, out, &own);
      if (!status.ok()) return absl::ResourceExhaustedError("an answer too large to send");
    }
    if (out->Length() > kKeptBytes) {
      response_ = Response();
    } else {
      response_.Clear();
    }
    return absl::OkStatus();
  }

  const std::unique_ptr<Session<Request, Response>> session_;
  Request request_;
  Response response_;
};

// All open streams of a server, of any method. One message is read, answered on the gRPC thread and its answer sent
// before the next is read: a client that does not read is not read from, and HTTP/2 holds it up at its end. No more
// than `most_open` streams are open at once; one more is told RESOURCE_EXHAUSTED. Safe from any thread.
class Streams {
 public:
  using Clock = std::chrono::steady_clock;

  // A stream on which nothing has moved for `idle`, either way, is ended: DEADLINE_EXCEEDED, or cut off where its
  // client does not read. It may take a quarter longer.
  Streams(Calls& calls, int most_open, std::chrono::milliseconds idle)
      : calls_(calls), most_open_(most_open), idle_(idle) {}
  // No stream is open any more.
  ~Streams();
  Streams(const Streams&) = delete;
  Streams& operator=(const Streams&) = delete;

  template <typename Request, typename Response>
  BytesReactor* Open(grpc::CallbackServerContext* context, std::unique_ptr<Session<Request, Response>> session) {
    return Open(context, EntryTaking<Request>(),
                std::make_unique<EncodedSession<Request, Response>>(std::move(session)));
  }

  int open() const;
  int most_open() const { return most_open_; }
  // Streams open at `when` are ended with UNAVAILABLE after their last answer, and no more are opened from then on.
  void CloseAt(Clock::time_point when);

 private:
  class Reactor;
  BytesReactor* Open(grpc::CallbackServerContext* context, const MethodEntry& method,
                     std::unique_ptr<BytesSession> session);
  void Leave(Reactor* reactor);
  void Watch();

  Calls& calls_;
  const int most_open_;
  const std::chrono::milliseconds idle_;
  mutable std::mutex mutex_;  // taken before that of a reactor
  std::condition_variable wake_;
  std::set<Reactor*> open_;
  Clock::time_point close_at_ = Clock::time_point::max();
  bool stopping_ = false;
  std::thread watch_;  // starts with the first stream
};

}  // namespace coilwright::rpc
