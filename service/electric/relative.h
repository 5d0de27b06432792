#pragma once

#include <cmath>
#include <initializer_list>

#include "standards/band.h"

namespace coilwright::electric {

// A factor of a product, or of its divisor, that is known within a band.
struct Factor {
  standards::Band band;
  bool divides = false;
};

// scale * product of the factors, independent of each other: the relative half widths combine by root sum of squares,
// each side of the band for itself.
inline standards::Band Product(double scale, std::initializer_list<Factor> factors) {
  double nominal = scale, low_squares = 0, high_squares = 0;
  const auto square = [](double x) { return x * x; };
  for (const auto& [band, divides] : factors) {
    nominal = divides ? nominal / band.nominal : nominal * band.nominal;
    low_squares += square(divides ? 1 - band.nominal / band.high : 1 - band.low / band.nominal);
    high_squares += square(divides ? band.nominal / band.low - 1 : band.high / band.nominal - 1);
  }
  return {nominal * (1 - std::sqrt(low_squares)), nominal, nominal * (1 + std::sqrt(high_squares))};
}

inline standards::Band Scaled(double factor, const standards::Band& band) {
  return {factor * band.low, factor * band.nominal, factor * band.high};
}

}  // namespace coilwright::electric
