#pragma once

#include <memory>
#include <utility>

#include "absl/status/status.h"
#include "grpcpp/grpcpp.h"
#include "rpc/access.h"

namespace coilwright::rpc {

// What every call to a server goes through, whatever thread answers it: who may make it. Safe from any thread.
class Calls {
 public:
  // Null: nobody is asked.
  explicit Calls(std::shared_ptr<const Access> access = nullptr) : access_(std::move(access)) {}
  Calls(const Calls&) = delete;
  Calls& operator=(const Calls&) = delete;

  const Access* access() const { return access_.get(); }

 private:
  const std::shared_ptr<const Access> access_;
};

// One call, from its arrival to its status.
class Call {
 public:
  Call(Calls& calls, const MethodEntry& method, const grpc::CallbackServerContext& context);

  // Whether the caller may make it; if not, nothing of the call is read, computed or written.
  const absl::Status& permitted() const { return permitted_; }

 private:
  std::shared_ptr<const Client> client_;  // null where nobody is asked
  absl::Status permitted_;
};

}  // namespace coilwright::rpc
