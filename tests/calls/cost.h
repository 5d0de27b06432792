#pragma once

#include <time.h>

#include <algorithm>
#include <array>
#include <memory>

#include "calls/samples.h"

namespace coilwright::calls {

// Of this thread alone: other work on the machine counts as little as it can.
inline double ProcessorSeconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

// What one call may cost: so many plans of the demo motor (half a millisecond each on the machine it was set on). Cost
// is told in plans measured in the same run, so that a slow, shared or sanitized machine does not decide.
inline constexpr double kMostPlans = 500;

inline double PlanSeconds() {
  static const double median = [] {
    v1::PlanRewindRequest request;
    *request.mutable_record() = DemoRecord();
    std::array<double, 15> seconds{};
    for (double& one : seconds) {
      v1::PlanRewindResponse answer;
      const double start = ProcessorSeconds();
      Named("PlanRewind").body(request, &answer);
      one = ProcessorSeconds() - start;
    }
    std::nth_element(seconds.begin(), seconds.begin() + 7, seconds.end());
    return seconds[7];
  }();
  return median;
}

}  // namespace coilwright::calls
