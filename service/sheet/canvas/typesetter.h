#pragma once

#include <pango/pangocairo.h>

#include <memory>
#include <string>

#include "sheet/canvas.h"
#include "sheet/canvas/fonts.h"

namespace coilwright::sheet {

struct Unreference {
  void operator()(void* object) const { g_object_unref(object); }
};
template <typename T>
using Shared = std::unique_ptr<T, Unreference>;

// Sets lines of text, the same on every machine: nothing is fitted to the pixels of a screen or taken from the locale.
class Typesetter {
 public:
  explicit Typesetter(const Fonts& fonts);

  // A line that was Drawable. Its lengths are kUnitsPerMm times as long as on paper, so that rounding does not show.
  static constexpr double kUnitsPerMm = 20;
  Shared<PangoLayout> Set(const std::string& text, const TextStyle& style);
  static double WidthMm(PangoLayout* layout);

 private:
  Shared<PangoFontMap> font_map_;
  Shared<PangoContext> context_;
};

}  // namespace coilwright::sheet
