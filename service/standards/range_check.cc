#include "standards/range_check.h"

#include <charconv>
#include <cmath>

#include "absl/strings/str_cat.h"

namespace coilwright::standards {

std::string WithUnit(double value, absl::string_view unit) {
  std::string text = std::isnan(value) ? "NaN" : value < 0 ? "-infinity" : "infinity";
  if (std::isfinite(value)) {
    // Seven significant digits, as "%.7g" prints them, without its cost; nearly all are whole volts.
    char digits[24];
    char* const limit = digits + sizeof digits;
    const bool whole = std::abs(value) < 1e7 && value == std::trunc(value);
    const char* end = whole ? std::to_chars(digits, limit, static_cast<int>(value)).ptr
                            : std::to_chars(digits, limit, value, std::chars_format::general, 7).ptr;
    text.assign(digits, static_cast<size_t>(end - digits));
  }
  if (!unit.empty()) text.append(1, ' ').append(unit.data(), unit.size());
  return text;
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
