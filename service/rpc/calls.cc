#include "rpc/calls.h"

#include <numeric>

namespace coilwright::rpc {

uint64_t MethodFigures::in_flight() const {
  const uint64_t all = std::accumulate(ended.begin(), ended.end(), uint64_t{0});
  return started > all ? started - all : 0;
}

std::vector<MethodFigures> Calls::Figures() const {
  const std::vector<MethodEntry>& methods = MethodTable();
  std::vector<MethodFigures> figures(methods.size());
  for (size_t i = 0; i < methods.size(); ++i) {
    const Counts& counts = counts_[i];
    MethodFigures& out = figures[i];
    out.method = &methods[i];
    for (size_t code = 0; code < kStatusCodes; ++code) out.ended[code] = counts.ended[code];
    // After those that ended, so that no call has ended that did not start.
    out.started = counts.started;
    out.times = counts.times.Read();
    out.received = counts.received;
    out.sent = counts.sent;
  }
  return figures;
}

Call::Call(Calls& calls, const MethodEntry& method, const grpc::CallbackServerContext& context)
    : method_(&method),
      context_(&context),
      counts_(&calls.counts_[static_cast<size_t>(&method - MethodTable().data())]),
      log_(calls.log_.get()),
      began_(std::chrono::steady_clock::now()) {
  counts_->started.fetch_add(1, std::memory_order_relaxed);
  if (calls.access_ == nullptr) return;
  if (const auto caller = context.auth_context(); caller != nullptr) client_ = calls.access_->ClientOf(*caller);
  permitted_ = Access::Permits(client_.get(), method);
}

void Call::End(const grpc::Status& status) const {
  const std::chrono::nanoseconds took = std::chrono::steady_clock::now() - began_;
  const size_t code = static_cast<size_t>(status.error_code());
  if (!method_->stream) counts_->times.Add(took);
  // Last, with what was counted before it: who reads these sees the rest as well.
  counts_->ended[code < kStatusCodes ? code : static_cast<size_t>(grpc::StatusCode::UNKNOWN)].fetch_add(1);
  if (log_ == nullptr || !log_->Takes(status.error_code())) return;
  LoggedCall logged;
  logged.ended = std::chrono::system_clock::now();
  logged.method = method_->name;
  logged.client = client_;
  logged.peer = context_->peer();
  logged.code = status.error_code();
  logged.took = took;
  logged.stream = method_->stream;
  logged.in = in_;
  logged.out = out_;
  log_->Add(std::move(logged));
}

}  // namespace coilwright::rpc
