#pragma once

#include <string>
#include <vector>

#include "absl/status/status.h"
#include "sheet/canvas.h"
#include "sheet/canvas/fonts.h"
#include "sheet/canvas/typesetter.h"

namespace coilwright::sheet {

// What both formats share: what cannot be drawn is refused here, text is made drawable, and a fill taken apart, so that
// a format only paints what is sound.
class CheckedCanvas : public Canvas {
 public:
  void BeginPage(PageSize size) final;
  void Draw(const Path& path, const Stroke* stroke, Fill fill) final;
  void Text(Point at, absl::string_view text, const TextStyle& style) final;
  double WidthMm(absl::string_view text, const TextStyle& style) final;
  std::vector<std::string> Lacking() const final { return lacking_; }
  absl::StatusOr<std::vector<std::string>> Finish() final;

 protected:
  explicit CheckedCanvas(const Fonts& fonts) : fonts_(fonts), typesetter_(fonts) {}
  const Fonts& fonts() const { return fonts_; }

  virtual void StartPage(PageSize size) = 0;
  virtual void FillFigure(const Path& path, double darkness) = 0;
  // Black lines with round ends, seen within the figure only.
  virtual void DrawWithin(const Path& figure, const Path& lines, double width_mm) = 0;
  virtual void DrawLines(const Path& path, const Stroke& stroke) = 0;
  virtual void DrawText(Point at, const std::string& text, const TextStyle& style, PangoLayout* layout) = 0;
  virtual absl::StatusOr<std::vector<std::string>> Make() = 0;

 private:
  // True where something may be drawn; otherwise the first reason why not is kept for Finish.
  bool Allow(bool sound, absl::string_view reason);

  const Fonts& fonts_;
  Typesetter typesetter_;
  bool began_ = false;
  std::vector<std::string> lacking_;
  absl::Status problem_;
};

}  // namespace coilwright::sheet
