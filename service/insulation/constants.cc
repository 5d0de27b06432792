#include "insulation/constants.h"

#include <cstdlib>

#include "absl/strings/str_format.h"

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

std::string TestVoltsText(double low, double high) {
  return low == high ? absl::StrFormat("%g V DC", low) : absl::StrFormat("%g to %g V DC", low, high);
}

}  // namespace coilwright::insulation
