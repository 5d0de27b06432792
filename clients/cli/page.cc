#include "page.h"

#include <algorithm>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/strip.h"
#include "text.h"

namespace coilwright::cli {
namespace {

constexpr int kIndent = 2;

std::string Spaces(int count) { return std::string(static_cast<size_t>(std::max(0, count)), ' '); }

// Characters up to the decimal point (or the end), and from it on.
std::pair<int, int> AroundPoint(absl::string_view cell) {
  const size_t digit = cell.find_first_of("0123456789");
  const size_t point = digit == absl::string_view::npos ? digit : cell.find('.', digit);
  const size_t end = point != absl::string_view::npos ? point
                     : digit == absl::string_view::npos
                         ? cell.size()
                         : std::min(cell.find_first_not_of("0123456789", digit), cell.size());
  return {Width(cell.substr(0, end)), Width(cell.substr(end))};
}

int& WidthInUse() {
  static int width = kPageWidth;
  return width;
}

struct Measure {
  int width = 0;   // of the column
  int before = 0;  // of the widest part before the decimal point
};

std::string Pad(absl::string_view cell, Table::Align align, const Measure& measure, int widest_cell) {
  std::string out;
  if (align == Table::Align::kPoint && !cell.empty()) {
    out = Spaces(measure.width - widest_cell + measure.before - AroundPoint(cell).first);
  } else if (align == Table::Align::kRight) {
    out = Spaces(measure.width - Width(cell));
  }
  absl::StrAppend(&out, cell);
  return absl::StrCat(out, Spaces(measure.width - Width(out)));
}

}  // namespace

int PageWidth() { return WidthInUse(); }
void SetPageWidth(int characters) { WidthInUse() = std::clamp(characters, kLeastPageWidth, kGreatestPageWidth); }

std::vector<std::string> Table::Lines(int indent) const {
  const auto cell = [&](const Row& row, size_t c) {
    return c < row.cells.size() ? absl::string_view(row.cells[c]) : absl::string_view();
  };
  std::vector<size_t> shown;
  std::vector<Measure> measures(columns_.size());
  std::vector<int> widest(columns_.size());
  for (size_t c = 0; c < columns_.size(); ++c) {
    int after = 0;
    bool any = false;
    for (const Row& row : rows_) {
      const auto [left, right] = AroundPoint(cell(row, c));
      any = any || !cell(row, c).empty();
      measures[c].before = std::max(measures[c].before, left);
      after = std::max(after, right);
      widest[c] = std::max(widest[c], Width(cell(row, c)));
    }
    if (columns_[c].align == Align::kPoint) widest[c] = measures[c].before + after;
    measures[c].width = std::max(widest[c], Width(columns_[c].heading));
    if (any) shown.push_back(c);
  }
  if (shown.empty()) return {};
  const size_t last = shown.back();
  int used = indent;
  for (size_t c : shown) used += c == last ? 0 : measures[c].width + 2;
  const bool wraps = columns_[last].align == Align::kLeft;
  const int room = wraps ? std::max(PageWidth() - used, 20) : measures[last].width;

  std::vector<std::string> lines;
  const auto print = [&](const auto& text, bool heading) {
    std::string line = Spaces(indent);
    for (size_t c : shown) {
      if (c == last && wraps) break;
      const Align align = heading && columns_[c].align == Align::kPoint ? Align::kRight : columns_[c].align;
      absl::StrAppend(&line, Pad(text(c), align, measures[c], widest[c]), "  ");
    }
    const std::string hanging = Spaces(Width(line));
    const std::vector<std::string> wrapped = wraps ? Wrap(text(last), room) : std::vector<std::string>();
    for (size_t i = 0; i < std::max<size_t>(1, wrapped.size()); ++i) {
      lines.push_back(absl::StrCat(i == 0 ? line : hanging, i < wrapped.size() ? wrapped[i] : ""));
      lines.back().erase(lines.back().find_last_not_of(' ') + 1);
    }
  };
  if (std::any_of(shown.begin(), shown.end(), [&](size_t c) { return !columns_[c].heading.empty(); })) {
    print([&](size_t c) { return absl::string_view(columns_[c].heading); }, true);
  }
  for (const Row& row : rows_) {
    print([&](size_t c) { return cell(row, c); }, false);
    const int note_indent = indent + measures[shown.front()].width + 2;
    for (const std::string& line : Wrap(row.note, PageWidth() - note_indent)) {
      lines.push_back(absl::StrCat(Spaces(note_indent), line));
    }
  }
  return lines;
}

void Page::Line(absl::string_view line) { absl::StrAppend(&text_, Printable(line), "\n"); }

void Page::Blank() {
  if (!text_.empty() && !absl::EndsWith(text_, "\n\n")) Line("");
}

void Page::Title(absl::string_view text) {
  for (const std::string& line : Wrap(text, PageWidth())) Line(line);
}

void Page::Heading(absl::string_view text) {
  Blank();
  Title(text);
}

void Page::Facts(const std::vector<std::pair<std::string, std::string>>& facts) {
  Table table({{"", Table::Align::kLeft}, {"", Table::Align::kLeft}});
  for (const auto& [name, value] : facts) {
    if (!value.empty()) table.Add({name, value});
  }
  Add(table);
}

void Page::Add(const Table& table) {
  for (const std::string& line : table.Lines(kIndent)) Line(line);
}

void Page::Paragraph(absl::string_view text) {
  for (const std::string& line : Wrap(text, PageWidth() - kIndent)) Line(absl::StrCat(Spaces(kIndent), line));
}

void Page::Drawn(absl::string_view line) { Line(absl::StrCat(Spaces(kIndent), line)); }

void Page::Item(absl::string_view text, absl::string_view mark, int indent) {
  const int hanging = indent + Width(mark) + 1;
  std::string start = absl::StrCat(Spaces(indent), mark, " ");
  for (const std::string& line : Wrap(text, PageWidth() - hanging)) {
    Line(absl::StrCat(start, line));
    start = Spaces(hanging);
  }
}

}  // namespace coilwright::cli
