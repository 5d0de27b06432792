#include "standards/range_check.h"

#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"

namespace coilwright::standards {

std::string WithUnit(double value, absl::string_view unit) {
  std::string number = std::isnan(value)   ? "NaN"
                       : std::isinf(value) ? (value < 0 ? "-infinity" : "infinity")
                                           : absl::StrFormat("%.7g", value);
  return unit.empty() ? number : absl::StrCat(number, " ", unit);
}

bool RangeCheck::Within(absl::string_view field, double value, double low, double high, absl::string_view unit) {
  if (value >= low && value <= high) return true;
  Refuse(field, WithUnit(value, unit), absl::StrCat(WithUnit(low, ""), " to ", WithUnit(high, unit)));
  return false;
}

bool RangeCheck::Above(absl::string_view field, double value, double low, double high, absl::string_view unit) {
  if (value > low && value <= high) return true;
  Refuse(field, WithUnit(value, unit),
         absl::StrCat("more than ", WithUnit(low, ""), ", at most ", WithUnit(high, unit)));
  return false;
}

void RangeCheck::Refuse(absl::string_view field, absl::string_view given, absl::string_view accepted) {
  errors_.push_back({std::string(field), std::string(given), std::string(accepted)});
}

absl::Status RangeCheck::status() const { return errors_.empty() ? absl::OkStatus() : InvalidFields(errors_); }

}  // namespace coilwright::standards
