#pragma once

#include <cmath>
#include <optional>
#include <random>

namespace coilwright::simulated {

// A winding on the bench, as far as an insulation tester sees it: a charge that dies away, absorption i = A t^-n per
// volt, conduction V/R, scatter of the readings, a winding that cools or warms, and what goes wrong.
struct Winding {
  double rated_volts = 400;
  double rated_kw = 4;
  double conduction_megohms = 4000;        // at the temperature it began with
  double absorption_microamps_per_kv = 4;  // at 1 s
  double absorption_exponent = 0.7;
  double scatter_ratio = 0.01;  // of one reading, standard deviation
  double celsius = 24;
  double kelvin_per_minute = 0;
  std::optional<double> flashover_seconds;  // from then on it does not hold the voltage

  double CelsiusAt(double seconds) const { return celsius + kelvin_per_minute * seconds / 60; }
  // Without scatter. Conduction doubles every 10 K (common practice for thermoplastic insulation).
  double MicroampsAt(double seconds, double volts_dc) const {
    const double warmer = std::pow(2.0, (CelsiusAt(seconds) - celsius) / 10);
    const double charge = 50 * std::exp(-seconds / 0.3);
    return volts_dc / 1000 * absorption_microamps_per_kv * std::pow(seconds, -absorption_exponent) +
           volts_dc / conduction_megohms * warmer + charge;
  }
  double MegohmsAt(double seconds, double volts_dc) const { return volts_dc / MicroampsAt(seconds, volts_dc); }
  bool HoldsAt(double seconds) const { return !flashover_seconds || seconds < *flashover_seconds; }
};

// Any winding a shop may have on its bench; the same for the same seed.
inline Winding Drawn(unsigned seed) {
  std::mt19937 random(seed);
  const auto between = [&random](double low, double high) {
    return low + (high - low) * std::uniform_real_distribution<double>()(random);
  };
  const auto log_between = [&](double low, double high) { return std::exp(between(std::log(low), std::log(high))); };
  Winding winding;
  winding.rated_volts = std::round(log_between(24, 6900));
  winding.rated_kw = log_between(0.05, 500);
  winding.conduction_megohms = log_between(50, 50000);
  winding.absorption_microamps_per_kv = log_between(0.2, 20);
  winding.absorption_exponent = between(0.5, 1.0);
  winding.scatter_ratio = between(0, 0.02);
  winding.celsius = between(12, 38);
  winding.kelvin_per_minute = between(-0.3, 0.3);
  if (random() % 8 == 0) winding.flashover_seconds = between(20, 600);
  return winding;
}

}  // namespace coilwright::simulated
