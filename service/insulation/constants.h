#pragma once

#include <string>

#include "absl/strings/string_view.h"
#include "standards/tables.h"

namespace coilwright::insulation {

// The `value` of the row called `name` in a table of single numbers; an unknown name aborts (tests cover the tables).
double NamedNumber(const standards::Table& table, absl::string_view name);

// A single number of megohm_constants.csv.
double Constant(absl::string_view name);

// "500 V DC", "500 to 1000 V DC".
std::string TestVoltsText(double low, double high);

}  // namespace coilwright::insulation
