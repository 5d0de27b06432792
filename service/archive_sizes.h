#pragma once

#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <thread>

#include "archive/archive.h"

namespace coilwright {

// How much an archive holds, for whoever watches it: asked of the store by a thread of its own, so that a store that is
// away holds up nobody. Safe from any thread.
class ArchiveSizes {
 public:
  struct Known {
    bool answered = false;  // the store, just now
    archive::Size size;     // as it last answered
    int64_t bytes = 0;
  };

  explicit ArchiveSizes(std::shared_ptr<archive::Archive> archive);
  // Waits for an answer that is under way.
  ~ArchiveSizes();
  ArchiveSizes(const ArchiveSizes&) = delete;
  ArchiveSizes& operator=(const ArchiveSizes&) = delete;

  // Asks, and waits half a second at most.
  Known Read();
  // Nothing is asked any more.
  void Stop();

 private:
  void Loop();

  const std::shared_ptr<archive::Archive> archive_;
  std::mutex mutex_;
  std::condition_variable changed_;
  Known known_;
  uint64_t asked_ = 0, told_ = 0;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace coilwright
