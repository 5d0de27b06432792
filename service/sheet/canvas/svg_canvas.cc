#include "sheet/canvas/svg_canvas.h"

#include <cmath>
#include <string>
#include <vector>

#include "absl/strings/escaping.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "sheet/canvas/checked_canvas.h"
#include "sheet/canvas/subset.h"

namespace coilwright::sheet {
namespace {

// With three digits after the point at most, the same in every locale. |value| is below 10^12.
std::string Number(double value) {
  const int64_t thousandths = std::llround(value * 1000);
  const int64_t positive = std::abs(thousandths);
  std::string text = absl::StrCat(thousandths < 0 ? "-" : "", positive / 1000);
  if (positive % 1000 != 0) {
    absl::StrAppend(&text, ".", absl::Dec(positive % 1000, absl::kZeroPad3));
    while (text.back() == '0') text.pop_back();
  }
  return text;
}

std::string Place(Point point) { return absl::StrCat(Number(point.x_mm), " ", Number(point.y_mm)); }

std::string Grey(double darkness) {
  const int level = static_cast<int>(std::lround(255 * (1 - darkness)));
  return absl::StrCat("#", absl::Hex(level * 0x10101, absl::kZeroPad6));
}

std::string Escaped(absl::string_view text) {
  return absl::StrReplaceAll(text, {{"&", "&amp;"}, {"<", "&lt;"}, {">", "&gt;"}, {"\"", "&quot;"}});
}

std::string Data(const Path& path) {
  std::string data;
  for (const Path::Part& part : path.parts) {
    switch (part.step) {
      case Path::Step::kMove:
        absl::StrAppend(&data, "M", Place(part.to));
        break;
      case Path::Step::kLine:
        absl::StrAppend(&data, "L", Place(part.to));
        break;
      case Path::Step::kCurve:
        absl::StrAppend(&data, "C", Place(part.first_control), " ", Place(part.second_control), " ", Place(part.to));
        break;
      case Path::Step::kClose:
        data.append("Z");
        break;
    }
  }
  return data;
}

struct Page {
  PageSize size;
  std::string elements;
  std::string characters[2];  // drawn upright and bold
  int clips = 0;
};

class SvgCanvas : public CheckedCanvas {
 public:
  SvgCanvas(const Fonts& fonts, std::string title) : CheckedCanvas(fonts), title_(std::move(title)) {}

 private:
  void StartPage(PageSize size) override { pages_.push_back({size, {}, {}}); }

  void FillFigure(const Path& path, double darkness) override {
    absl::StrAppend(&Elements(), "<path fill=\"", Grey(darkness), "\" d=\"", Data(path), "\"/>\n");
  }

  void DrawWithin(const Path& figure, const Path& lines, double width_mm) override {
    const int clip = ++pages_.back().clips;
    absl::StrAppend(&Elements(), "<clipPath id=\"c", clip, "\"><path clip-rule=\"evenodd\" d=\"", Data(figure),
                    "\"/></clipPath>\n<path clip-path=\"url(#c", clip, ")\" fill=\"none\" stroke=\"#000000\" ",
                    "stroke-linecap=\"round\" stroke-width=\"", Number(width_mm), "\" d=\"", Data(lines), "\"/>\n");
  }

  void DrawLines(const Path& path, const Stroke& stroke) override {
    std::string& elements = Elements();
    absl::StrAppend(&elements, "<path fill=\"none\" stroke=\"", Grey(stroke.darkness), "\" stroke-width=\"",
                    Number(stroke.width_mm), "\"");
    for (size_t i = 0; i < stroke.dashes_mm.size(); ++i) {
      absl::StrAppend(&elements, i == 0 ? " stroke-dasharray=\"" : " ", Number(stroke.dashes_mm[i]));
    }
    absl::StrAppend(&elements, stroke.dashes_mm.empty() ? "" : "\"", " d=\"", Data(path), "\"/>\n");
  }

  void DrawText(Point at, const std::string& text, const TextStyle& style, PangoLayout*) override {
    pages_.back().characters[style.bold].append(text);
    std::string& elements = Elements();
    absl::StrAppend(&elements, "<text x=\"", Number(at.x_mm), "\" y=\"", Number(at.y_mm), "\" font-size=\"",
                    Number(style.size_mm), "\"");
    if (style.bold) absl::StrAppend(&elements, " font-weight=\"bold\"");
    if (style.anchor != Anchor::kStart) {
      absl::StrAppend(&elements, " text-anchor=\"", style.anchor == Anchor::kEnd ? "end" : "middle", "\"");
    }
    if (style.darkness != 1) absl::StrAppend(&elements, " fill=\"", Grey(style.darkness), "\"");
    const double degrees = std::remainder(style.degrees, 360);
    if (degrees != 0) absl::StrAppend(&elements, " transform=\"rotate(", Number(degrees), " ", Place(at), ")\"");
    absl::StrAppend(&elements, ">", Escaped(text), "</text>\n");
  }

  absl::StatusOr<std::vector<std::string>> Make() override {
    std::vector<std::string> files;
    for (const Page& page : pages_) {
      const std::string width = Number(page.size.width_mm);
      const std::string height = Number(page.size.height_mm);
      std::string file =
          absl::StrCat("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"",
                       width, "mm\" height=\"", height, "mm\" viewBox=\"0 0 ", width, " ", height, "\">\n<title>",
                       Escaped(title_), "</title>\n<style>\ntext{white-space:pre}\n");
      for (const bool bold : {false, true}) {
        if (page.characters[bold].empty()) continue;
        absl::StatusOr<std::string> font = Subset(fonts().face(bold), page.characters[bold]);
        if (!font.ok()) return font.status();
        absl::StrAppend(&file, "@font-face{font-family:\"", kFamily, "\";font-weight:", bold ? "bold" : "normal",
                        ";src:url(data:font/ttf;base64,", absl::Base64Escape(*font), ")}\n");
      }
      absl::StrAppend(&file, "</style>\n<rect width=\"", width, "\" height=\"", height,
                      "\" fill=\"#ffffff\"/>\n<g font-family=\"'", kFamily,
                      "',sans-serif\" fill-rule=\"evenodd\" stroke-linejoin=\"round\" xml:space=\"preserve\">\n",
                      page.elements, "</g>\n</svg>\n");
      files.push_back(std::move(file));
    }
    return files;
  }

  std::string& Elements() { return pages_.back().elements; }

  std::string title_;
  std::vector<Page> pages_;
};

}  // namespace

std::unique_ptr<Canvas> NewSvgCanvas(const Fonts& fonts, absl::string_view title) {
  return std::make_unique<SvgCanvas>(fonts, fonts.Drawable(title, false));
}

}  // namespace coilwright::sheet
