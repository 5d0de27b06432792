#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "sheet/canvas.h"

// What the drawings are made of.
namespace coilwright::sheet {

inline constexpr double kLeastTextMm = 1.8;
inline constexpr double kMarginMm = 10;
inline constexpr double kHeadAndFootMm = 14;  // of a framed page, within the margins

inline const Stroke kThin{0.15, {}, 1};

// A point at an angle and a distance from another.
Point Polar(Point centre, double radius_mm, double degrees);

// Text whose capitals stand centred on a point, upright.
void CentredText(Canvas& canvas, Point at, absl::string_view text, double size_mm, bool bold = false);

// As much of `text` as is no wider than `most_mm`, with an ellipsis where that is not all.
std::string Fitted(Canvas& canvas, absl::string_view text, const TextStyle& style, double most_mm);

// The words of a text, a number together with what it counts: "40 C" is never parted by the end of a line.
std::vector<std::string> WordsOf(absl::string_view text);

// Draws `text` in lines no wider than `width_mm`, cut at spaces, the first on the base line of `at`; `most_lines` at
// most, the last one then with an ellipsis. Returns the base line of the next.
double Paragraph(Canvas& canvas, Point at, absl::string_view text, double size_mm, double width_mm, int most_lines);

// A filled arrow head whose point is at `tip`, looking the way of `degrees`.
void ArrowHead(Canvas& canvas, Point tip, double degrees, double length_mm);

// What current does where it is looked at along the wire: a dot comes towards whoever looks, a cross goes away.
void CurrentMark(Canvas& canvas, Point centre, double diameter_mm, bool away);

// Phases are told apart without colour: by letter, by the line of their coils, by the fill of their coil sides.
char PhaseLetter(int phase);
Stroke PhaseStroke(int phase, double width_mm);
Fill PhaseFill(int phase);

// A page with its title, what it shows, and a foot line; what it returns is left for the drawing.
struct Heading {
  std::string title;          // of the document
  std::string subject;        // "Winding drawing"
  std::string data_revision;  // of tables and rules
  int page = 1, pages = 1;
};
struct Frame {
  double left_mm = 0, top_mm = 0, right_mm = 0, bottom_mm = 0;
  double width_mm() const { return right_mm - left_mm; }
  double height_mm() const { return bottom_mm - top_mm; }
};
Frame BeginFramedPage(Canvas& canvas, PageSize size, const Heading& heading);

}  // namespace coilwright::sheet
