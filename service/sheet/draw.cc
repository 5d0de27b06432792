#include "sheet/draw.h"

#include <cmath>
#include <vector>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "standards/units.h"

namespace coilwright::sheet {
namespace {

using standards::kRadiansPerDegree;

constexpr double kCapitalOverSize = 0.73;
constexpr double kFrameHeadMm = 9, kTitleMm = 4.6, kSubjectMm = 3.2, kFrameFootMm = 2.2;

}  // namespace

Point Polar(Point centre, double radius_mm, double degrees) {
  return {centre.x_mm + radius_mm * std::cos(degrees * kRadiansPerDegree),
          centre.y_mm + radius_mm * std::sin(degrees * kRadiansPerDegree)};
}

void CentredText(Canvas& canvas, Point at, absl::string_view text, double size_mm, bool bold) {
  canvas.Text({at.x_mm, at.y_mm + size_mm * kCapitalOverSize / 2}, text, {size_mm, bold, Anchor::kMiddle, 0, 1});
}

std::string Fitted(Canvas& canvas, absl::string_view text, const TextStyle& style, double most_mm) {
  if (canvas.WidthMm(text, style) <= most_mm) return std::string(text);
  // The longest that fits, cut before a byte that begins a character.
  size_t fits = 0, too_long = text.size();
  const auto cut = [&](size_t bytes) { return absl::StrCat(text.substr(0, bytes), "\u2026"); };
  while (fits + 1 < too_long) {
    const size_t middle = (fits + too_long) / 2;
    (canvas.WidthMm(cut(middle), style) <= most_mm ? fits : too_long) = middle;
  }
  while (fits > 0 && (static_cast<unsigned char>(text[fits]) & 0xC0) == 0x80) --fits;
  return cut(fits);
}

std::vector<std::string> WordsOf(absl::string_view text) {
  constexpr size_t kLongestUnit = 4;
  std::vector<std::string> words;
  bool after_number = false;
  for (const absl::string_view word : absl::StrSplit(text, absl::ByAnyChar(" \n\t\r"), absl::SkipEmpty())) {
    if (after_number && word.size() <= kLongestUnit && !absl::ascii_isdigit(static_cast<unsigned char>(word[0]))) {
      absl::StrAppend(&words.back(), " ", word);
    } else {
      words.emplace_back(word);
    }
    after_number = absl::ascii_isdigit(static_cast<unsigned char>(word.back()));
  }
  return words;
}

double Paragraph(Canvas& canvas, Point at, absl::string_view text, double size_mm, double width_mm, int most_lines) {
  const TextStyle style{size_mm};
  std::vector<std::string> lines(1);
  for (const std::string& word : WordsOf(text)) {
    const std::string longer = lines.back().empty() ? word : absl::StrCat(lines.back(), " ", word);
    if (lines.back().empty() || static_cast<int>(lines.size()) == most_lines ||
        canvas.WidthMm(longer, style) <= width_mm) {
      lines.back() = longer;
    } else {
      lines.emplace_back(word);
    }
  }
  for (const std::string& line : lines) {
    canvas.Text(at, Fitted(canvas, line, style, width_mm), style);
    at.y_mm += 1.4 * size_mm;
  }
  return at.y_mm;
}

void ArrowHead(Canvas& canvas, Point tip, double degrees, double length_mm) {
  const Point end = Polar(tip, -length_mm, degrees);
  canvas.Draw(
      Polyline({tip, Polar(end, 0.36 * length_mm, degrees + 90), Polar(end, 0.36 * length_mm, degrees - 90)}).Close(),
      nullptr, Fill::kBlack);
}

void CurrentMark(Canvas& canvas, Point centre, double diameter_mm, bool away) {
  const Stroke line{0.07 * diameter_mm + 0.04, {}, 1};
  const double radius_mm = diameter_mm / 2;
  canvas.Draw(Circle(centre, radius_mm), &line, Fill::kWhite);
  if (!away) {
    canvas.Draw(Circle(centre, 0.3 * radius_mm), nullptr, Fill::kBlack);
    return;
  }
  for (const double degrees : {45.0, 135.0}) {
    canvas.Draw(Polyline({Polar(centre, radius_mm, degrees), Polar(centre, -radius_mm, degrees)}), &line, Fill::kNone);
  }
}

char PhaseLetter(int phase) { return "UVW"[phase]; }

Stroke PhaseStroke(int phase, double width_mm) {
  static const auto& dashes = *new std::vector<std::vector<double>>{{}, {3.2, 0.9}, {3.4, 0.7, 0.5, 0.7}};
  return {width_mm, dashes[static_cast<size_t>(phase)], 1};
}

Fill PhaseFill(int phase) {
  constexpr Fill kFills[] = {Fill::kWhite, Fill::kHatched, Fill::kDarkGrey};
  return kFills[phase];
}

Frame BeginFramedPage(Canvas& canvas, PageSize size, const Heading& heading) {
  canvas.BeginPage(size);
  const Frame frame{kMarginMm, kMarginMm + kFrameHeadMm, size.width_mm - kMarginMm,
                    size.height_mm - kMarginMm - (kHeadAndFootMm - kFrameHeadMm)};
  const Stroke rule{0.35, {}, 1}, thin{0.15, {}, 1};
  const double base = kMarginMm + 4;
  const std::string subject = heading.subject;
  const double subject_mm = canvas.WidthMm(subject, {kSubjectMm});
  const TextStyle title{kTitleMm, true, Anchor::kStart, 0, 1};
  canvas.Text({frame.left_mm, base}, Fitted(canvas, heading.title, title, frame.width_mm() - subject_mm - 6), title);
  canvas.Text({frame.right_mm, base}, subject, {kSubjectMm, false, Anchor::kEnd, 0, 1});
  canvas.Draw(Polyline({{frame.left_mm, base + 2.2}, {frame.right_mm, base + 2.2}}), &rule, Fill::kNone);
  const double foot = size.height_mm - kMarginMm;
  canvas.Draw(Polyline({{frame.left_mm, foot - 3.2}, {frame.right_mm, foot - 3.2}}), &thin, Fill::kNone);
  canvas.Text({frame.left_mm, foot}, absl::StrCat("Coilwright, data revision ", heading.data_revision), {kFrameFootMm});
  canvas.Text({frame.right_mm, foot}, absl::StrCat("page ", heading.page, " of ", heading.pages),
              {kFrameFootMm, false, Anchor::kEnd, 0, 1});
  return frame;
}

}  // namespace coilwright::sheet
