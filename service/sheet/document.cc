#include "sheet/document.h"

#include <algorithm>
#include <functional>
#include <memory>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "sheet/draw.h"

namespace coilwright::sheet {
namespace {

constexpr double kBodyMm = 2.9;
constexpr double kLineSpacing = 1.32;  // from line to line, of the size of the text
constexpr double kRunningHeadMm = 5;
constexpr int kSmallerSteps = 4;  // of size, by a twentieth each: the smallest is 0.8
constexpr int kLabelSteps = 6;    // and 0.7 on a label, which is to be one page

// What is never parted by the end of a page.
struct Piece {
  double height_mm = 0;
  std::function<void(Point)> draw;
  bool keeps_next = false;           // a heading stays with what it is over
  std::function<void(Point)> again;  // heading of its table, drawn anew where a page begins with this piece
  double again_mm = 0;
};
using Pieces = std::vector<Piece>;

double HeightOf(const Pieces& pieces) {
  double height = 0;
  for (const Piece& piece : pieces) height += piece.height_mm;
  return height;
}

class Composer {
 public:
  Composer(Canvas& canvas, double scale) : canvas_(canvas), body_(kBodyMm * scale) {}

  double body() const { return body_; }

  // Lines no wider than `width`, broken at blanks, and within a word that is wider by itself.
  std::vector<std::string> Wrap(const std::string& text, const TextStyle& style, double width) const {
    std::vector<std::string> lines;
    for (std::string word : WordsOf(text)) {
      std::string longer = lines.empty() ? word : absl::StrCat(lines.back(), " ", word);
      if (!lines.empty() && canvas_.WidthMm(longer, style) <= width) {
        lines.back() = std::move(longer);
        continue;
      }
      for (size_t fits = Fitting(word, style, width); fits < word.size(); fits = Fitting(word, style, width)) {
        lines.push_back(word.substr(0, fits));
        word.erase(0, fits);
      }
      lines.push_back(std::move(word));
    }
    if (lines.empty()) lines.emplace_back();
    return lines;
  }

  Pieces Compose(const Block& block, double width) {
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

 private:
  // How many bytes of a word fit, at least one character; better up to a mark within it than in the middle of a name.
  size_t Fitting(const std::string& word, const TextStyle& style, double width) const {
    if (canvas_.WidthMm(word, style) <= width) return word.size();
    size_t fits = 0;
    size_t mark = 0;
    for (size_t end = 1; end <= word.size(); ++end) {
      if (end < word.size() && (word[end] & 0xC0) == 0x80) continue;  // within a character
      if (fits > 0 && canvas_.WidthMm(word.substr(0, end), style) > width) break;
      fits = end;
      if (word[end - 1] == '.' || word[end - 1] == '_' || word[end - 1] == '/' || word[end - 1] == '-') mark = end;
    }
    return mark > 0 ? mark : fits;
  }

  // Lines of text as one piece; a value to be written is a rule.
  void Lines(const std::vector<std::string>& lines, Point at, double width, const TextStyle& style) {
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

  double HeightOfLines(size_t lines, const TextStyle& style) const {
    return static_cast<double>(lines) * kLineSpacing * style.size_mm;
  }

  void Add(const Facts& facts, double width, Pieces* pieces) {
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
      const auto left = Wrap(what, name, names);
      const auto right = Wrap(is, value, width - names - gap);
      const bool to_write = is == kToWrite;
      const double height = HeightOfLines(std::max(left.size(), right.size()), value) + (to_write ? 0.9 : 0.1) * body_;
      pieces->push_back({height,
                         [=](Point at) {
                           const double down = to_write ? 0.8 * body_ : 0;
                           Lines(left, {at.x_mm, at.y_mm + down}, names, name);
                           Lines(right, {at.x_mm + names + gap, at.y_mm + down}, width - names - gap, value);
                         },
                         false, nullptr, 0});
    }
  }

  void Add(const List& list, double width, Pieces* pieces) {
    const TextStyle style{body_};
    const double indent = list.mark.empty() ? 0 : canvas_.WidthMm(list.mark, style) + 0.7 * body_;
    for (const std::string& item : list.items) {
      const auto lines = Wrap(item, style, width - indent);
      pieces->push_back({HeightOfLines(lines.size(), style) + 0.25 * body_,
                         [=](Point at) {
                           Lines({list.mark}, at, indent, style);
                           Lines(lines, {at.x_mm + indent, at.y_mm}, width - indent, style);
                         },
                         false, nullptr, 0});
    }
  }

  void Add(const Plot& plot, double width, Pieces* pieces) {
    pieces->push_back({plot.height_mm + body_,
                       [this, plot, width](Point at) {
                         DrawPlot(canvas_, plot, {at.x_mm, at.y_mm + body_ / 2}, width, 0.9 * body_);
                       },
                       false, nullptr, 0});
  }

  void Add(const Drawing& drawing, double width, Pieces* pieces) {
    pieces->push_back(
        {drawing.height_mm, [this, drawing, width](Point at) { drawing.draw(canvas_, at, width); }, false, nullptr, 0});
  }

  // Every column as wide as its widest cell where all of them fit, and what is left goes to those that stretch. Else no
  // column is wider than a bound, the same for all, that makes them fit; none is narrower than its longest word.
  std::vector<double> Widths(const Table& table, double width, const TextStyle& head, const TextStyle& cell) const {
    const double gap = 1.1 * body_;
    std::vector<double> wanted(table.columns.size(), 0);
    std::vector<double> least(table.columns.size(), 0);
    double all = 0;
    double stretched = 0;
    for (size_t c = 0; c < table.columns.size(); ++c) {
      const auto hold = [&](const std::string& text, const TextStyle& style) {
        const double whole = text == kToWrite ? 7 * body_ : canvas_.WidthMm(text, style);
        wanted[c] = std::max(wanted[c], whole + gap);
        for (const std::string& word : WordsOf(text))
          least[c] =
              std::max(least[c], std::min(width / 5, text == kToWrite ? whole : canvas_.WidthMm(word, style)) + gap);
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

  void Add(const Table& table, double width, Pieces* pieces) {
    if (table.rows.empty()) return;
    const TextStyle head{0.9 * body_, true};
    const TextStyle cell{0.97 * body_};
    const std::vector<double> widths = Widths(table, width + 1.1 * body_, head, cell);
    const auto row_piece = [&](const std::vector<std::string>& cells, const TextStyle& style, bool heading) {
      std::vector<std::vector<std::string>> lines(widths.size());
      size_t most = 1;
      bool to_write = false;
      for (size_t c = 0; c < widths.size(); ++c) {
        lines[c] = Wrap(c < cells.size() ? cells[c] : "", style, widths[c] - 0.9 * body_);
        most = std::max(most, lines[c].size());
        to_write = to_write || lines[c][0] == kToWrite;
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
    std::vector<std::string> headings;
    bool named = false;
    for (const auto& column : table.columns) {
      headings.push_back(column.heading);
      named = named || !column.heading.empty();
    }
    const Piece heading = named ? row_piece(headings, head, true) : Piece{};
    if (named) pieces->push_back(heading);
    const size_t first = pieces->size();
    for (const auto& row : table.rows) {
      pieces->push_back(row_piece(row, cell, false));
      pieces->back().again = heading.draw;
      pieces->back().again_mm = heading.height_mm;
    }
    if (named) pieces->at(first).again = nullptr;
    // No row stands alone at the end of a page or at the beginning of the next.
    if (table.rows.size() < 3) return;
    pieces->at(first).keeps_next = true;
    pieces->at(pieces->size() - 2).keeps_next = true;
  }

  Canvas& canvas_;
  double body_;
};

// Title, code and warnings: what every sheet begins with.
Pieces Head(const Document& document, Canvas& canvas, Composer& composer, double width) {
  Pieces pieces;
  const double body = composer.body();
  const TextStyle title{1.9 * body, true};
  const TextStyle code{1.5 * body, true};
  const TextStyle mark{1.15 * body, true};
  const double code_width =
      document.code.empty()
          ? 0
          : std::max(canvas.WidthMm(document.code, code), canvas.WidthMm(document.code_mark, mark)) + 2 * body;
  const double box = document.code_mark.empty() ? 2.6 : 4.1;
  const auto lines = composer.Wrap(document.title, title, width - code_width - body);
  const TextStyle under{1.15 * body};
  const auto subtitle = composer.Wrap(document.subtitle, under, width);
  // The subtitle has the whole width, below the box of the code.
  const double title_lines =
      std::max(static_cast<double>(lines.size()) * 1.25 * 1.9, document.code.empty() ? 0.0 : box);
  const double height =
      (title_lines + (document.subtitle.empty() ? 0 : static_cast<double>(subtitle.size()) * 1.3 * 1.15) + 0.9) * body;
  pieces.push_back({height,
                    [=, &canvas](Point at) {
                      double y = at.y_mm;
                      for (const std::string& line : lines) canvas.Text({at.x_mm, y += 1.25 * 1.9 * body}, line, title);
                      y = at.y_mm + title_lines * body;
                      if (!document.subtitle.empty()) {
                        for (const std::string& line : subtitle)
                          canvas.Text({at.x_mm, y += 1.3 * 1.15 * body}, line, under);
                      }
                      if (document.code.empty()) return;
                      const Stroke frame{0.4, {}, 1};
                      const double x = at.x_mm + width - code_width;
                      canvas.Draw(Rectangle({x, at.y_mm + 0.3 * body}, code_width, box * body), &frame, Fill::kNone);
                      canvas.Text({x + body, at.y_mm + 2.2 * body}, document.code, code);
                      if (document.code_mark.empty()) return;
                      canvas.Text({x + body, at.y_mm + 3.8 * body}, document.code_mark, mark);
                    },
                    true, nullptr, 0});
  if (document.warnings.empty()) return pieces;
  const TextStyle strong{1.05 * body, true};
  std::vector<std::string> warned;
  for (const std::string& warning : document.warnings) {
    for (const std::string& line : composer.Wrap(warning, strong, width - 2.4 * body)) warned.push_back(line);
  }
  const double frame_height = static_cast<double>(warned.size()) * kLineSpacing * 1.05 * body + body;
  pieces.push_back({frame_height + body,
                    [=, &canvas](Point at) {
                      const Stroke frame{0.7, {}, 1};
                      canvas.Draw(Rectangle({at.x_mm, at.y_mm + 0.4 * body}, width, frame_height), &frame, Fill::kNone);
                      double y = at.y_mm + 0.5 * body;
                      for (const std::string& line : warned)
                        canvas.Text({at.x_mm + 1.2 * body, y += kLineSpacing * 1.05 * body}, line, strong);
                    },
                    false, nullptr, 0});
  return pieces;
}

// All pieces, those of half blocks side by side.
Pieces Compose(const Document& document, Canvas& canvas, Composer& composer, double width) {
  Pieces pieces = Head(document, canvas, composer, width);
  const double gap = 2 * composer.body();
  for (size_t i = 0; i < document.blocks.size(); ++i) {
    const Block& block = document.blocks[i];
    const bool paired = block.half && i + 1 < document.blocks.size() && document.blocks[i + 1].half;
    if (!paired) {
      const Pieces more = composer.Compose(block, width);
      pieces.insert(pieces.end(), more.begin(), more.end());
      continue;
    }
    const double half = (width - gap) / 2;
    const Pieces left = composer.Compose(block, half);
    const Pieces right = composer.Compose(document.blocks[++i], half);
    const auto column = [](const Pieces& all, Point at) {
      for (const Piece& piece : all) {
        piece.draw(at);
        at.y_mm += piece.height_mm;
      }
    };
    pieces.push_back({std::max(HeightOf(left), HeightOf(right)),
                      [=](Point at) {
                        column(left, at);
                        column(right, {at.x_mm + half + gap, at.y_mm});
                      },
                      false, nullptr, 0});
  }
  return pieces;
}

// What a page is of, on all but the first.
void DrawRunningHead(const Document& document, Canvas& canvas, Point at, double width) {
  const TextStyle style{2.6, false, Anchor::kStart, 0, 0.75};
  const std::string of =
      document.subtitle.empty() ? document.title : absl::StrCat(document.title, ": ", document.subtitle);
  canvas.Text({at.x_mm, at.y_mm + 2.6}, Fitted(canvas, of, style, width), style);
}

// Which pieces stand on which page, by the index of each page's first.
std::vector<size_t> Pages(const Pieces& pieces, double height) {
  std::vector<size_t> first = {0};
  double used = 0;
  for (size_t i = 0; i < pieces.size(); ++i) {
    double needed = pieces[i].height_mm;
    for (size_t next = i; pieces[next].keeps_next && next + 1 < pieces.size(); ++next)
      needed += pieces[next + 1].height_mm;
    if (used + needed > height && i > first.back()) {
      first.push_back(i);
      used = kRunningHeadMm + pieces[i].again_mm;
    }
    used += pieces[i].height_mm;
  }
  return first;
}

}  // namespace

void Draw(const Document& document, PageSize size, Canvas& canvas) {
  const bool label = size.width_mm < 150;
  const double margin = label ? 6 : 13;
  const double width = size.width_mm - 2 * margin;
  const double height = size.height_mm - 2 * margin - 4;

  std::unique_ptr<Composer> composer;
  Pieces pieces;
  std::vector<size_t> first;
  const auto compose = [&](double scale) {
    composer = std::make_unique<Composer>(canvas, scale);
    pieces = Compose(document, canvas, *composer, width);
    first = Pages(pieces, height);
    return first.size();
  };
  const size_t fewest = compose(1 - 0.05 * (label ? kLabelSteps : kSmallerSteps));
  for (int step = 0; compose(1 - 0.05 * step) > fewest; ++step) {
  }

  for (size_t page = 0; page < first.size(); ++page) {
    canvas.BeginPage(size);
    Point at{margin, margin};
    if (page > 0) DrawRunningHead(document, canvas, at, width);
    at.y_mm += page > 0 ? kRunningHeadMm : 0;
    const size_t end = page + 1 < first.size() ? first[page + 1] : pieces.size();
    for (size_t i = first[page]; i < end; ++i) {
      if (i == first[page] && page > 0 && pieces[i].again) {
        pieces[i].again(at);
        at.y_mm += pieces[i].again_mm;
      }
      pieces[i].draw(at);
      at.y_mm += pieces[i].height_mm;
    }
    TextStyle foot{2.2, false, Anchor::kStart, 0, 0.75};
    const double y = size.height_mm - margin + 2;
    canvas.Text({margin, y}, document.footer, foot);
    if (label && first.size() == 1) continue;  // its code stands large enough beside the title
    foot.anchor = Anchor::kEnd;
    canvas.Text({size.width_mm - margin, y},
                absl::StrCat(document.code, document.code_mark.empty() ? "" : " ", document.code_mark,
                             document.code.empty() ? "" : ", ", "page ", page + 1, " of ", first.size()),
                foot);
  }
}

}  // namespace coilwright::sheet
