#include "archive_sizes.h"

#include <chrono>
#include <utility>

namespace coilwright {
namespace {

constexpr std::chrono::milliseconds kPatience(500);

}  // namespace

ArchiveSizes::ArchiveSizes(std::shared_ptr<archive::Archive> archive)
    : archive_(std::move(archive)), thread_([this] { Loop(); }) {}

ArchiveSizes::~ArchiveSizes() {
  Stop();
  thread_.join();
}

void ArchiveSizes::Stop() {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    stopping_ = true;
  }
  changed_.notify_all();
}

ArchiveSizes::Known ArchiveSizes::Read() {
  std::unique_lock<std::mutex> lock(mutex_);
  const uint64_t mine = ++asked_;
  changed_.notify_all();
  const bool told = changed_.wait_for(lock, kPatience, [&] { return told_ >= mine || stopping_; });
  Known known = known_;
  known.answered = told && known.answered;
  return known;
}

void ArchiveSizes::Loop() {
  std::unique_lock<std::mutex> lock(mutex_);
  while (true) {
    changed_.wait(lock, [this] { return stopping_ || asked_ > told_; });
    if (stopping_) return;
    const uint64_t answering = asked_;
    lock.unlock();
    const auto size = archive_->Count();
    const auto bytes = size.ok() ? archive_->Bytes() : absl::StatusOr<int64_t>(size.status());
    lock.lock();
    known_.answered = bytes.ok();
    if (size.ok()) known_.size = *size;
    if (bytes.ok()) known_.bytes = *bytes;
    told_ = answering;
    changed_.notify_all();
  }
}

}  // namespace coilwright
