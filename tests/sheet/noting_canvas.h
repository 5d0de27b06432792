#pragma once

#include <memory>
#include <string>
#include <vector>

#include "sheet/canvas.h"

namespace coilwright::sheet {

// A text where it stands on its page: the box of its capitals.
struct NotedText {
  int page = 0;
  std::string text;
  double size_mm = 0;
  double left_mm = 0, top_mm = 0, right_mm = 0, bottom_mm = 0;
};

// Passes everything on to a canvas and notes what was drawn.
class NotingCanvas : public Canvas {
 public:
  explicit NotingCanvas(std::unique_ptr<Canvas> canvas) : canvas_(std::move(canvas)) {}

  void BeginPage(PageSize size) override;
  void Draw(const Path& path, const Stroke* stroke, Fill fill) override;
  // Only upright texts are looked for here.
  void Text(Point at, absl::string_view text, const TextStyle& style) override;
  double WidthMm(absl::string_view text, const TextStyle& style) override { return canvas_->WidthMm(text, style); }
  std::vector<std::string> Lacking() const override { return canvas_->Lacking(); }
  absl::StatusOr<std::vector<std::string>> Finish() override { return canvas_->Finish(); }

  const std::vector<PageSize>& pages() const { return pages_; }
  const std::vector<NotedText>& texts() const { return texts_; }
  // How many texts of a page read so.
  int Count(int page, absl::string_view text) const;
  // Round figures, as wires are drawn, by the greatest width of their outline, on every page.
  int CirclesOf(double diameter_mm) const;

 private:
  std::unique_ptr<Canvas> canvas_;
  std::vector<PageSize> pages_;
  std::vector<NotedText> texts_;
  std::vector<double> circles_mm_;
};

// What is not legible: texts over each other, off the page or too small. Empty where all can be read.
std::vector<std::string> Illegible(const NotingCanvas& canvas);

}  // namespace coilwright::sheet
