#pragma once

#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace coilwright::rpc {

// A few threads behind a bounded queue, for work too long for a gRPC thread. A thread starts when work comes for which
// none is free, so that a process that never needs them does not pay. Safe from any thread.
class Workers {
 public:
  Workers(int threads, size_t queue_limit) : threads_wanted_(threads), queue_limit_(queue_limit) {}
  // Finishes what is queued.
  ~Workers();
  Workers(const Workers&) = delete;
  Workers& operator=(const Workers&) = delete;

  // False when the queue is full or the workers are stopping; the work is then dropped.
  bool Post(std::function<void()> work);
  // What waits now, and the most that may.
  size_t waiting() const;
  size_t queue_limit() const { return queue_limit_; }

 private:
  void Loop();
  const int threads_wanted_;
  const size_t queue_limit_;
  mutable std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<std::function<void()>> queue_;
  std::vector<std::thread> threads_;
  size_t idle_ = 0;
  bool stopping_ = false;
};

}  // namespace coilwright::rpc
