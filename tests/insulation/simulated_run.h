#pragma once

#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include "insulation/run.h"

// A winding that is played: absorption, conduction, scatter, temperature.
namespace coilwright::insulation {

struct SimulatedRun {
  double volts = 500;
  double absorption_microamps = 2, exponent = 0.8, conduction_microamps = 0.02;
  double charge_microamps = 50, charge_time_constant = 0.3;  // gone within seconds
  double scatter_ratio = 0.01;                               // of one reading
  double interval_seconds = 1;
  double from_seconds = 0.5, to_seconds = 620;
  unsigned seed = 1;
  std::function<double(double seconds)> factor = [](double) { return 1.0; };  // on the current, for what goes wrong
  std::function<double(double seconds)> celsius = [](double) { return 40.0; };

  double Microamps(double t) const {
    return absorption_microamps * std::pow(t, -exponent) + conduction_microamps +
           charge_microamps * std::exp(-t / charge_time_constant);
  }
  // Megohms(600 s) / megohms(60 s), without scatter.
  double Index() const { return Microamps(60) / Microamps(600); }

  std::vector<RunSample> Samples() const {
    std::mt19937 random(seed * 2654435761u + 12345);
    std::normal_distribution<double> normal;
    std::vector<RunSample> samples;
    const int count = static_cast<int>((to_seconds - from_seconds) / interval_seconds + 1e-9) + 1;
    for (int i = 0; i < count; ++i) {
      RunSample sample;
      sample.seconds = from_seconds + i * interval_seconds;
      sample.volts_dc = volts;
      sample.microamps = Microamps(sample.seconds) * factor(sample.seconds) * std::exp(scatter_ratio * normal(random));
      sample.winding_celsius = celsius(sample.seconds);
      samples.push_back(sample);
    }
    return samples;
  }
};

// A 6 kV form-wound machine read at 2500 V would be the usual case; the rated voltage here fits 500 V DC.
inline RunCase FormWound() {
  RunCase c;
  c.judgement.megohm.rated_volts = 690;
  c.judgement.megohm.kind = WindingKind::kFormWound;
  return c;
}

inline InsulationRun Started(const RunCase& c) {
  absl::StatusOr<InsulationRun> run = InsulationRun::Start(c);
  if (!run.ok()) std::abort();
  return *std::move(run);
}

}  // namespace coilwright::insulation
