#pragma once

#include <optional>

#include "absl/strings/string_view.h"
#include "standards/tables.h"

namespace coilwright::testing {

// A value against the two limits of a row: `below` excludes its value, `up_to` includes it; a blank cell or an empty
// column name is no limit.
bool RatingFits(const standards::Table& table, int row, double value, absl::string_view below, absl::string_view up_to);

// The first row whose `column` reads `key`, or -1.
int RowOf(const standards::Table& table, absl::string_view column, absl::string_view key);

// A single number of withstand_procedure.csv or programme_settings.csv.
double Procedure(absl::string_view name);
double Setting(absl::string_view name);

}  // namespace coilwright::testing
