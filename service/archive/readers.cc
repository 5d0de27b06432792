#include "archive/readers.h"

namespace coilwright::archive {

absl::StatusOr<std::unique_ptr<Database>> Readers::Borrow() {
  {
    std::unique_lock<std::mutex> lock(mutex_);
    returned_.wait(lock, [&] { return lent_ < options_.readers; });
    ++lent_;
    if (!idle_.empty()) {
      std::unique_ptr<Database> db = std::move(idle_.back());
      idle_.pop_back();
      return db;
    }
  }
  return open_();
}

void Readers::GiveBack(std::unique_ptr<Database> db) {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    --lent_;
    if (db != nullptr) idle_.push_back(std::move(db));
  }
  returned_.notify_one();
}

}  // namespace coilwright::archive
