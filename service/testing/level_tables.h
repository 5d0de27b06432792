#pragma once

#include <optional>

#include "absl/strings/string_view.h"
#include "standards/tables.h"

namespace coilwright::testing {

// Where a row applies: `below` excludes its value, `up_to` includes it; an absent one is no limit.
struct Rating {
  std::optional<double> below, up_to;
  bool limited() const { return below || up_to; }
  bool Fits(double value) const { return !(below && value >= *below) && !(up_to && value > *up_to); }
};

// By two columns of a row; an empty column name is no limit.
Rating RatingOf(const standards::Table& table, int row, absl::string_view below, absl::string_view up_to);

// The first row whose `column` reads `key`, or -1.
int RowOf(const standards::Table& table, absl::string_view column, absl::string_view key);

// A single number of withstand_procedure.csv or programme_settings.csv.
double Procedure(absl::string_view name);
double Setting(absl::string_view name);

}  // namespace coilwright::testing
