#include "rpc/workers.h"

#include <utility>

namespace coilwright::rpc {

Workers::~Workers() {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  for (std::thread& thread : threads_) thread.join();
}

bool Workers::Post(std::function<void()> work) {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    if (stopping_ || queue_.size() >= queue_limit_) return false;
    queue_.push_back(std::move(work));
    if (idle_ < queue_.size() && threads_.size() < static_cast<size_t>(threads_wanted_))
      threads_.emplace_back([this] { Loop(); });
  }
  wake_.notify_one();
  return true;
}

size_t Workers::waiting() const {
  const std::lock_guard<std::mutex> lock(mutex_);
  return queue_.size();
}

void Workers::Loop() {
  for (;;) {
    std::function<void()> work;
    {
      std::unique_lock<std::mutex> lock(mutex_);
      ++idle_;
      wake_.wait(lock, [this] { return stopping_ || !queue_.empty(); });
      --idle_;
      if (queue_.empty()) return;
      work = std::move(queue_.front());
      queue_.pop_front();
    }
    work();
  }
}

}  // namespace coilwright::rpc
