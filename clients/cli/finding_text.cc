#include "finding_text.h"

#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/strip.h"
#include "text.h"

namespace coilwright::cli {

CheckedText TextOfChecked(const std::string& unit, const double* found, const v1::Band* expected, const Units& units) {
  static const auto* const known = new std::vector<std::pair<std::string, Quantity>>{
      {"ohms", Quantity::kOhms},       {"kg", Quantity::kMassKg},        {"teslas", Quantity::kTeslas},
      {"mm2", Quantity::kWireAreaMm2}, {"A/mm2", Quantity::kAmpsPerMm2}, {"A/m", Quantity::kAmpsPerMetre},
      {"Nm", Quantity::kNm},           {"m", Quantity::kLengthMetres}};
  for (const auto& [name, quantity] : *known) {
    if (name != unit) continue;
    return {found ? units.Text(quantity, *found) : "", expected ? units.Range(quantity, *expected) : ""};
  }
  if (unit == "ratio") {
    return {found ? Percent(*found) : "",
            expected ? absl::StrCat(Percent(expected->low()), " to ", Percent(expected->high())) : ""};
  }
  const std::string shown = unit == "percent" ? "%" : unit;
  return {found ? std::string(absl::StripSuffix(absl::StrCat(Figures(*found, 3), " ", shown), " ")) : "",
          expected ? absl::StrCat(Figures(expected->low(), 3), " to ", Figures(expected->high(), 3)) : ""};
}

}  // namespace coilwright::cli
