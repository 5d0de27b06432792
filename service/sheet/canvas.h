#pragma once

#include <memory>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"

// Pages to draw on, in PDF or SVG. Lengths are millimetres from the upper left corner of the page, y downwards; angles
// are degrees clockwise from the direction of x. Everything is black, grey or white, so that a copier keeps it.
//
// The drawing is done by a library of its own (libcoilwright_canvas) that is loaded by the first document: what it
// needs in turn, Cairo, Pango and some thirty libraries below them, would make every start of the command line 5 ms
// longer.
namespace coilwright::sheet {

enum class Paper { kA4, kLetter };
enum class Format { kPdf, kSvg };

struct Point {
  double x_mm = 0;
  double y_mm = 0;
};

// A figure of lines, arcs and curves, open or closed. What lies within several of its parts is inside if their number
// is odd: a ring is two circles. A line or an arc that comes first moves to its beginning.
struct Path {
  enum class Step { kMove, kLine, kCurve, kClose };
  struct Part {
    Step step = Step::kMove;
    Point to;
    Point first_control, second_control;  // of a curve
  };
  std::vector<Part> parts;

  Path& Move(Point to);
  Path& Line(Point to);
  Path& Curve(Point first_control, Point second_control, Point to);
  // From `from_degrees` to `to_degrees`, clockwise where the second is greater, with a line from the point before.
  Path& Arc(Point centre, double radius_mm, double from_degrees, double to_degrees);
  Path& Close();
};
Path Polyline(const std::vector<Point>& points);
Path Rectangle(Point corner, double width_mm, double height_mm);
Path Circle(Point centre, double radius_mm);

// Darkness is 0 for white to 1 for black.
struct Stroke {
  double width_mm = 0.25;
  std::vector<double> dashes_mm;  // drawn and left out in turn; empty: a full line
  double darkness = 1;
};

// What a closed figure is filled with. Kinds are told apart on any copier.
enum class Fill { kNone, kWhite, kLightGrey, kDarkGrey, kBlack, kHatched, kCrossHatched, kDotted };

enum class Anchor { kStart, kMiddle, kEnd };

struct TextStyle {
  double size_mm = 3;  // of the font: a capital is about 0.73 of it high
  bool bold = false;
  Anchor anchor = Anchor::kStart;  // what of the line stands at the point
  double degrees = 0;              // turned about the point
  double darkness = 1;
};

struct PageSize {
  double width_mm = 0;
  double height_mm = 0;
};
PageSize SizeOf(Paper paper, bool landscape);

class Canvas {
 public:
  virtual ~Canvas() = default;

  // Everything is drawn on the page begun last. One must be begun first.
  virtual void BeginPage(PageSize size) = 0;
  // `stroke` null: no outline. A fill covers what was drawn before, hatched and dotted ones with white between.
  virtual void Draw(const Path& path, const Stroke* stroke, Fill fill) = 0;
  // One line, the point on its base line, whatever the writing direction. What is no UTF-8, a control character (a line
  // break too), an override of the direction or without a glyph is drawn as U+FFFD, never left out; after 1000
  // characters comes an ellipsis.
  virtual void Text(Point at, absl::string_view text, const TextStyle& style) = 0;
  // Width of a line of text, without drawing it.
  virtual double WidthMm(absl::string_view text, const TextStyle& style) = 0;
  // What was drawn as U+FFFD for want of a glyph: each character once, the first few.
  virtual std::vector<std::string> Lacking() const = 0;
  // The document: one file of PDF, or one of SVG for each page. The same calls give the same bytes. Text is text in
  // both and carries its font in it. Nothing may be drawn afterwards. INVALID_ARGUMENT where something was to be drawn
  // with a number that is none, is endless or off any page (10 m), or a darkness outside 0..1; FAILED_PRECONDITION
  // without a page; RESOURCE_EXHAUSTED where it cannot be made.
  virtual absl::StatusOr<std::vector<std::string>> Finish() = 0;
};

// A new document with a title that viewers show. UNAVAILABLE where the canvas library, or its font, is not installed,
// with what to install. Safe from any thread; a canvas belongs to one at a time.
absl::StatusOr<std::unique_ptr<Canvas>> NewCanvas(Format format, absl::string_view title);

}  // namespace coilwright::sheet
