#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"

namespace coilwright::standards {

// The text of service/standards/data/<name>.csv as it stood at build time; empty for an unknown name.
absl::string_view EmbeddedTable(absl::string_view name);

// Twelve hexadecimal digits over every table and rule: it changes when any number or rule changes.
absl::string_view DataRevision();

// A parsed table: '#' lines dropped, the first row the header, double quotes as in RFC 4180.
class Table {
 public:
  // Parses `csv`. Tables are embedded at build and covered by tests, so a malformed one aborts.
  explicit Table(absl::string_view csv);

  int rows() const { return static_cast<int>(rows_.size()); }
  // The cell as printed; an unknown column aborts.
  absl::string_view Text(int row, absl::string_view column) const;
  // The cell as a number, or nothing where it is blank.
  std::optional<double> Number(int row, absl::string_view column) const;

 private:
  // Read as a number once: tables are asked for numbers in every call.
  struct Cell {
    std::string text;
    std::optional<double> number;
  };
  const Cell& At(int row, absl::string_view column) const;
  std::vector<std::string> header_;
  std::vector<std::vector<Cell>> rows_;
};

}  // namespace coilwright::standards
