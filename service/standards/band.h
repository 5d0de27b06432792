#pragma once

namespace coilwright::standards {

// A predicted or tolerated quantity: the value expected, and the least and greatest it may honestly be.
// Unit and meaning are in the name of the variable that holds it. Invariant: low <= nominal <= high.
struct Band {
  double low = 0;
  double nominal = 0;
  double high = 0;

  static constexpr Band Exactly(double value) { return {value, value, value}; }
};

}  // namespace coilwright::standards
