#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>
#include <memory>
#include <utility>
#include <vector>

#include "absl/status/status.h"
#include "archive/timings.h"
#include "grpcpp/grpcpp.h"
#include "rpc/access.h"
#include "rpc/call_log.h"

namespace coilwright::rpc {

// grpc::StatusCode is 0 to 16.
constexpr size_t kStatusCodes = 17;

// What became of the calls of one method so far.
struct MethodFigures {
  const MethodEntry* method = nullptr;
  uint64_t started = 0;
  std::array<uint64_t, kStatusCodes> ended{};  // by status code
  archive::Timings::Counted times;             // of those that ended; empty for a stream
  uint64_t received = 0, sent = 0;             // messages of streams

  uint64_t in_flight() const;
};

// What every call to a server goes through, whatever thread answers it: who may make it, what is counted and what is
// logged. Safe from any thread; a call costs it a fraction of a microsecond, and nothing waits.
class Calls {
 public:
  // Null: nobody is asked, nothing is logged.
  explicit Calls(std::shared_ptr<const Access> access = nullptr, std::shared_ptr<CallLog> log = nullptr)
      : access_(std::move(access)), log_(std::move(log)), counts_(new Counts[MethodTable().size()]) {}
  Calls(const Calls&) = delete;
  Calls& operator=(const Calls&) = delete;

  // In the order of MethodTable().
  std::vector<MethodFigures> Figures() const;

 private:
  friend class Call;
  struct alignas(64) Counts {
    std::atomic<uint64_t> started{0};
    std::array<std::atomic<uint64_t>, kStatusCodes> ended{};
    archive::Timings times;
    std::atomic<uint64_t> received{0}, sent{0};
  };

  const std::shared_ptr<const Access> access_;
  const std::shared_ptr<CallLog> log_;
  const std::unique_ptr<Counts[]> counts_;
};

// One call, from its arrival to its status. Goes where the call goes; End is called once, on one of its copies.
class Call {
 public:
  Call(Calls& calls, const MethodEntry& method, const grpc::CallbackServerContext& context);

  // Whether the caller may make it; if not, nothing of the call is read, computed or written.
  const absl::Status& permitted() const { return permitted_; }

  // Of a stream.
  void Received() { counts_->received.fetch_add(1, std::memory_order_relaxed), ++in_; }
  void Sent() { counts_->sent.fetch_add(1, std::memory_order_relaxed), ++out_; }

  // Before gRPC is given the status: the call may be gone right after.
  void End(const grpc::Status& status) const;
  template <typename Request, typename Response>
  void End(const grpc::Status& status, const Request& request, const Response& response) {
    if (log_ != nullptr && log_->Takes(status.error_code())) {
      in_ = request.ByteSizeLong();
      out_ = status.ok() ? response.ByteSizeLong() : 0;
    }
    End(status);
  }

 private:
  const MethodEntry* method_;
  const grpc::CallbackServerContext* context_;
  Calls::Counts* counts_;
  CallLog* log_;
  std::chrono::steady_clock::time_point began_;
  std::shared_ptr<const Client> client_;  // null where nobody is asked
  absl::Status permitted_;
  uint64_t in_ = 0, out_ = 0;
};

}  // namespace coilwright::rpc
