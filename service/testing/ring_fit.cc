#include "testing/ring_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "absl/strings/str_format.h"
#include "standards/units.h"

namespace coilwright::testing {
namespace {

using standards::kPi;

constexpr size_t kLeastSamples = 16;
constexpr double kLeastSamplesPerPeriod = 8;
constexpr size_t kMostFitted = 2048;  // samples used for the fit; more are thinned

struct Samples {
  std::vector<double> volts;
  double step = 1;  // seconds
};

struct Start {
  double omega = 0, damping = 0;
};

double Greatest(const std::vector<double>& volts) {
  double peak = 0;
  for (const double v : volts) peak = std::max(peak, std::abs(v));
  return peak;
}

// Zero crossings of a wave of peak 1 that swing at least a tenth of it to either side: noise near zero is none.
absl::StatusOr<Start> FromCrossings(const Samples& s) {
  constexpr double kSwing = 0.1;
  int side = 0;
  size_t last_beyond = 0;
  std::vector<double> at;        // in samples
  std::vector<double> extremes;  // between them
  double extreme = 0;
  for (size_t i = 0; i < s.volts.size(); ++i) {
    const double v = s.volts[i];
    if (std::abs(v) < kSwing) continue;
    const int now = v > 0 ? 1 : -1;
    if (side != 0 && now != side) {
      const double before = s.volts[last_beyond];
      at.push_back(static_cast<double>(last_beyond) + static_cast<double>(i - last_beyond) * before / (before - v));
      extremes.push_back(extreme);
      extreme = 0;
    }
    extreme = std::max(extreme, std::abs(v));
    side = now;
    last_beyond = i;
  }
  if (at.size() < 3) {
    return absl::FailedPreconditionError(
        absl::StrFormat("%d zero crossings: fewer than one and a half periods of a ring", static_cast<int>(at.size())));
  }
  const double half = (at.back() - at.front()) / static_cast<double>(at.size() - 1);
  if (2 * half < kLeastSamplesPerPeriod) {
    return absl::OutOfRangeError(absl::StrFormat("%.1f samples a period: sample at least %g times faster", 2 * half,
                                                 std::ceil(kLeastSamplesPerPeriod / half)));
  }
  Start start;
  start.omega = kPi / (half * s.step);
  const double decay = std::log(std::max(extremes.front(), 1e-300) / std::max(extremes.back(), 1e-300));
  start.damping = std::max(0.0, decay / (half * s.step * static_cast<double>(extremes.size() - 1)));
  return start;
}

// Least squares of offset, A and B for a given w and a; the linear part of the fit.
struct Projection {
  std::array<double, 3> linear{};
  double squares = 0;       // of what is left
  double step_squares = 0;  // of its steps from sample to sample
};

std::optional<std::array<double, 3>> Solve3(std::array<std::array<double, 4>, 3> m) {
  for (size_t c = 0; c < 3; ++c) {
    size_t pivot = c;
    for (size_t r = c + 1; r < 3; ++r) {
      if (std::abs(m[r][c]) > std::abs(m[pivot][c])) pivot = r;
    }
    std::swap(m[c], m[pivot]);
    if (!(std::abs(m[c][c]) > 1e-12 * (1 + std::abs(m[c][3])))) return std::nullopt;
    for (size_t r = 0; r < 3; ++r) {
      if (r == c) continue;
      const double factor = m[r][c] / m[c][c];
      for (size_t k = c; k < 4; ++k) m[r][k] -= factor * m[c][k];
    }
  }
  return std::array<double, 3>{m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2]};
}

std::optional<Projection> Project(const Samples& s, const Start& at) {
  std::array<std::array<double, 4>, 3> normal{};
  const double shrink = std::exp(-at.damping * s.step), cosine = std::cos(at.omega * s.step),
               sine = std::sin(at.omega * s.step);
  const auto walk = [&](auto&& visit) {
    double c = 1, d = 0;  // exp(-a t) cos wt, exp(-a t) sin wt
    for (const double v : s.volts) {
      visit(c, d, v);
      const double next = shrink * (c * cosine - d * sine);
      d = shrink * (c * sine + d * cosine);
      c = next;
    }
  };
  walk([&](double c, double d, double v) {
    const std::array<double, 4> row = {1, c, d, v};
    for (size_t i = 0; i < 3; ++i) {
      for (size_t k = 0; k < 4; ++k) normal[i][k] += row[i] * row[k];
    }
  });
  const auto solved = Solve3(normal);
  if (!solved) return std::nullopt;
  Projection projection;
  projection.linear = *solved;
  std::optional<double> before;
  walk([&](double c, double d, double v) {
    const double left = v - projection.linear[0] - projection.linear[1] * c - projection.linear[2] * d;
    projection.squares += left * left;
    if (before) projection.step_squares += (left - *before) * (left - *before);
    before = left;
  });
  return projection;
}

struct Fit {
  Start at;
  Projection projection;
};

// Two dimensions and a smooth valley, its axes nearly along w and a: parabolas along each in turn, over shrinking
// steps.
std::optional<Fit> Refine(const Samples& s, Start start) {
  auto current = Project(s, start);
  if (!current) return std::nullopt;
  Fit fit = {start, *current};
  double step_w = 0.02 * start.omega, step_a = std::max(0.02 * start.omega, 0.2 * start.damping);
  for (int round = 0; round < 40 && step_w > 1e-8 * start.omega; ++round) {
    for (double Start::*which : {&Start::omega, &Start::damping}) {
      const double step = which == &Start::omega ? step_w : step_a;
      Start low = fit.at, high = fit.at;
      low.*which -= step;
      high.*which += step;
      const auto below = Project(s, low), above = Project(s, high);
      if (!below || !above) return std::nullopt;
      const double curve = below->squares + above->squares - 2 * fit.projection.squares;
      double move = 0;
      if (curve > 0) {
        move = std::clamp(0.5 * step * (below->squares - above->squares) / curve, -2 * step, 2 * step);
      } else {
        move = below->squares < above->squares ? -step : step;
      }
      Start next = fit.at;
      next.*which += move;
      const auto there = Project(s, next);
      if (there && there->squares < fit.projection.squares) fit = {next, *there};
    }
    step_w /= 2.5;
    step_a /= 2.5;
  }
  return fit;
}

// From the curvature of the sum of squares along one of the two: variance = 2 s^2 / curvature, s^2 = squares / (n - 5).
double StandardError(const Samples& samples, const Fit& fit, double Start::*which, double h) {
  Start low = fit.at, high = fit.at;
  low.*which -= h;
  high.*which += h;
  const auto below = Project(samples, low), above = Project(samples, high);
  const double curvature =
      below && above ? (below->squares + above->squares - 2 * fit.projection.squares) / (h * h) : 0;
  const double freedom = std::max(1.0, static_cast<double>(samples.volts.size()) - 5);
  return curvature > 0 ? std::sqrt(2 * fit.projection.squares / freedom / curvature) : fit.at.omega;
}

}  // namespace

absl::StatusOr<Ring> FitRing(const std::vector<double>& volts, double sample_seconds) {
  if (volts.size() < kLeastSamples) {
    return absl::OutOfRangeError(absl::StrFormat("%d samples: a wave needs at least %d", static_cast<int>(volts.size()),
                                                 static_cast<int>(kLeastSamples)));
  }
  Ring ring;
  ring.peak_volts = Greatest(volts);
  if (!(ring.peak_volts > 0)) return absl::FailedPreconditionError("a flat line: no pulse in the samples");
  // The ring begins at the peak; before it stands the front of the pulse.
  const auto peak =
      std::max_element(volts.begin(), volts.end(), [](double a, double b) { return std::abs(a) < std::abs(b); });
  Samples samples;
  samples.volts.assign(peak, volts.end());
  samples.step = 1;
  // Of a long record only what still rings, then thinned.
  size_t last = samples.volts.size();
  while (last > kLeastSamples && std::abs(samples.volts[last - 1]) < 0.01 * ring.peak_volts) --last;
  samples.volts.resize(last);
  const double scale = 1 / ring.peak_volts;
  for (double& v : samples.volts) v *= scale;
  if (samples.volts.size() < kLeastSamples / 2) {
    return absl::FailedPreconditionError("the wave ends at its peak: record more of it");
  }
  const auto start = FromCrossings(samples);
  if (!start.ok()) return start.status();
  const double per_period = 2 * kPi / start->omega;
  const size_t thin = std::min(1 + samples.volts.size() / kMostFitted,
                               std::max<size_t>(1, static_cast<size_t>(per_period / (2 * kLeastSamplesPerPeriod))));
  if (thin > 1) {
    std::vector<double> kept;
    for (size_t i = 0; i < samples.volts.size(); i += thin) kept.push_back(samples.volts[i]);
    samples.volts = std::move(kept);
    samples.step = static_cast<double>(thin);
  }
  // A long undamped record may still be too much: its first part holds enough periods.
  if (samples.volts.size() > kMostFitted) samples.volts.resize(kMostFitted);
  const auto fit = Refine(samples, *start);
  if (!fit || !(fit->at.omega > 0)) return absl::FailedPreconditionError("the samples do not ring like one coil");
  double total = 0;
  for (const double v : samples.volts) total += v * v;
  ring.residual_ratio = std::sqrt(fit->projection.squares / total);
  ring.residual_roughness = fit->projection.squares > 0 ? fit->projection.step_squares / fit->projection.squares : 0;
  const double omega_error = StandardError(samples, *fit, &Start::omega, 1e-4 * fit->at.omega);
  const double damping_error = StandardError(samples, *fit, &Start::damping, 1e-4 * fit->at.omega);
  const double per_second = 1 / sample_seconds;
  ring.frequency_hz = fit->at.omega / (2 * kPi) * per_second;
  ring.frequency_error_hz = std::min(omega_error, fit->at.omega) / (2 * kPi) * per_second;
  ring.damping_per_second = fit->at.damping * per_second;
  ring.damping_error_per_second = std::min(damping_error, fit->at.omega) * per_second;
  const auto& [offset, cosine, sine] = fit->projection.linear;
  const double before_fit = static_cast<double>(peak - volts.begin());  // samples
  ring.offset_volts = offset * ring.peak_volts;
  ring.amplitude_volts = std::hypot(cosine, sine) * ring.peak_volts * std::exp(fit->at.damping * before_fit);
  ring.phase_radians = std::atan2(-sine, cosine) - fit->at.omega * before_fit;
  ring.natural_frequency_hz = std::hypot(fit->at.omega, fit->at.damping) / (2 * kPi) * per_second;
  return ring;
}

}  // namespace coilwright::testing
