#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>

namespace coilwright::archive {

// How long things took, counted in steps. Safe from any thread; adding never waits.
class Timings {
 public:
  // Upper ends of the steps; what took longer is counted after the last.
  static constexpr std::array<double, 16> kSeconds = {1e-4, 2.5e-4, 5e-4,   1e-3, 2.5e-3, 5e-3, 1e-2, 2.5e-2,
                                                      5e-2, 1e-1,   2.5e-1, 5e-1, 1,      2.5,  5,    10};

  struct Counted {
    std::array<uint64_t, kSeconds.size() + 1> steps{};  // each for itself, not added up
    double seconds = 0;                                 // of all together
  };

  void Add(std::chrono::steady_clock::duration took) {
    const int64_t nanoseconds = std::chrono::duration_cast<std::chrono::nanoseconds>(took).count();
    size_t step = 0;
    while (step < kSeconds.size() && static_cast<double>(nanoseconds) > 1e9 * kSeconds[step]) ++step;
    steps_[step].fetch_add(1, std::memory_order_relaxed);
    nanoseconds_.fetch_add(nanoseconds, std::memory_order_relaxed);
  }

  Counted Read() const {
    Counted counted;
    for (size_t i = 0; i < steps_.size(); ++i) counted.steps[i] = steps_[i].load(std::memory_order_relaxed);
    counted.seconds = 1e-9 * static_cast<double>(nanoseconds_.load(std::memory_order_relaxed));
    return counted;
  }

 private:
  std::array<std::atomic<uint64_t>, kSeconds.size() + 1> steps_{};
  std::atomic<int64_t> nanoseconds_{0};
};

}  // namespace coilwright::archive
