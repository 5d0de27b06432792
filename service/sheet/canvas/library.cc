#include "sheet/canvas/fonts.h"
#include "sheet/canvas/pdf_canvas.h"
#include "sheet/canvas/svg_canvas.h"
#include "sheet/load_canvas.h"

// All that is seen of this library from outside. Both sides are built from one tree, so C++ types may cross; the name
// is that of kMakeCanvasName.
extern "C" __attribute__((visibility("default"))) absl::StatusOr<std::unique_ptr<coilwright::sheet::Canvas>>
coilwright_make_canvas_1(coilwright::sheet::Format format, absl::string_view title) {
  namespace sheet = coilwright::sheet;
  absl::StatusOr<const sheet::Fonts*> fonts = sheet::Fonts::Get();
  if (!fonts.ok()) return fonts.status();
  return format == sheet::Format::kSvg ? sheet::NewSvgCanvas(**fonts, title) : sheet::NewPdfCanvas(**fonts, title);
}
