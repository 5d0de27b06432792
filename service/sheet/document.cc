#include "sheet/document.h"

#include <algorithm>
#include <memory>

#include "absl/strings/str_cat.h"
#include "sheet/composer.h"
#include "sheet/draw.h"

namespace coilwright::sheet {
namespace {

constexpr double kRunningHeadMm = 5;
constexpr int kSmallerSteps = 4;  // of size, by a twentieth each: the smallest is 0.8
constexpr int kLabelSteps = 6;    // and 0.7 on a label, which is to be one page
constexpr size_t kFewPages = 4;   // one less of more than these is not worth smaller letters
constexpr size_t kMostTitleLines = 3, kMostSubtitleLines = 8;

// What a title has room for.
LinesOfText FirstLines(LinesOfText lines, size_t most) {
  if (lines.size() <= most) return lines;
  lines.resize(most);
  lines.back().append(" \u2026");
  return lines;
}

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
  const LinesOfText lines =
      FirstLines(composer.Wrap(document.title, title, width - code_width - body), kMostTitleLines);
  const TextStyle under{1.15 * body};
  const LinesOfText subtitle = FirstLines(composer.Wrap(document.subtitle, under, width), kMostSubtitleLines);
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
  LinesOfText warned;
  for (const std::string& warning : document.warnings) {
    for (const std::string& line : composer.Wrap(warning, strong, width - 2.4 * body)) warned.push_back(line);
  }
  for (const LinesOfText& part : Parts(warned)) {
    const double frame_height = static_cast<double>(part.size()) * kLineSpacing * 1.05 * body + body;
    pieces.push_back(
        {frame_height + body,
         [=, &canvas](Point at) {
           const Stroke frame{0.7, {}, 1};
           canvas.Draw(Rectangle({at.x_mm, at.y_mm + 0.4 * body}, width, frame_height), &frame, Fill::kNone);
           double y = at.y_mm + 0.5 * body;
           for (const std::string& line : part)
             canvas.Text({at.x_mm + 1.2 * body, y += kLineSpacing * 1.05 * body}, line, strong);
         },
         false, nullptr, 0});
  }
  return pieces;
}

// All pieces, those of half blocks side by side where that takes no more than `most_height`.
Pieces Compose(const Document& document, Canvas& canvas, Composer& composer, double width, double most_height) {
  Pieces pieces = Head(document, canvas, composer, width);
  const double gap = 2 * composer.body();
  const auto add = [&](const Block& block) {
    const Pieces more = composer.Compose(block, width);
    pieces.insert(pieces.end(), more.begin(), more.end());
  };
  for (size_t i = 0; i < document.blocks.size(); ++i) {
    const Block& block = document.blocks[i];
    const bool paired = block.half && i + 1 < document.blocks.size() && document.blocks[i + 1].half;
    if (!paired) {
      add(block);
      continue;
    }
    const double half = (width - gap) / 2;
    const Pieces left = composer.Compose(block, half);
    const Pieces right = composer.Compose(document.blocks[++i], half);
    if (std::max(HeightOf(left), HeightOf(right)) > most_height) {
      add(block);
      add(document.blocks[i]);
      continue;
    }
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

size_t TextBytes(const Document& document) {
  size_t bytes = document.title.size() + document.subtitle.size() + document.footer.size();
  for (const std::string& warning : document.warnings) bytes += warning.size();
  for (const Block& block : document.blocks) {
    if (const auto* facts = std::get_if<Facts>(&block.content)) {
      for (const auto& [what, is] : facts->pairs) bytes += what.size() + is.size();
    } else if (const auto* list = std::get_if<List>(&block.content)) {
      for (const std::string& item : list->items) bytes += item.size();
    } else if (const auto* table = std::get_if<Table>(&block.content)) {
      for (const auto& row : table->rows) {
        for (const std::string& cell : row) bytes += cell.size();
      }
    }
  }
  return bytes;
}

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
    pieces = Compose(document, canvas, *composer, width, height - kRunningHeadMm);
    first = Pages(pieces, height);
    return first.size();
  };
  if (const size_t full = compose(1); full > 1 && full <= kFewPages) {
    const size_t fewest = compose(1 - 0.05 * (label ? kLabelSteps : kSmallerSteps));
    for (int step = fewest < full ? 1 : 0; compose(1 - 0.05 * step) > fewest; ++step) {
    }
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
