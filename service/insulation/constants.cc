#include "insulation/constants.h"

#include <cstdlib>

namespace coilwright::insulation {

double NamedNumber(const standards::Table& table, absl::string_view name) {
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "name") == name) return *table.Number(row, "value");
  }
  std::abort();
}

double Constant(absl::string_view name) {
  static const standards::Table& table = *new standards::Table(standards::EmbeddedTable("megohm_constants"));
  return NamedNumber(table, name);
}

}  // namespace coilwright::insulation
