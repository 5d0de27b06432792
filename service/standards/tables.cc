#include "standards/tables.h"

#include <cstdio>
#include <cstdlib>

#include "absl/strings/numbers.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"

namespace coilwright::standards {
namespace {

[[noreturn]] void Malformed(absl::string_view what) {
  std::fprintf(stderr, "embedded table: %.*s\n", static_cast<int>(what.size()), what.data());
  std::abort();
}

std::vector<std::string> SplitRow(absl::string_view line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quoted && c == '"' && i + 1 < line.size() && line[i + 1] == '"') {
      cells.back() += '"';
      ++i;
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else {
      cells.back() += c;
    }
  }
  return cells;
}

}  // namespace

Table::Table(absl::string_view csv) {
  for (absl::string_view line : absl::StrSplit(csv, '\n')) {
    line = absl::StripSuffix(line, "\r");
    if (line.empty() || line.front() == '#') continue;
    std::vector<std::string> cells = SplitRow(line);
    if (header_.empty()) {
      header_ = std::move(cells);
    } else if (cells.size() == header_.size()) {
      cells_.push_back(std::move(cells));
    } else {
      Malformed(line);
    }
  }
  if (header_.empty()) Malformed("no header");
}

int Table::ColumnOf(absl::string_view column) const {
  for (size_t i = 0; i < header_.size(); ++i) {
    if (header_[i] == column) return static_cast<int>(i);
  }
  Malformed(column);
}

absl::string_view Table::Text(int row, absl::string_view column) const {
  return cells_.at(static_cast<size_t>(row)).at(static_cast<size_t>(ColumnOf(column)));
}

std::optional<double> Table::Number(int row, absl::string_view column) const {
  const absl::string_view text = Text(row, column);
  if (text.empty()) return std::nullopt;
  double value = 0;
  if (!absl::SimpleAtod(text, &value)) Malformed(text);
  return value;
}

}  // namespace coilwright::standards
