#pragma once

#include <memory>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "sheet/canvas.h"

namespace coilwright::sheet {

// The one function of the canvas library, and its name there. The number goes up with every change of canvas.h, so that
// a library left over from another version is not found in place of ours.
using MakeCanvas = void (*)(Format format, absl::string_view title, absl::StatusOr<std::unique_ptr<Canvas>>* made);
inline constexpr char kMakeCanvasName[] = "CoilwrightMakeCanvas1";
inline constexpr char kCanvasLibrary[] = "libcoilwright_canvas.so";

// Loads a library from lib/coilwright beside the folder this program stands in, and from nowhere else: neither a search
// path nor the environment has a say. UNAVAILABLE where it, or what it needs, is missing. It is never unloaded.
absl::StatusOr<MakeCanvas> LoadCanvas(const char* library);

}  // namespace coilwright::sheet
