#include "sheet/load_canvas.h"

#include <dlfcn.h>

#include <filesystem>
#include <string>
#include <system_error>

#include "absl/base/thread_annotations.h"
#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "absl/synchronization/mutex.h"

namespace coilwright::sheet {
namespace {

absl::Status Missing(const std::string& path) {
  const char* reason = dlerror();
  return absl::UnavailableError(absl::StrCat("documents are drawn by the library ", path,
                                             ", which needs Debian's packages libpangocairo-1.0-0 and "
                                             "libharfbuzz-subset0; the loader says: ",
                                             reason == nullptr ? "nothing" : reason));
}

}  // namespace

absl::StatusOr<MakeCanvas> LoadCanvas(const char* library) {
  std::error_code error;  // without /proc the path below is not found, which the loader says
  const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", error);
  const std::string path =
      (program.parent_path().parent_path() / "lib" / "coilwright" / library).lexically_normal().string();
  void* const handle = dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL);
  if (handle == nullptr) return Missing(path);
  void* const function = dlsym(handle, kMakeCanvasName);
  if (function == nullptr) return Missing(path);
  return reinterpret_cast<MakeCanvas>(function);
}

absl::StatusOr<std::unique_ptr<Canvas>> NewCanvas(Format format, absl::string_view title) {
  static absl::Mutex mutex(absl::kConstInit);
  static MakeCanvas make = nullptr;
  {
    // A library that was missing is looked for again: it may have been installed since.
    absl::MutexLock lock(&mutex);
    if (make == nullptr) {
      absl::StatusOr<MakeCanvas> loaded = LoadCanvas(kCanvasLibrary);
      if (!loaded.ok()) return loaded.status();
      make = *loaded;
    }
  }
  absl::StatusOr<std::unique_ptr<Canvas>> made = absl::InternalError("the canvas library made nothing");
  make(format, title, &made);
  return made;
}

}  // namespace coilwright::sheet
