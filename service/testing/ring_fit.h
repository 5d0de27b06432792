#pragma once

#include <vector>

#include "absl/status/statusor.h"

namespace coilwright::testing {

// A damped ring v(t) = offset + exp(-a t) (A cos wt + B sin wt) through sampled volts.
struct Ring {
  double frequency_hz = 0;              // of the damped ring, w / 2 pi
  double frequency_error_hz = 0;        // standard error of the fit
  double damping_per_second = 0;        // a
  double damping_error_per_second = 0;  // standard error of the fit
  double natural_frequency_hz = 0;      // sqrt(w^2 + a^2) / 2 pi, as without loss: 1 / (2 pi sqrt(LC))
  double residual_ratio = 0;  // rms of what the fit leaves over rms of the ring; a clean ring leaves a few percent
  // Mean square of the step of what is left from one sample to the next over its mean square: 2 for white noise, near 0
  // where the samples leave the ring in one piece.
  double residual_roughness = 0;
  double offset_volts = 0;
  double amplitude_volts = 0, phase_radians = 0;  // of the cosine, carried back to the first sample of the record
  double peak_volts = 0;                          // greatest magnitude of the samples
};

// Frequency of the ring after the peak of a surge wave, by least squares (variable projection on w and a, started from
// the zero crossings). Seconds between samples above 0; at most 100000 samples.
// Accuracy: on a clean damped sine of four periods or more better than 1e-6; white noise of 2 % of the peak leaves
// about 0.1 % (tests). OUT_OF_RANGE, saying why: sampled too coarsely, fewer than 16 samples or fewer than eight a
// period. FAILED_PRECONDITION: no volts, fewer than one and a half periods.
absl::StatusOr<Ring> FitRing(const std::vector<double>& volts, double sample_seconds);

}  // namespace coilwright::testing
