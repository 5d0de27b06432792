#include "sheet/canvas/fonts.h"
#include "sheet/canvas/pdf_canvas.h"
#include "sheet/canvas/svg_canvas.h"
#include "sheet/load_canvas.h"

// All that is seen of this library from outside: kMakeCanvasName. Both sides are built from one tree, so C++ types may
// cross.
extern "C" __attribute__((visibility("default"))) void CoilwrightMakeCanvas1(
    coilwright::sheet::Format format, absl::string_view title,
    absl::StatusOr<std::unique_ptr<coilwright::sheet::Canvas>>* made) {
  namespace sheet = coilwright::sheet;
  const absl::StatusOr<const sheet::Fonts*> fonts = sheet::Fonts::Get();
  if (!fonts.ok()) {
    *made = fonts.status();
  } else {
    *made = format == sheet::Format::kSvg ? sheet::NewSvgCanvas(**fonts, title) : sheet::NewPdfCanvas(**fonts, title);
  }
}
