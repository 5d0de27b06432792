#pragma once

#include <algorithm>
#include <chrono>
#include <thread>

#include "absl/status/status.h"
#include "absl/strings/str_cat.h"

namespace coilwright::archive {

// Pauses between tries of a store that is away: short ones first, up to half a second, until patience ends.
class Pause {
 public:
  explicit Pause(std::chrono::milliseconds patience) : end_(Clock::now() + patience) {}
  // False, without a pause, when patience has ended.
  bool Once() {
    if (Clock::now() >= end_) return false;
    std::this_thread::sleep_for(next_);
    next_ = std::min(next_ * 2, std::chrono::milliseconds(500));
    return true;
  }

 private:
  using Clock = std::chrono::steady_clock;
  const Clock::time_point end_;
  std::chrono::milliseconds next_{10};
};

// The store was away, or another writer came between.
inline bool WorthAnotherTry(const absl::Status& status) {
  return absl::IsUnavailable(status) || absl::IsAborted(status);
}

// A failure of the store as a caller is told it: RESOURCE_EXHAUSTED is kept for too many calls, ABORTED for a change
// that somebody else was quicker with.
inline absl::Status AsTold(const absl::Status& status) {
  if (absl::IsResourceExhausted(status) || absl::IsAborted(status)) return absl::UnavailableError(status.message());
  return status;
}

}  // namespace coilwright::archive
