#pragma once

#include <optional>
#include <vector>

#include "standards/band.h"

namespace coilwright::insulation {

// Geometric mean of the readings that fell into one bin of logarithmic time.
struct BinnedCurrent {
  double seconds = 0;    // since the voltage was applied, above 0, rising from bin to bin
  double microamps = 0;  // above 0
  double samples = 0;    // how many readings
};

struct Estimated {
  double value = 0;
  double standard_error = 0;
};

// Conditional fit at one exponent: what the band of a forecast is made from.
struct ProfileNode {
  double exponent = 0;
  double absorption = 0, conduction = 0;               // least squares at this exponent, neither below 0
  double chi_square = 0;                               // weighted sum of squared residuals
  double normal_aa = 0, normal_ac = 0, normal_cc = 0;  // normal matrix of (absorption, conduction)
};

struct AbsorptionFit {
  // A falling part beyond the scatter, with an exponent inside the range searched. Without one the conduction current
  // is the mean and the other two are 0 and mean nothing.
  bool absorption_seen = false;
  Estimated absorption_microamps_1s;  // absorption current the law gives after 1 s
  Estimated exponent;
  Estimated conduction_microamps;
  bool conduction_seen = false;  // more than two standard errors above zero
  double scatter_ratio = 0;      // of one reading about the curve, as a share of it
  int bins = 0;
  double from_seconds = 0, to_seconds = 0;

  double reference_seconds = 1;   // of ProfileNode::absorption
  double allowed_chi_square = 0;  // edge of the 95 % region
  std::vector<ProfileNode> profile;
};

// i(t) = A t^-n + C by weighted least squares on at least eight bins: the Curie - von Schweidler law of absorption
// with a conduction current. Weight of a bin: its samples over the square of the current a first fit, weighted by the
// readings, gives there (scatter in proportion to the current). For a given exponent the rest is linear (variable
// projection), so one search over n from 0.02 to 3 finds the minimum; Gauss-Newton takes it to the last digits. A and C
// are kept from going below 0. Standard errors from the Jacobian, scaled by the scatter found. nullopt: fewer than
// eight bins. Accuracy: parameters and errors as SciPy's curve_fit on the same bins to 1e-5 where both parts are seen.
std::optional<AbsorptionFit> FitAbsorption(const std::vector<BinnedCurrent>& bins);

// Band at 95 % of current(earlier) / current(later), that is of megohms(later) / megohms(earlier), over every set of
// parameters the data do not refute (profile likelihood), A and C not below 0. It holds if the winding goes on as the
// law says.
standards::Band RatioForecast(const AbsorptionFit& fit, double earlier_seconds, double later_seconds);

// Band at 95 % of the current at a time.
standards::Band CurrentForecast(const AbsorptionFit& fit, double seconds);

}  // namespace coilwright::insulation
