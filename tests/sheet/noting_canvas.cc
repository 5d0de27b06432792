#include "sheet/noting_canvas.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"

namespace coilwright::sheet {
namespace {

constexpr double kLeastTextMm = 1.8;
constexpr double kLeastMarginMm = 5;
constexpr double kCapitalOverSize = 0.73;

bool Meet(const NotedText& one, const NotedText& other) {
  return one.page == other.page && one.left_mm < other.right_mm && other.left_mm < one.right_mm &&
         one.top_mm < other.bottom_mm && other.top_mm < one.bottom_mm;
}

}  // namespace

void NotingCanvas::BeginPage(PageSize size) {
  pages_.push_back(size);
  canvas_->BeginPage(size);
}

void NotingCanvas::Draw(const Path& path, const Stroke* stroke, Fill fill) {
  // A circle is a move, four curves and an end.
  if (path.parts.size() == 6 && path.parts[1].step == Path::Step::kCurve && path.parts[5].step == Path::Step::kClose) {
    circles_mm_.push_back(path.parts[0].to.x_mm - path.parts[2].to.x_mm);
  }
  canvas_->Draw(path, stroke, fill);
}

void NotingCanvas::Text(Point at, absl::string_view text, const TextStyle& style) {
  canvas_->Text(at, text, style);
  const double width_mm = WidthMm(text, style);
  const double left_mm = at.x_mm - (style.anchor == Anchor::kStart ? 0
                                    : style.anchor == Anchor::kEnd ? width_mm
                                                                   : width_mm / 2);
  texts_.push_back({static_cast<int>(pages_.size()), std::string(text), style.size_mm, left_mm,
                    at.y_mm - kCapitalOverSize * style.size_mm, left_mm + width_mm, at.y_mm});
}

int NotingCanvas::Count(int page, absl::string_view text) const {
  return static_cast<int>(std::count_if(
      texts_.begin(), texts_.end(), [&](const NotedText& noted) { return noted.page == page && noted.text == text; }));
}

int NotingCanvas::CirclesOf(double diameter_mm) const {
  return static_cast<int>(std::count_if(circles_mm_.begin(), circles_mm_.end(),
                                        [&](double circle_mm) { return std::abs(circle_mm - diameter_mm) < 1e-6; }));
}

std::vector<std::string> Illegible(const NotingCanvas& canvas) {
  std::vector<std::string> found;
  const std::vector<NotedText>& texts = canvas.texts();
  for (size_t i = 0; i < texts.size(); ++i) {
    const NotedText& text = texts[i];
    const std::string name =
        absl::StrCat("page ", text.page, " \"", text.text, "\" at ", text.left_mm, ", ", text.bottom_mm);
    const PageSize& page = canvas.pages()[static_cast<size_t>(text.page - 1)];
    if (text.size_mm < kLeastTextMm - 1e-9) found.push_back(absl::StrCat(name, " is ", text.size_mm, " mm small"));
    if (text.left_mm < kLeastMarginMm || text.right_mm > page.width_mm - kLeastMarginMm ||
        text.top_mm < kLeastMarginMm || text.bottom_mm > page.height_mm - kLeastMarginMm) {
      found.push_back(absl::StrCat(name, " stands off the page"));
    }
    for (size_t j = 0; j < i; ++j) {
      if (Meet(text, texts[j])) found.push_back(absl::StrCat(name, " stands over \"", texts[j].text, "\""));
    }
  }
  return found;
}

}  // namespace coilwright::sheet
