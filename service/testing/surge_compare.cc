#include "testing/surge_compare.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"

namespace coilwright::testing {
namespace {

constexpr double kPi = 3.14159265358979323846;
constexpr size_t kMostSamples = 20000;
constexpr const char* kPointNames[] = {"U-V", "V-W", "W-U", "U", "V", "W"};

const char* NameOf(WavePoint point) { return kPointNames[static_cast<size_t>(point)]; }
bool IsPair(WavePoint point) { return point <= WavePoint::kWU; }

double Peak(const std::vector<double>& volts) {
  double peak = 0;
  for (const double v : volts) peak = std::max(peak, std::abs(v));
  return peak;
}

void CheckSamples(standards::RangeCheck& check, const std::string& field, const std::vector<double>& volts) {
  if (volts.size() > kMostSamples) {
    check.Refuse(field, absl::StrCat(volts.size(), " samples"), absl::StrCat("at most ", kMostSamples));
    return;
  }
  const bool fine = std::all_of(volts.begin(), volts.end(), [](double v) { return std::abs(v) <= 1e6; });
  if (!fine) check.Refuse(field, "a sample out of range", "-1e+06 V to 1e+06 V");
}

absl::Status Check(const SurgeComparisonCase& c, double watch, double act, const std::vector<SurgeWave>& waves) {
  standards::RangeCheck check;
  check.Within("sample_seconds", c.sample_seconds, 1e-10, 1e-2, "s");
  if (waves.empty() || waves.size() > 3)
    check.Refuse("waves", absl::StrCat(waves.size(), " waves"), "one to three, two or three to compare");
  if (check.Above("surge_watch_ratio", watch, 0, 1, "") && check.Above("surge_act_ratio", act, 0, 2, "") && watch > act)
    check.Refuse("surge_watch_ratio", absl::StrFormat("%g", watch),
                 absl::StrFormat("at most the act level of %g", act));
  if (c.level_volts_peak) check.Above("level_volts_peak", *c.level_volts_peak, 0, 1e6, "V");
  std::set<WavePoint> seen;
  for (size_t i = 0; i < waves.size(); ++i) {
    const std::string path = absl::StrCat("waves[", i, "].");
    if (!seen.insert(waves[i].point).second)
      check.Refuse(path + "point", absl::StrCat(NameOf(waves[i].point), " again"), "each pair or phase once");
    if (IsPair(waves[i].point) != IsPair(waves[0].point))
      check.Refuse(path + "point", NameOf(waves[i].point), "all pairs of leads, or all phases");
    if (Peak(waves[i].volts) == 0) check.Refuse(path + "volts", "no volts", "the samples of one pulse");
    CheckSamples(check, path + "volts", waves[i].volts);
    CheckSamples(check, path + "volts_at_lower_level", waves[i].volts_at_lower_level);
  }
  return check.status();
}

std::vector<double> OverPeak(const std::vector<double>& volts) {
  std::vector<double> scaled = volts;
  const double peak = Peak(volts);
  for (double& v : scaled) v /= peak;
  return scaled;
}

// A step between two samples steeper than `slope` (of the peak, a sample) after the peak.
std::optional<size_t> StepAfterPeak(const std::vector<double>& volts, double slope) {
  const double peak = Peak(volts);
  size_t i = 0;
  while (std::abs(volts[i]) < peak) ++i;
  for (; i + 1 < volts.size(); ++i) {
    if (std::abs(volts[i + 1] - volts[i]) > slope * peak) return i;
  }
  return std::nullopt;
}

// What a ring of the slowest wave can do from one sample to the next, thrice over, and never less than noise may do.
// Without a ring, four tenths of the peak.
double SteepestStep(const std::vector<WaveFinding>& waves, double sample_seconds) {
  double slowest_hz = 0;
  for (const WaveFinding& wave : waves) {
    if (wave.ring && (slowest_hz == 0 || wave.ring->frequency_hz < slowest_hz)) slowest_hz = wave.ring->frequency_hz;
  }
  return slowest_hz > 0 ? std::max(0.15, 3 * 2 * kPi * slowest_hz * sample_seconds) : 0.4;
}

void FindCollapses(const std::vector<SurgeWave>& waves, double sample_seconds, SurgeComparison& out) {
  const double steepest = SteepestStep(out.waves, sample_seconds);
  const bool rings =
      std::any_of(out.waves.begin(), out.waves.end(), [](const WaveFinding& w) { return w.ring.has_value(); });
  for (size_t i = 0; i < waves.size(); ++i) {
    // From one sample of a coarse ring to the next lies most of its swing: no step stands out.
    if (out.waves[i].too_coarse && !rings) continue;
    if (const auto at = StepAfterPeak(waves[i].volts, steepest)) {
      out.waves[i].collapsed = true;
      out.waves[i].collapse_microseconds = 1e6 * sample_seconds * static_cast<double>(*at);
    }
  }
}

void AddDifferences(const std::vector<SurgeWave>& waves, SurgeComparison& out) {
  for (size_t i = 0; i < waves.size(); ++i) {
    for (size_t j = i + 1; j < waves.size(); ++j) {
      WaveDifference difference;
      difference.first = i;
      difference.second = j;
      difference.waveform_difference_ratio = WaveformDifferenceRatio(waves[i].volts, waves[j].volts);
      const auto &a = out.waves[i].ring, &b = out.waves[j].ring;
      if (a && b) {
        difference.frequency_shift = b->frequency_hz / a->frequency_hz - 1;
        const double slower = a->natural_frequency_hz / b->natural_frequency_hz;
        difference.inductance_change = slower * slower - 1;
      }
      out.differences.push_back(difference);
    }
  }
}

// The phase or pair whose ring is faster than the others'.
std::string FasterOne(const std::vector<SurgeWave>& waves, const SurgeComparison& out) {
  std::vector<size_t> by_speed;
  for (size_t i = 0; i < waves.size(); ++i) {
    if (!out.waves[i].ring) return absl::StrCat(NameOf(waves[i].point), " does not ring: look there first");
    by_speed.push_back(i);
  }
  std::sort(by_speed.begin(), by_speed.end(), [&](size_t a, size_t b) {
    return out.waves[a].ring->natural_frequency_hz > out.waves[b].ring->natural_frequency_hz;
  });
  const auto hz = [&](size_t rank) { return out.waves[by_speed[rank]].ring->natural_frequency_hz; };
  const char* fastest = NameOf(waves[by_speed[0]].point);
  if (waves.size() == 3 && IsPair(waves[0].point) && hz(1) - hz(2) > hz(0) - hz(1)) {
    // Two pairs are faster alike: their common lead is the one the slow pair lacks.
    constexpr const char* kOpposite[] = {"W", "U", "V"};
    return absl::StrFormat("the two faster pairs share phase %s: its inductance is low, as a shorted turn makes it",
                           kOpposite[static_cast<size_t>(waves[by_speed[2]].point)]);
  }
  return absl::StrFormat(
      "%s rings fastest, %.2f %% over the slowest: its inductance is lowest, as a shorted turn makes it", fastest,
      100 * (hz(0) / hz(waves.size() - 1) - 1));
}

// Whether the two rings explain less than `watch` of a larger difference: then the start of the records differs, not
// the coils. The waves move apart by the difference of w over the time the ring lasts, and by those of damping and
// peak.
bool OnlyShifted(const WaveDifference& difference, const std::vector<SurgeWave>& waves, double sample_seconds,
                 double watch, const SurgeComparison& out) {
  const WaveFinding &first = out.waves[difference.first], &second = out.waves[difference.second];
  if (!first.ring || !second.ring || difference.waveform_difference_ratio <= watch) return false;
  const Ring &a = *first.ring, &b = *second.ring;
  if (std::max(a.residual_ratio, b.residual_ratio) > watch) return false;
  const double record = sample_seconds * static_cast<double>(waves[difference.first].volts.size());
  const double lasts = 1 / std::max(a.damping_per_second, 1 / record);
  const double explained = lasts * (2 * kPi * std::abs(a.frequency_hz - b.frequency_hz) +
                                    std::abs(a.damping_per_second - b.damping_per_second)) +
                           std::abs(first.peak_volts - second.peak_volts) / first.peak_volts;
  return explained <= watch;
}

// A breakdown is one whatever else the readings are worth.
bool JudgeBreakdown(const std::vector<SurgeWave>& waves, double watch, double act, SurgeComparison& out) {
  JudgedTest& test = out.test;
  for (size_t i = 0; i < waves.size(); ++i) {
    const WaveFinding& wave = out.waves[i];
    const bool reshaped = wave.level_difference_ratio && *wave.level_difference_ratio > act;
    if (!wave.collapsed && !reshaped) continue;
    test.verdict = Verdict::kFail;
    test.suspect = Suspect::kBreakdown;
    test.reason = wave.collapsed
                      ? absl::StrFormat("%s: the voltage collapses %.2f us into the record", NameOf(waves[i].point),
                                        *wave.collapse_microseconds)
                      : absl::StrFormat("%s: the wave changes shape by %.1f %% between the lower and the full voltage",
                                        NameOf(waves[i].point), 100 * *wave.level_difference_ratio);
    test.points_to = {absl::StrCat("turn or phase insulation of ", NameOf(waves[i].point),
                                   " gives way under voltage: no more pulses at this level")};
    return true;
  }
  for (size_t i = 0; i < waves.size(); ++i) {
    if (!out.waves[i].level_difference_ratio || *out.waves[i].level_difference_ratio <= watch) continue;
    test.points_to.push_back(absl::StrFormat("%s changes shape by %.1f %% with voltage: repeat it in small steps",
                                             NameOf(waves[i].point), 100 * *out.waves[i].level_difference_ratio));
  }
  return false;
}

// Why the waves may not be held against each other; empty where they may.
std::string WhyNotValid(const SurgeComparisonCase& c, const std::vector<SurgeWave>& waves, const SurgeComparison& out) {
  for (size_t i = 0; i < waves.size(); ++i) {
    if (c.level_volts_peak && out.waves[i].peak_volts < *c.level_volts_peak * (1 - Setting("level_tolerance"))) {
      return absl::StrFormat("%s peaks at %.4g V, below the %.4g V of this stage: the turn insulation is not proved",
                             NameOf(waves[i].point), out.waves[i].peak_volts, *c.level_volts_peak);
    }
  }
  if (c.rotor_in && !c.induction && !c.locked_at_same_position) {
    return "a magnet or salient rotor makes the waves differ by its position: compare with the rotor locked at the "
           "same "
           "electrical position for each, or out; only an induction machine needs no lock";
  }
  if (waves.size() < 2) return "one wave has nothing to be compared with: read the other two";
  if (std::none_of(out.waves.begin(), out.waves.end(), [](const WaveFinding& w) { return w.ring.has_value(); }))
    return absl::StrCat(out.waves[0].too_coarse ? "sampled too coarsely: " : "no wave rings: ",
                        out.waves[0].no_ring_reason);
  return "";
}

}  // namespace

double WaveformDifferenceRatio(const std::vector<double>& a, const std::vector<double>& b) {
  double difference = 0, sum = 0;
  for (size_t i = 0; i < std::min(a.size(), b.size()); ++i) {
    difference += std::abs(a[i] - b[i]);
    sum += std::abs(a[i]);
  }
  return sum > 0 ? difference / sum : 0;
}

absl::StatusOr<SurgeComparison> CompareSurges(const SurgeComparisonCase& c, const std::vector<SurgeWave>& waves) {
  const double watch = c.watch.value_or(Setting("surge_watch")), act = c.act.value_or(Setting("surge_act"));
  if (absl::Status status = Check(c, watch, act, waves); !status.ok()) return status;

  SurgeComparison out;
  out.watch = watch;
  out.act = act;
  JudgedTest& test = out.test;
  test.kind = TestKind::kSurge;
  test.title = "Surge comparison of the turn insulation";
  test.unit = "ratio";
  test.limit =
      AtMost(watch, "ratio",
             absl::StrFormat("waveform difference ratio at most %g, above %g a fault; the shop's set-points, no "
                             "standard sets any",
                             watch, act),
             rules::shop_judgement_surge_set_points);
  test.guard_band_rule = rules::shop_judgement_surge_set_points;
  test.rules = {rules::practice_surge_difference, rules::testing_ring_frequency, rules::testing_surge_collapse,
                rules::shop_judgement_surge_set_points};
  for (const SurgeWave& wave : waves) {
    WaveFinding finding;
    finding.point = wave.point;
    finding.peak_volts = Peak(wave.volts);
    const auto ring = FitRing(wave.volts, c.sample_seconds);
    if (ring.ok()) finding.ring = *ring;
    if (!ring.ok()) finding.no_ring_reason = std::string(ring.status().message());
    finding.too_coarse = absl::IsOutOfRange(ring.status());
    if (Peak(wave.volts_at_lower_level) > 0)
      finding.level_difference_ratio =
          WaveformDifferenceRatio(OverPeak(wave.volts_at_lower_level), OverPeak(wave.volts));
    out.waves.push_back(std::move(finding));
  }
  FindCollapses(waves, c.sample_seconds, out);
  const std::string why_not = WhyNotValid(c, waves, out);
  const bool arbitrary = c.rotor_in && !c.induction && !c.locked_at_same_position;
  if (!arbitrary) AddDifferences(waves, out);
  if (JudgeBreakdown(waves, watch, act, out)) return out;
  if (!why_not.empty()) {
    test.reason = why_not;
    test.suspect = Suspect::kReading;
    return out;
  }
  double greatest = 0;
  for (const WaveDifference& difference : out.differences)
    greatest = std::max(greatest, difference.waveform_difference_ratio);
  const bool reshaped = !test.points_to.empty();
  const bool shifted = std::any_of(out.differences.begin(), out.differences.end(), [&](const WaveDifference& d) {
    return OnlyShifted(d, waves, c.sample_seconds, watch, out);
  });
  const bool coils_differ = std::any_of(out.differences.begin(), out.differences.end(), [&](const WaveDifference& d) {
    return d.waveform_difference_ratio > watch && !OnlyShifted(d, waves, c.sample_seconds, watch, out);
  });
  test.as_read = greatest;
  test.margin = watch - greatest;
  if (shifted && !coils_differ && !reshaped) {
    test.reason =
        "the waves ring alike in frequency, damping and peak and differ only in where they begin: the trigger, not the "
        "coils";
    test.suspect = Suspect::kReading;
    test.points_to = {"set the trigger to the same point of each pulse and read the three waves again"};
    return out;
  }
  out.turn_insulation_tested = waves.size() == 3;
  if (greatest <= watch && !reshaped) {
    test.verdict = Verdict::kPass;
    test.reason = waves.size() == 3 ? "the three waves lie on each other"
                                    : "the two waves lie on each other; the third is missing, and a fault in the lead "
                                      "they share moves both alike";
    return out;
  }
  test.verdict = greatest <= act ? Verdict::kMarginal : Verdict::kFail;
  if (greatest > act) {
    test.limit.high = act;
    test.margin = act - greatest;
  }
  test.suspect = Suspect::kShortedTurns;
  test.reason = greatest > act     ? "the waves differ by more than the shop's act level"
                : greatest > watch ? "the waves differ by more than the shop's watch level"
                                   : "a wave changes its shape with the voltage";
  if (greatest > watch) test.points_to.insert(test.points_to.begin(), FasterOne(waves, out));
  if (c.rotor_in && c.induction)
    test.points_to.push_back("rotor bars alone make small differences: turn the rotor a little and repeat");
  if (c.concentric)
    test.points_to.push_back(
        "phases of concentric coils differ by themselves: compare with the winding when it was good");
  return out;
}

}  // namespace coilwright::testing
