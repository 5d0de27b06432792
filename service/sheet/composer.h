#pragma once

#include <functional>
#include <string>
#include <vector>

#include "sheet/document.h"

// The blocks of a document as pieces that stand under each other.
namespace coilwright::sheet {

using LinesOfText = std::vector<std::string>;

// What is never parted by the end of a page.
struct Piece {
  double height_mm = 0;
  std::function<void(Point)> draw;
  bool keeps_next = false;           // a heading stays with what it is over
  std::function<void(Point)> again;  // heading of its table, drawn anew where a page begins with this piece
  double again_mm = 0;
};
using Pieces = std::vector<Piece>;

double HeightOf(const Pieces& pieces);

// Parts that fit any page, a label's too: what is longer than one piece. At least one part.
std::vector<LinesOfText> Parts(const LinesOfText& lines);

inline constexpr double kLineSpacing = 1.32;  // from line to line, of the size of the text

// Sets text at one size on one canvas; the pieces it makes draw on that canvas, and go before it.
class Composer {
 public:
  Composer(Canvas& canvas, double scale);

  double body() const { return body_; }

  // Lines no wider than `width`, broken at blanks, and within a word that is wider by itself. How many words fit is
  // guessed by their length first: measuring is what a document costs.
  LinesOfText Wrap(const std::string& text, const TextStyle& style, double width) const;

  Pieces Compose(const Block& block, double width);

 private:
  size_t Fitting(const std::string& word, const TextStyle& style, double width) const;
  void Lines(const LinesOfText& lines, Point at, double width, const TextStyle& style);
  double HeightOfLines(size_t lines, const TextStyle& style) const;
  std::vector<double> Widths(const Table& table, double width, const TextStyle& head, const TextStyle& cell) const;
  void Add(const Facts& facts, double width, Pieces* pieces);
  void Add(const List& list, double width, Pieces* pieces);
  void Add(const Plot& plot, double width, Pieces* pieces);
  void Add(const Drawing& drawing, double width, Pieces* pieces);
  void Add(const Table& table, double width, Pieces* pieces);

  Canvas& canvas_;
  double body_;
};

}  // namespace coilwright::sheet
