#include "testing/level_tables.h"

#include "insulation/constants.h"

namespace coilwright::testing {

using standards::EmbeddedTable;
using standards::Table;

Rating RatingOf(const Table& table, int row, absl::string_view below, absl::string_view up_to) {
  const auto limit = [&](absl::string_view column) {
    return column.empty() ? std::optional<double>() : table.Number(row, column);
  };
  return {limit(below), limit(up_to)};
}

int RowOf(const Table& table, absl::string_view column, absl::string_view key) {
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, column) == key) return row;
  }
  return -1;
}

double Procedure(absl::string_view name) {
  static const Table& table = *new Table(EmbeddedTable("withstand_procedure"));
  return insulation::NamedNumber(table, name);
}

double Setting(absl::string_view name) {
  static const Table& table = *new Table(EmbeddedTable("programme_settings"));
  return insulation::NamedNumber(table, name);
}

}  // namespace coilwright::testing
