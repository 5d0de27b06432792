#include "testing/surge_compare.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"
#include "testing/surge_waves.h"
#include "testing/three_leads.h"

namespace coilwright::testing {

const char* NameOf(WavePoint point) {
  constexpr const char* kNames[] = {"U-V", "V-W", "W-U", "U", "V", "W"};
  return kNames[static_cast<size_t>(point)];
}

namespace {

constexpr size_t kMostSamples = 20000;
bool IsPair(WavePoint point) { return point <= WavePoint::kWU; }

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

// The phase or pair whose ring is faster than the others', or dies sooner.
std::string OddOne(const std::vector<SurgeWave>& waves, const SurgeComparison& out) {
  std::vector<size_t> order;
  for (size_t i = 0; i < waves.size(); ++i) {
    if (!out.waves[i].ring) return absl::StrCat(NameOf(waves[i].point), " does not ring: look there first");
    order.push_back(i);
  }
  const auto ring = [&](size_t rank) -> const Ring& { return *out.waves[order[rank]].ring; };
  const auto sort_by = [&](double Ring::*value) {
    std::sort(order.begin(), order.end(),
              [&](size_t a, size_t b) { return (*out.waves[a].ring).*value > (*out.waves[b].ring).*value; });
  };
  sort_by(&Ring::natural_frequency_hz);
  const auto hz = [&](size_t rank) { return ring(rank).natural_frequency_hz; };
  const size_t last = waves.size() - 1;
  if (!RingsFaster(ring(0), ring(last))) {
    sort_by(&Ring::damping_per_second);
    if (ring(0).damping_per_second <= 0) return "frequency and damping do not tell the waves apart: look at the curves";
    return absl::StrFormat(
        "%s dies down fastest, at %.3g /s against %.3g /s, with the frequency the same: something takes its energy, a "
        "turn shorted through resistance, damp insulation or metal near the coil",
        NameOf(waves[order[0]].point), ring(0).damping_per_second, ring(last).damping_per_second);
  }
  if (waves.size() == 3 && IsPair(waves[0].point) && hz(1) - hz(2) > hz(0) - hz(1)) {
    // Two pairs are faster alike: their common lead is the one the slow pair lacks.
    return absl::StrFormat("the two faster pairs share phase %s: its inductance is low, as a shorted turn makes it",
                           kPhaseLacking[static_cast<size_t>(waves[order[2]].point)]);
  }
  return absl::StrFormat(
      "%s rings fastest, %.2f %% over the slowest: its inductance is lowest, as a shorted turn makes it",
      NameOf(waves[order[0]].point), 100 * (hz(0) / hz(last) - 1));
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
  for (size_t i = 0; i < waves.size(); ++i) {
    if (!out.waves[i].ring && IsNoise(waves[i].volts))
      return absl::StrCat(NameOf(waves[i].point), " shows no pulse, only noise: clips, leads and the trigger first");
  }
  return "";
}

// A pulse far above the level proves no more and may have weakened the winding.
void JudgeStress(const SurgeComparisonCase& c, SurgeComparison& out) {
  if (!c.level_volts_peak) return;
  double peak = 0;
  for (const WaveFinding& wave : out.waves) peak = std::max(peak, wave.peak_volts);
  if (peak <= (1 + Setting("level_over_most")) * *c.level_volts_peak) return;
  out.test.verdict = Verdict::kMarginal;
  out.test.rules.push_back(rules::shop_judgement_level);
  absl::StrAppend(&out.test.reason, absl::StrFormat("; over-stressed, %.4g V, %.3g times the %.4g V asked for", peak,
                                                    peak / *c.level_volts_peak, *c.level_volts_peak));
  out.test.points_to.push_back(
      "no more pulses above the level: megohms and one comparison at it, against those before, and the voltage written "
      "on its paper");
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
  std::string alike, cure;
  bool coils_differ = false;
  for (const WaveDifference& difference : out.differences) {
    if (difference.waveform_difference_ratio <= watch) continue;
    const std::string why = WhyAlike(difference, waves, c.sample_seconds, watch, out, cure);
    if (why.empty()) coils_differ = true;
    if (alike.empty()) alike = why;
  }
  test.as_read = greatest;
  test.margin = watch - greatest;
  if (!alike.empty() && !coils_differ && !reshaped) {
    test.reason = alike;
    test.suspect = Suspect::kReading;
    test.points_to = {absl::StrCat(cure, "; then read the three waves again")};
    return out;
  }
  const auto stray = std::find_if(out.waves.begin(), out.waves.end(), [](const WaveFinding& w) { return w.strays; });
  if (stray != out.waves.end() && !coils_differ && !reshaped) {
    test.reason = absl::StrCat(NameOf(stray->point),
                               ": samples far off a curve that goes on as before: interference, not a breakdown");
    test.suspect = Suspect::kReading;
    test.points_to = {"clips, screens and earth of the instrument first; then read the three waves again"};
    return out;
  }
  out.turn_insulation_tested = waves.size() == 3;
  if (greatest <= watch && !reshaped) {
    test.verdict = Verdict::kPass;
    test.reason = waves.size() == 3 ? "the three waves lie on each other"
                                    : "the two waves lie on each other; the third is missing, and a fault in the lead "
                                      "they share moves both alike";
    JudgeStress(c, out);
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
  if (greatest > watch) test.points_to.insert(test.points_to.begin(), OddOne(waves, out));
  if (c.rotor_in && c.induction)
    test.points_to.push_back("rotor bars alone make small differences: turn the rotor a little and repeat");
  if (c.concentric)
    test.points_to.push_back(
        "phases of concentric coils differ by themselves: compare with the winding when it was good");
  return out;
}

}  // namespace coilwright::testing
