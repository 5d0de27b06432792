#include "sheet/composer.h"

#include <algorithm>
#include <numeric>

#include "absl/strings/str_join.h"
#include "sheet/draw.h"

namespace coilwright::sheet {
namespace {

constexpr double kBodyMm = 2.9;
constexpr size_t kMostLines = 10;                             // of one piece
constexpr double kLeastOverSize = 0.27, kMostOverSize = 1.1;  // width of a byte, narrow and wide letters
constexpr size_t kMostMeasured = 1000;                        // characters; no line holds more

}  // namespace

double HeightOf(const Pieces& pieces) {
  double height = 0;
  for (const Piece& piece : pieces) height += piece.height_mm;
  return height;
}

// Parts of at most kMostLines each, at least one.
std::vector<LinesOfText> Parts(const LinesOfText& lines) {
  std::vector<LinesOfText> parts(1);
  for (const std::string& line : lines) {
    if (parts.back().size() == kMostLines) parts.emplace_back();
    parts.back().push_back(line);
  }
  return parts;
}

Composer::Composer(Canvas& canvas, double scale) : canvas_(canvas), body_(kBodyMm * scale) {}

LinesOfText Composer::Wrap(const std::string& text, const TextStyle& style, double width) const {
  LinesOfText lines;
  std::vector<std::string> words = WordsOf(text);
  const double least_byte_mm = kLeastOverSize * style.size_mm;
  double byte_mm = 2 * least_byte_mm;
  for (size_t first = 0; first < words.size();) {
    const auto joined = [&](size_t last) { return absl::StrJoin(&words[first], &words[0] + last, " "); };
    const auto fits = [&](size_t last) {
      const std::string line = joined(last);
      const double mm = canvas_.WidthMm(line, style);
      byte_mm = std::max(least_byte_mm, mm / static_cast<double>(line.size()));
      return mm <= width;
    };
    size_t last = first + 1;
    for (size_t bytes = words[first].size(); last < words.size(); ++last) {
      bytes += 1 + words[last].size();
      if (static_cast<double>(bytes) * byte_mm > width) break;
    }
    if (fits(last)) {
      while (last < words.size() && fits(last + 1)) ++last;
    } else {
      while (last > first + 1 && !fits(last - 1)) --last;
      last = std::max(last - 1, first + 1);
    }
    const size_t fitting = last == first + 1 ? Fitting(words[first], style, width) : words[first].size();
    if (fitting < words[first].size()) {
      lines.push_back(words[first].substr(0, fitting));
      words[first].erase(0, fitting);
    } else {
      lines.push_back(joined(last));
      first = last;
    }
  }
  if (lines.empty()) lines.emplace_back();
  return lines;
}

Pieces Composer::Compose(const Block& block, double width) {
  Pieces pieces;
  if (!block.heading.empty()) {
    const TextStyle style{1.16 * body_, true};
    pieces.push_back({2.5 * body_,
                      [this, style, width, heading = block.heading](Point at) {
                        canvas_.Text({at.x_mm, at.y_mm + 1.7 * body_}, heading, style);
                        const Stroke rule{0.2, {}, 1};
                        const double y = at.y_mm + 2.1 * body_;
                        canvas_.Draw(Polyline({{at.x_mm, y}, {at.x_mm + width, y}}), &rule, Fill::kNone);
                      },
                      true, nullptr, 0});
  }
  if (block.heading.empty()) pieces.push_back({0.8 * body_, [](Point) {}, true, nullptr, 0});
  std::visit([&](const auto& content) { Add(content, width, &pieces); }, block.content);
  return pieces;
}

// How many bytes of a word fit, at least one character; better up to a mark within it than in the middle of a name.
size_t Composer::Fitting(const std::string& word, const TextStyle& style, double width) const {
  if (word.size() <= kMostMeasured && canvas_.WidthMm(word, style) <= width) return word.size();
  std::vector<size_t> ends;  // of its characters
  for (size_t end = 1; end <= word.size() && ends.size() < kMostMeasured; ++end) {
    if (end == word.size() || (word[end] & 0xC0) != 0x80) ends.push_back(end);
  }
  size_t fits = 0, too_long = ends.size();
  while (fits + 1 < too_long) {
    const size_t middle = (fits + too_long) / 2;
    (canvas_.WidthMm(word.substr(0, ends[middle]), style) <= width ? fits : too_long) = middle;
  }
  const size_t mark = word.find_last_of("._/-", ends[fits] - 1);
  return mark == std::string::npos ? ends[fits] : mark + 1;
}

// Lines of text as one piece; a value to be written is a rule.
void Composer::Lines(const LinesOfText& lines, Point at, double width, const TextStyle& style) {
  for (size_t i = 0; i < lines.size(); ++i) {
    const double y = at.y_mm + (static_cast<double>(i) + 0.95) * kLineSpacing * style.size_mm;
    if (lines[i] == kToWrite) {
      const Stroke rule{0.15, {}, 0.7};
      canvas_.Draw(Polyline({{at.x_mm, y}, {at.x_mm + width, y}}), &rule, Fill::kNone);
      continue;
    }
    const double x = style.anchor == Anchor::kEnd ? at.x_mm + width : at.x_mm;
    canvas_.Text({x, y}, lines[i], style);
  }
}

double Composer::HeightOfLines(size_t lines, const TextStyle& style) const {
  return static_cast<double>(lines) * kLineSpacing * style.size_mm;
}

void Composer::Add(const Facts& facts, double width, Pieces* pieces) {
  const TextStyle name{body_, false, Anchor::kStart, 0, 0.75};
  const TextStyle value{body_};
  double names = 0;
  for (const auto& [what, is] : facts.pairs) {
    if (!is.empty()) names = std::max(names, canvas_.WidthMm(what, name));
  }
  names = std::min(names, 0.45 * width);
  const double gap = 1.2 * body_;
  for (const auto& [what, is] : facts.pairs) {
    if (is.empty()) continue;
    const std::vector<LinesOfText> left = Parts(Wrap(what, name, names));
    const std::vector<LinesOfText> right = Parts(Wrap(is, value, width - names - gap));
    const bool to_write = is == kToWrite;
    const double down = to_write ? 0.8 * body_ : 0;
    for (size_t i = 0; i < std::max(left.size(), right.size()); ++i) {
      const LinesOfText beside = i < left.size() ? left[i] : LinesOfText();
      const LinesOfText part = i < right.size() ? right[i] : LinesOfText();
      pieces->push_back({HeightOfLines(std::max(beside.size(), part.size()), value) + down + 0.1 * body_,
                         [=](Point at) {
                           Lines(beside, {at.x_mm, at.y_mm + down}, names, name);
                           Lines(part, {at.x_mm + names + gap, at.y_mm + down}, width - names - gap, value);
                         },
                         false, nullptr, 0});
    }
  }
}

void Composer::Add(const List& list, double width, Pieces* pieces) {
  const TextStyle style{body_};
  const double indent = list.mark.empty() ? 0 : canvas_.WidthMm(list.mark, style) + 0.7 * body_;
  for (const std::string& item : list.items) {
    LinesOfText mark = {list.mark};
    for (const LinesOfText& part : Parts(Wrap(item, style, width - indent))) {
      pieces->push_back({HeightOfLines(part.size(), style),
                         [=](Point at) {
                           Lines(mark, at, indent, style);
                           Lines(part, {at.x_mm + indent, at.y_mm}, width - indent, style);
                         },
                         false, nullptr, 0});
      mark.clear();
    }
    pieces->back().height_mm += 0.25 * body_;
  }
}

void Composer::Add(const Plot& plot, double width, Pieces* pieces) {
  pieces->push_back({plot.height_mm + body_,
                     [this, plot, width](Point at) {
                       DrawPlot(canvas_, plot, {at.x_mm, at.y_mm + body_ / 2}, width, 0.9 * body_);
                     },
                     false, nullptr, 0});
}

void Composer::Add(const Drawing& drawing, double width, Pieces* pieces) {
  pieces->push_back(
      {drawing.height_mm, [this, drawing, width](Point at) { drawing.draw(canvas_, at, width); }, false, nullptr, 0});
}

// Every column as wide as its widest cell where all of them fit, and what is left goes to those that stretch. Else no
// column is wider than a bound, the same for all, that makes them fit; none is narrower than its longest word.
std::vector<double> Composer::Widths(const Table& table, double width, const TextStyle& head,
                                     const TextStyle& cell) const {
  const double gap = 1.1 * body_;
  std::vector<double> wanted(table.columns.size(), 0);
  std::vector<double> least(table.columns.size(), 0);
  double all = 0;
  double stretched = 0;
  for (size_t c = 0; c < table.columns.size(); ++c) {
    // Wider than the page, and narrower than another, is all the same.
    const auto hold = [&](const std::string& text, const TextStyle& style) {
      const auto widen = [&](double* column, const std::string& part, double most) {
        const double widest = kMostOverSize * style.size_mm * static_cast<double>(part.size());
        const double to_write = 7 * body_;
        if (*column >= most + gap || (part != kToWrite && widest + gap <= *column)) return;
        *column = std::max(*column, std::min(most, part == kToWrite ? to_write : canvas_.WidthMm(part, style)) + gap);
      };
      widen(&wanted[c], text, width);
      for (const std::string& word : WordsOf(text)) widen(&least[c], word, width / 5);
    };
    hold(table.columns[c].heading, head);
    // A heading may take two lines, over figures sooner than over words.
    wanted[c] = std::max(least[c], std::min(wanted[c], (table.columns[c].right ? 5.5 : 8) * body_ + gap));
    for (const auto& row : table.rows) {
      if (c < row.size()) hold(row[c], cell);
    }
    all += wanted[c];
    if (table.columns[c].stretches) stretched += wanted[c];
  }
  if (all <= width) {
    for (size_t c = 0; c < wanted.size(); ++c) {
      if (table.columns[c].stretches) wanted[c] *= 1 + (width - all) / stretched;
    }
    return wanted;
  }
  const auto bounded = [&](double bound) {
    std::vector<double> widths;
    for (size_t c = 0; c < wanted.size(); ++c) widths.push_back(std::max(least[c], std::min(wanted[c], bound)));
    return widths;
  };
  double low = 0;
  double high = width;
  for (int i = 0; i < 40; ++i) {
    const double bound = (low + high) / 2;
    const std::vector<double> widths = bounded(bound);
    (std::accumulate(widths.begin(), widths.end(), 0.0) > width ? high : low) = bound;
  }
  return bounded(low);
}

void Composer::Add(const Table& table, double width, Pieces* pieces) {
  if (table.rows.empty()) return;
  const TextStyle head{0.9 * body_, true};
  const TextStyle cell{0.97 * body_};
  const std::vector<double> widths = Widths(table, width + 1.1 * body_, head, cell);
  // What stands beside each other of a row, a line or more of each cell.
  const auto piece_of = [&](std::vector<LinesOfText> lines, const TextStyle& style, bool heading) {
    lines.resize(widths.size());
    size_t most = 1;
    bool to_write = false;
    for (LinesOfText& cell_lines : lines) {
      if (cell_lines.empty()) cell_lines.emplace_back();
      most = std::max(most, cell_lines.size());
      to_write = to_write || cell_lines[0] == kToWrite;
    }
    const double height = HeightOfLines(most, style) + (to_write ? 1.0 : 0.35) * body_;
    // The rule below the row is what is written on: stronger there. The last column ends with the page.
    const auto draw = [this, lines, widths, style, height, heading, to_write, columns = table.columns](Point at) {
      const Stroke rule{heading ? 0.25 : 0.1, {}, heading ? 1 : 0.4};
      const Stroke write_on{0.2, {}, 1};
      const double y = at.y_mm + height - 0.12 * body_;
      const double gap = 1.1 * body_;
      const double all = std::accumulate(widths.begin(), widths.end(), 0.0) - gap;
      canvas_.Draw(Polyline({{at.x_mm, y}, {at.x_mm + all, y}}), &rule, Fill::kNone);
      double x = at.x_mm;
      for (size_t c = 0; c < widths.size(); ++c) {
        TextStyle aligned = style;
        if (columns[c].right) aligned.anchor = Anchor::kEnd;
        if (lines[c][0] == kToWrite) {
          canvas_.Draw(Polyline({{x, y}, {x + widths[c] - gap, y}}), &write_on, Fill::kNone);
        } else {
          Lines(lines[c], {x, at.y_mm + (to_write ? 0.65 : 0) * body_}, widths[c] - gap, aligned);
        }
        x += widths[c];
      }
    };
    return Piece{height, draw, heading, nullptr, 0};
  };
  const auto pieces_of = [&](const std::vector<std::string>& cells, const TextStyle& style, bool heading) {
    std::vector<std::vector<LinesOfText>> parts(1);
    for (size_t c = 0; c < std::min(cells.size(), widths.size()); ++c) {
      const std::vector<LinesOfText> of_cell = Parts(Wrap(cells[c], style, widths[c] - 0.9 * body_));
      parts.resize(std::max(parts.size(), of_cell.size()));
      for (size_t i = 0; i < of_cell.size(); ++i) {
        parts[i].resize(widths.size());
        parts[i][c] = of_cell[i];
      }
    }
    Pieces made;
    for (std::vector<LinesOfText>& part : parts) made.push_back(piece_of(std::move(part), style, heading));
    return made;
  };
  std::vector<std::string> headings;
  bool named = false;
  for (const auto& column : table.columns) {
    headings.push_back(column.heading);
    named = named || !column.heading.empty();
  }
  const Piece heading = named ? pieces_of(headings, head, true).front() : Piece{};
  if (named) pieces->push_back(heading);
  const size_t first = pieces->size();
  for (const auto& row : table.rows) {
    for (Piece& piece : pieces_of(row, cell, false)) {
      piece.again = heading.draw;
      piece.again_mm = heading.height_mm;
      pieces->push_back(std::move(piece));
    }
  }
  if (named) pieces->at(first).again = nullptr;
  // No row stands alone at the end of a page or at the beginning of the next.
  if (table.rows.size() < 3) return;
  pieces->at(first).keeps_next = true;
  pieces->at(pieces->size() - 2).keeps_next = true;
}

}  // namespace coilwright::sheet
