#pragma once

#include <memory>
#include <string>

#include "absl/status/statusor.h"

namespace coilwright::archive {

// Holds a file for this process by an advisory lock on "FILE.lock", which says who holds it and stays behind when it is
// let go: taking it away could let two processes hold two of them. The kernel lets go when the process ends, however it
// ends.
class FileLock {
 public:
  // FAILED_PRECONDITION naming the process that holds it, PERMISSION_DENIED for a folder that cannot be written.
  static absl::StatusOr<std::shared_ptr<const FileLock>> Take(const std::string& file);
  ~FileLock();
  FileLock(const FileLock&) = delete;
  FileLock& operator=(const FileLock&) = delete;

 private:
  explicit FileLock(int descriptor) : descriptor_(descriptor) {}
  int descriptor_;
};

}  // namespace coilwright::archive
