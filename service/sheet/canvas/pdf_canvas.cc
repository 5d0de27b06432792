#include "sheet/canvas/pdf_canvas.h"

#include <cairo-pdf.h>

#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "sheet/canvas/checked_canvas.h"
#include "standards/units.h"

namespace coilwright::sheet {
namespace {

using standards::kRadiansPerDegree;

constexpr double kPointsPerMm = 72 / 25.4;

cairo_status_t Append(void* bytes, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

class PdfCanvas : public CheckedCanvas {
 public:
  PdfCanvas(const Fonts& fonts, const std::string& title)
      : CheckedCanvas(fonts), surface_(cairo_pdf_surface_create_for_stream(Append, &bytes_, 1, 1)) {
    cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_TITLE, title.c_str());
    cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_CREATOR, "Coilwright");
    // Left out: with the time of day no document would be the same twice.
    cairo_pdf_surface_set_metadata(surface_, CAIRO_PDF_METADATA_CREATE_DATE, "");
    context_ = cairo_create(surface_);
    cairo_scale(context_, kPointsPerMm, kPointsPerMm);
    cairo_set_fill_rule(context_, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_set_line_join(context_, CAIRO_LINE_JOIN_ROUND);
  }

  ~PdfCanvas() override {
    cairo_destroy(context_);
    cairo_surface_destroy(surface_);
  }

  PdfCanvas(const PdfCanvas&) = delete;
  PdfCanvas& operator=(const PdfCanvas&) = delete;

 private:
  void StartPage(PageSize size) override {
    if (pages_++ > 0) cairo_show_page(context_);
    cairo_pdf_surface_set_size(surface_, size.width_mm * kPointsPerMm, size.height_mm * kPointsPerMm);
  }

  void FillFigure(const Path& path, double darkness) override {
    Trace(path);
    SetDarkness(darkness);
    cairo_fill(context_);
  }

  void DrawWithin(const Path& figure, const Path& lines, double width_mm) override {
    cairo_save(context_);
    Trace(figure);
    cairo_clip(context_);
    cairo_set_line_cap(context_, CAIRO_LINE_CAP_ROUND);
    DrawLines(lines, {width_mm, {}, 1});
    cairo_restore(context_);
  }

  void DrawLines(const Path& path, const Stroke& stroke) override {
    Trace(path);
    SetDarkness(stroke.darkness);
    cairo_set_line_width(context_, stroke.width_mm);
    cairo_set_dash(context_, stroke.dashes_mm.data(), static_cast<int>(stroke.dashes_mm.size()), 0);
    cairo_stroke(context_);
  }

  void DrawText(Point at, const std::string&, const TextStyle& style, PangoLayout* layout) override {
    const double width_mm = Typesetter::WidthMm(layout);
    const double back_mm = style.anchor == Anchor::kStart ? 0 : style.anchor == Anchor::kEnd ? width_mm : width_mm / 2;
    cairo_save(context_);
    cairo_translate(context_, at.x_mm, at.y_mm);
    cairo_rotate(context_, style.degrees * kRadiansPerDegree);
    cairo_translate(context_, -back_mm, 0);
    cairo_scale(context_, 1 / Typesetter::kUnitsPerMm, 1 / Typesetter::kUnitsPerMm);
    SetDarkness(style.darkness);
    cairo_move_to(context_, 0, 0);
    pango_cairo_show_layout_line(context_, pango_layout_get_line_readonly(layout, 0));
    cairo_restore(context_);
    cairo_new_path(context_);
  }

  absl::StatusOr<std::vector<std::string>> Make() override {
    cairo_show_page(context_);
    cairo_surface_finish(surface_);
    for (const cairo_status_t status : {cairo_status(context_), cairo_surface_status(surface_)}) {
      if (status != CAIRO_STATUS_SUCCESS) {
        return absl::ResourceExhaustedError(
            absl::StrCat("the document cannot be made: ", cairo_status_to_string(status)));
      }
    }
    return std::vector<std::string>{std::move(bytes_)};
  }

  void Trace(const Path& path) {
    cairo_new_path(context_);
    for (const Path::Part& part : path.parts) {
      switch (part.step) {
        case Path::Step::kMove:
          cairo_move_to(context_, part.to.x_mm, part.to.y_mm);
          break;
        case Path::Step::kLine:
          cairo_line_to(context_, part.to.x_mm, part.to.y_mm);
          break;
        case Path::Step::kCurve:
          cairo_curve_to(context_, part.first_control.x_mm, part.first_control.y_mm, part.second_control.x_mm,
                         part.second_control.y_mm, part.to.x_mm, part.to.y_mm);
          break;
        case Path::Step::kClose:
          cairo_close_path(context_);
          break;
      }
    }
  }

  void SetDarkness(double darkness) { cairo_set_source_rgb(context_, 1 - darkness, 1 - darkness, 1 - darkness); }

  std::string bytes_;
  cairo_surface_t* surface_;
  cairo_t* context_;
  int pages_ = 0;
};

}  // namespace

std::unique_ptr<Canvas> NewPdfCanvas(const Fonts& fonts, absl::string_view title) {
  return std::make_unique<PdfCanvas>(fonts, fonts.Drawable(title, false));
}

}  // namespace coilwright::sheet
