#include "archive/file_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"

namespace coilwright::archive {
namespace {

std::string Holder(int descriptor) {
  char buffer[32] = {};
  const ssize_t size = pread(descriptor, buffer, sizeof(buffer) - 1, 0);
  const std::string pid(
      absl::StripAsciiWhitespace(absl::string_view(buffer, size > 0 ? static_cast<size_t>(size) : 0)));
  return pid.empty() ? "another process" : absl::StrCat("process ", pid);
}

}  // namespace

absl::StatusOr<std::shared_ptr<const FileLock>> FileLock::Take(const std::string& file) {
  const std::string path = absl::StrCat(file, ".lock");
  const int descriptor = open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  if (descriptor < 0) {
    const int error = errno;
    const std::string text = absl::StrCat("the archive cannot make or write ", path, ": ", std::strerror(error));
    if (error == EACCES || error == EPERM || error == EROFS) {
      return absl::PermissionDeniedError(
          absl::StrCat(text, "; give this user the right to write there, or name another file"));
    }
    if (error == ENOSPC || error == EDQUOT) return absl::ResourceExhaustedError(absl::StrCat(text, "; make room"));
    return absl::UnavailableError(text);
  }
  std::shared_ptr<const FileLock> lock(new FileLock(descriptor));
  if (flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
    if (errno == EWOULDBLOCK) {
      return absl::FailedPreconditionError(
          absl::StrCat("the archive ", file, " is held by ", Holder(descriptor),
                       "; call that one as a server (--server), end it, or name another file"));
    }
    return absl::UnavailableError(absl::StrCat("the archive cannot lock ", path, ": ", std::strerror(errno)));
  }
  // Who holds it is only told to people: a full disk must not keep the archive from being read.
  const std::string pid = absl::StrCat(getpid(), "\n");
  if (ftruncate(descriptor, 0) == 0 && pwrite(descriptor, pid.data(), pid.size(), 0) < 0) errno = 0;
  return lock;
}

FileLock::~FileLock() { close(descriptor_); }

}  // namespace coilwright::archive
