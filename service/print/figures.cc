#include "print/figures.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"

namespace coilwright::print {

std::string Fixed(double value, int decimals) {
  std::string text = absl::StrFormat("%.*f", decimals, value);
  // "-0.00" says nothing that "0.00" does not.
  if (text[0] == '-' && text.find_first_of("123456789") == std::string::npos) text.erase(0, 1);
  return text;
}

std::string Figures(double value, int figures, bool trim) {
  if (value == 0 || !std::isfinite(value)) return value == 0 ? "0" : "not a number";
  const int leading = static_cast<int>(std::floor(std::log10(std::fabs(value))));
  std::string text = Fixed(value, std::clamp(figures - 1 - leading, 0, 12));
  if (trim && text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text;
}

std::string Percent(double ratio, bool sign) {
  const std::string text = Fixed(100 * ratio, 1);
  return absl::StrCat(sign && text[0] != '-' ? "+" : "", text, " %");
}

}  // namespace coilwright::print
