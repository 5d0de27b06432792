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
      continue;
    }
    if (cells.size() != header_.size()) Malformed(line);
    std::vector<Cell>& row = rows_.emplace_back();
    row.reserve(cells.size());
    for (std::string& cell : cells) {
      double number = 0;
      const bool is_number = absl::SimpleAtod(cell, &number);
      row.push_back({std::move(cell), is_number ? std::optional<double>(number) : std::nullopt});
    }
  }
  if (header_.empty()) Malformed("no header");
}

const Table::Cell& Table::At(int row, absl::string_view column) const {
  for (size_t i = 0; i < header_.size(); ++i) {
    if (header_[i] == column) return rows_.at(static_cast<size_t>(row))[i];
  }
  Malformed(column);
}

absl::string_view Table::Text(int row, absl::string_view column) const { return At(row, column).text; }

std::optional<double> Table::Number(int row, absl::string_view column) const {
  const Cell& cell = At(row, column);
  if (!cell.number && !cell.text.empty()) Malformed(cell.text);
  return cell.number;
}

}  // namespace coilwright::standards
