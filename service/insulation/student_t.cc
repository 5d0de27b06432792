#include "insulation/student_t.h"

#include <cmath>

#include "standards/units.h"

namespace coilwright::insulation {
namespace {

using standards::kPi;

// Probability of |t| below sqrt(freedom) tan(angle).
double Probability(double angle, int freedom) {
  const double sine = std::sin(angle), cosine = std::cos(angle);
  const bool odd = freedom % 2 != 0;
  double term = odd ? cosine : 1, sum = 0;
  for (int k = odd ? 1 : 0; k <= freedom - 2; k += 2) {
    sum += term;
    term *= cosine * cosine * (k + 1) / (k + 2);
  }
  return odd ? 2 / kPi * (angle + sine * sum) : sine * sum;
}

}  // namespace

double StudentT(double confidence, int freedom) {
  double low = 0, high = kPi / 2;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (Probability(middle, freedom) < confidence ? low : high) = middle;
  }
  return std::sqrt(freedom) * std::tan(low);
}

}  // namespace coilwright::insulation
