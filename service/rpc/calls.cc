#include "rpc/calls.h"

namespace coilwright::rpc {

Call::Call(Calls& calls, const MethodEntry& method, const grpc::CallbackServerContext& context) {
  if (calls.access() == nullptr) return;
  if (const auto caller = context.auth_context(); caller != nullptr) client_ = calls.access()->ClientOf(*caller);
  permitted_ = Access::Permits(client_.get(), method);
}

}  // namespace coilwright::rpc
