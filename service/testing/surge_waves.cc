#include "testing/surge_waves.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "standards/units.h"

namespace coilwright::testing {
namespace {

using standards::kPi;

constexpr double kErrors = 4;                // standard errors that two fits may lie apart
constexpr double kLeastShift = 1e-3;         // of a frequency, to be called another
constexpr double kLeastStep = 0.15;          // of the peak, from one sample to the next
constexpr double kLostPeak = 0.7;            // of the peak, where the median leaves less the peak was a sample or two
constexpr double kFlatShareOfPeriod = 0.08;  // a cosine cut off 3 % below its top stays there so long
constexpr double kCutFrequencyShare = 0.01;  // what a cut top may do to the frequency fitted

double SlowestHz(const SurgeComparison& out) {
  double slowest_hz = 0;
  for (const WaveFinding& wave : out.waves) {
    if (wave.ring && (slowest_hz == 0 || wave.ring->frequency_hz < slowest_hz)) slowest_hz = wave.ring->frequency_hz;
  }
  return slowest_hz;
}

// Median of `half` samples to either side, of fewer at the start, of the last ones at the end.
std::vector<double> RunningMedian(const std::vector<double>& volts, size_t half) {
  std::vector<double> out, window;
  const size_t n = volts.size();
  if (n < 2 * half + 1) return volts;
  for (size_t i = 0; i < n; ++i) {
    const size_t reach = std::min(i, half), last = std::min(n - 1, i + reach), first = last - 2 * reach;
    window.assign(volts.begin() + static_cast<std::ptrdiff_t>(first),
                  volts.begin() + static_cast<std::ptrdiff_t>(last) + 1);
    const auto middle = window.begin() + static_cast<std::ptrdiff_t>(reach);
    std::nth_element(window.begin(), middle, window.end());
    out.push_back(*middle);
  }
  return out;
}

// Of white noise with this second difference; the ring itself hardly bends from sample to sample.
double NoiseVolts(const std::vector<double>& volts) {
  std::vector<double> bends;
  for (size_t i = 1; i + 1 < volts.size(); ++i) bends.push_back(std::abs(volts[i + 1] - 2 * volts[i] + volts[i - 1]));
  if (bends.empty()) return 0;
  const auto middle = bends.begin() + static_cast<std::ptrdiff_t>(bends.size() / 2);
  std::nth_element(bends.begin(), middle, bends.end());
  constexpr double kMedianOfNormal = 0.6745;
  return *middle / kMedianOfNormal / std::sqrt(6.0);
}

// The first step between two samples of more than `most` volts at or after the peak.
std::optional<size_t> StepAfterPeak(const std::vector<double>& volts, double most) {
  const double peak = Peak(volts);
  size_t i = 0;
  while (std::abs(volts[i]) < peak) ++i;
  for (; i + 1 < volts.size(); ++i) {
    if (std::abs(volts[i + 1] - volts[i]) > most) return i;
  }
  return std::nullopt;
}

bool CutOff(const std::vector<double>& volts, double samples_a_period) {
  const auto [least, greatest] = std::minmax_element(volts.begin(), volts.end());
  const double hair = 1e-3 * Peak(volts);
  for (const double end : {*least, *greatest}) {
    // Only the outermost swings are cut: those of the peak's own size.
    if (std::abs(end) < kLostPeak * Peak(volts)) continue;
    size_t longest = 0, run = 0;
    for (const double v : volts) longest = std::max(longest, run = std::abs(v - end) <= hair ? run + 1 : 0);
    if (static_cast<double>(longest) > std::max(4.0, kFlatShareOfPeriod * samples_a_period)) return true;
  }
  return false;
}

bool AlikeRings(const Ring& a, const Ring& b, double record_seconds, double watch) {
  // A residue in one piece is not noise: something happens within the wave that the ring does not tell.
  for (const Ring& ring : {a, b}) {
    if (ring.residual_ratio > watch && ring.residual_roughness < 1) return false;
  }
  const double hertz = std::abs(a.frequency_hz - b.frequency_hz);
  const double damping = std::abs(a.damping_per_second - b.damping_per_second);
  if (hertz <= kErrors * std::hypot(a.frequency_error_hz, b.frequency_error_hz) &&
      damping <= kErrors * std::hypot(a.damping_error_per_second, b.damping_error_per_second)) {
    return true;
  }
  // The waves move apart by the differences of w and a over the time the ring lasts.
  const double lasts = 1 / std::max(a.damping_per_second, 1 / record_seconds);
  return lasts * (2 * kPi * hertz + damping) <= watch;
}

// Whether white noise, by how the samples bend, makes up most of the difference. Fine samples only: a coarse ring bends
// by itself.
bool NoiseExplains(const std::vector<double>& one, const std::vector<double>& two, double samples_a_period) {
  constexpr double kFineSamples = 40, kMeanOfNormal = 0.798, kMostOfIt = 0.7;
  if (samples_a_period < kFineSamples) return false;
  const size_t n = std::min(one.size(), two.size());
  double apart = 0;
  for (size_t i = 0; i < n; ++i) apart += std::abs(one[i] - two[i]);
  const double noise = kMeanOfNormal * std::hypot(NoiseVolts(one), NoiseVolts(two)) * static_cast<double>(n);
  return noise > kMostOfIt * apart;
}

}  // namespace

double Peak(const std::vector<double>& volts) {
  double peak = 0;
  for (const double v : volts) peak = std::max(peak, std::abs(v));
  return peak;
}

bool IsNoise(const std::vector<double>& volts) {
  double squares = 0, steps = 0;
  for (size_t i = 0; i + 1 < volts.size(); ++i) {
    squares += volts[i] * volts[i];
    steps += (volts[i + 1] - volts[i]) * (volts[i + 1] - volts[i]);
  }
  return steps > squares;
}

void FindCollapses(const std::vector<SurgeWave>& waves, double sample_seconds, SurgeComparison& out) {
  // What a ring of the slowest wave can do from one sample to the next, thrice over. Without a ring, 0.4 of the peak.
  const double hertz = SlowestHz(out);
  const double steepest = hertz > 0 ? std::max(kLeastStep, 3 * 2 * kPi * hertz * sample_seconds) : 0.4;
  const double samples_a_period = hertz > 0 ? 1 / (hertz * sample_seconds) : 0;
  const auto half = static_cast<size_t>(std::clamp(samples_a_period / 60, 2.0, 50.0));
  std::vector<std::vector<double>> smooth;
  double greatest = 0;
  for (const SurgeWave& wave : waves) {
    smooth.push_back(RunningMedian(wave.volts, half));
    greatest = std::max(greatest, Peak(smooth.back()));
  }
  for (size_t i = 0; i < waves.size(); ++i) {
    // From one sample of a coarse ring to the next lies most of its swing: no step stands out.
    if (out.waves[i].too_coarse && hertz == 0) continue;
    if (!out.waves[i].ring && IsNoise(waves[i].volts)) continue;
    const double peak = Peak(smooth[i]);
    auto at = StepAfterPeak(smooth[i], std::max(steepest * peak, 3 * NoiseVolts(waves[i].volts)));
    const auto raw = StepAfterPeak(waves[i].volts, steepest * Peak(waves[i].volts));
    // A voltage that is gone a sample or two after its peak leaves the median nothing of it.
    const bool at_once = raw && peak < kLostPeak * Peak(waves[i].volts) && peak < kLostPeak * greatest;
    if (!at && at_once) at = raw;
    out.waves[i].strays = raw && !at;
    if (!at) continue;
    out.waves[i].collapsed = true;
    out.waves[i].collapse_microseconds = 1e6 * sample_seconds * static_cast<double>(*at);
  }
}

std::string WhyAlike(const WaveDifference& difference, const std::vector<SurgeWave>& waves, double sample_seconds,
                     double watch, const SurgeComparison& out, std::string& cure) {
  const WaveFinding &first = out.waves[difference.first], &second = out.waves[difference.second];
  if (!first.ring || !second.ring) return "";
  const Ring &a = *first.ring, &b = *second.ring;
  const std::vector<double>&one = waves[difference.first].volts, &two = waves[difference.second].volts;
  const double samples_a_period = 1 / (a.frequency_hz * sample_seconds);
  const bool cut = CutOff(one, samples_a_period) != CutOff(two, samples_a_period);
  if (cut && std::abs(b.frequency_hz / a.frequency_hz - 1) <= kCutFrequencyShare) {
    cure = "set the same range, wide enough for the whole wave, for all of them";
    return "one record is cut off at its top: the range of the instrument, not the coils";
  }
  const char* const quiet = "set clips, screens and range so that the curve stands clear of the noise";
  if (NoiseExplains(one, two, samples_a_period)) {
    cure = quiet;
    return "the waves differ by their noise, not the coils";
  }
  if (!AlikeRings(a, b, sample_seconds * static_cast<double>(one.size()), watch)) return "";
  const double turn = std::remainder(b.phase_radians - a.phase_radians, 2 * kPi);
  const double gain =
      b.amplitude_volts / a.amplitude_volts * std::exp(a.damping_per_second * turn / (2 * kPi * a.frequency_hz));
  const bool other_peak = std::abs(second.peak_volts / first.peak_volts - 1) > watch / 2;
  const bool other_gain = std::abs(gain - 1) > watch / 2;
  // Noise shifts a fit a little too.
  const double least = std::max(watch / 4, std::max(a.residual_ratio, b.residual_ratio) / 2);
  const bool turned = std::abs(std::abs(turn) - kPi) < 0.1 && std::abs(b.amplitude_volts / a.amplitude_volts - 1) < 0.1;
  std::vector<std::string> what, set;
  if (turned) {
    what.emplace_back("their sign: two clips changed over");
    set.emplace_back("the clips the same way round for each");
  } else if (std::abs(turn) > least || (other_gain && !other_peak)) {
    what.emplace_back("where they begin: the trigger");
    set.emplace_back("the trigger to the same point of each pulse");
  }
  if (other_gain && other_peak && !turned) {
    what.emplace_back("their voltage");
    set.emplace_back("the same voltage for each");
  }
  if (std::abs(b.offset_volts - a.offset_volts) > least * first.peak_volts) {
    what.emplace_back("their offset");
    set.emplace_back("the same range and offset, the zero line at zero");
  }
  if (what.empty()) {
    cure = quiet;
    return "the waves ring alike in frequency and damping and differ by their noise, not the coils";
  }
  cure = absl::StrCat("set ", absl::StrJoin(set, "; "));
  return absl::StrCat("the waves ring alike in frequency and damping and differ only in ", absl::StrJoin(what, " and "),
                      ", not the coils");
}

bool RingsFaster(const Ring& faster, const Ring& slower) {
  const double errors = kErrors * std::hypot(faster.frequency_error_hz, slower.frequency_error_hz);
  const double least = std::max(errors, kLeastShift * slower.frequency_hz);
  // Damping alone moves one of the two; a lower inductance moves both.
  return faster.frequency_hz - slower.frequency_hz > least &&
         faster.natural_frequency_hz - slower.natural_frequency_hz > least;
}

}  // namespace coilwright::testing
