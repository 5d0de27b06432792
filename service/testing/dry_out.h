#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "testing/programme.h"

namespace coilwright::testing {

// Greatest temperature for drying with what is still fitted. Shop rule: programme_settings.csv; the plate of any part
// may ask less.
struct DryOut {
  double most_celsius = 0;
  std::vector<std::string> limited_by;  // "magnets", "brake", ...; empty for a winding alone
  absl::string_view rule;
};

DryOut DryOutFor(const ProgrammeCase& programme_case);

// "at most 70 C with magnets, brake fitted, less where ..."; never an oven for burning out.
std::string DryOutText(const DryOut& dry_out);

}  // namespace coilwright::testing
