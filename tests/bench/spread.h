#pragma once

#include <algorithm>
#include <cstdio>
#include <string>
#include <vector>

namespace coilwright::bench {

// Repeated measurements of one quantity.
class Spread {
 public:
  void Add(double value) { values_.insert(std::upper_bound(values_.begin(), values_.end(), value), value); }

  // Linear between neighbours; share in 0..1. At least one value.
  double At(double share) const {
    const double place = share * static_cast<double>(values_.size() - 1);
    const auto below = static_cast<size_t>(place);
    const size_t above = std::min(below + 1, values_.size() - 1);
    return values_[below] + (place - static_cast<double>(below)) * (values_[above] - values_[below]);
  }
  double Median() const { return At(0.5); }

  // "12.3 (11.9 to 12.8)": median and the middle half.
  std::string Text(const char* format) const {
    const auto number = [format](double value) {
      char text[64];
      std::snprintf(text, sizeof text, format, value);
      return std::string(text);
    };
    return number(Median()) + " (" + number(At(0.25)) + " to " + number(At(0.75)) + ")";
  }

 private:
  std::vector<double> values_;  // ascending
};

}  // namespace coilwright::bench
