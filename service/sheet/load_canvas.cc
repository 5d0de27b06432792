#include "sheet/load_canvas.h"

#include <dlfcn.h>

#include "absl/base/thread_annotations.h"
#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "absl/synchronization/mutex.h"

namespace coilwright::sheet {
namespace {

absl::Status Missing(const char* library) {
  const char* reason = dlerror();
  return absl::UnavailableError(
      absl::StrCat("documents are drawn by ", library,
                   ", which belongs into lib/coilwright beside the folder of this program and needs "
                   "Debian's packages libpangocairo-1.0-0 and libharfbuzz-subset0; the loader says: ",
                   reason == nullptr ? "nothing" : reason));
}

}  // namespace

absl::StatusOr<MakeCanvas> LoadCanvas(const char* library) {
  void* const handle = dlopen(library, RTLD_NOW | RTLD_LOCAL);
  if (handle == nullptr) return Missing(library);
  void* const function = dlsym(handle, kMakeCanvasName);
  if (function == nullptr) return Missing(library);
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
  return make(format, title);
}

}  // namespace coilwright::sheet
