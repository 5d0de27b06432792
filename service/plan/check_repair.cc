#include <algorithm>
#include <cmath>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "plan/check_model.h"
#include "plan/check_settings.h"
#include "standards/rule_ids.h"

// Records that cannot be judged as they stand: readings of which one must be wrong, and counts that make no winding.
// Each slip that would mend the record gives another record, which is checked like any; the chances of the slips and
// the evidence of those records weigh them against each other.
namespace coilwright::plan {
namespace {

// Two readings this near are alike, as a share of what sets the third apart.
constexpr double kAlike = 0.4;

struct Repair {
  Correction correction;
  std::string look;
  double chance = 0;
  Record record;
};

Repair RepairOf(const char* slip, std::string recorded, std::string reads, const Record& record) {
  const SlipRow& row = RowOf(slip);
  return {{slip, row.field, row.what, std::move(recorded), std::move(reads)}, row.look, row.chance, record};
}

struct Weighable {
  const Repair* repair;
  Weighed weighed;
  double weight = 0;
};

// One check of all, likeliest group first. `heaviest` is the one whose measurements are shown.
RecordCheck Merge(const std::vector<Weighable>& all, const Weighable& heaviest) {
  RecordCheck check = heaviest.weighed.check;
  check.explanations.clear();
  check.group_probabilities.clear();
  check.sound_probability = check.unexplained_probability = 0;
  check.next.reset();
  for (const Weighable& one : all) {
    const RecordCheck& part = one.weighed.check;
    check.unexplained_probability += one.weight * part.unexplained_probability;
    const int before = static_cast<int>(check.group_probabilities.size());
    for (const double p : part.group_probabilities) check.group_probabilities.push_back(one.weight * p);
    const bool same = part.agreements.size() == check.agreements.size();
    for (Explanation e : part.explanations) {
      e.corrections.insert(e.corrections.begin(), one.repair->correction);
      e.probability *= one.weight;
      e.group += before;
      if (!same) e.sigmas.clear();
      if (e.probability >= kLeastProbability) check.explanations.push_back(std::move(e));
    }
  }
  std::stable_sort(check.explanations.begin(), check.explanations.end(),
                   [&](const Explanation& a, const Explanation& b) {
                     const double one = check.group_probabilities[static_cast<size_t>(a.group)],
                                  other = check.group_probabilities[static_cast<size_t>(b.group)];
                     return one != other ? one > other : a.group < b.group;
                   });
  if (check.explanations.size() > kMostExplanations) check.explanations.resize(kMostExplanations);
  std::vector<double> probabilities;
  int last = -1;
  for (Explanation& e : check.explanations) {
    if (e.group != last) probabilities.push_back(check.group_probabilities[static_cast<size_t>(e.group)]);
    last = e.group;
    e.group = static_cast<int>(probabilities.size()) - 1;
  }
  check.group_probabilities = std::move(probabilities);
  return check;
}

std::optional<RecordCheck> CheckRepairs(const std::vector<Repair>& repairs, const Settings& settings, Moment moment,
                                        const std::string& why) {
  std::vector<Weighable> all;
  double greatest = -HUGE_VAL, sum = 0;
  for (const Repair& repair : repairs) {
    if (!ContradictionsBesideSpeed(repair.record).empty()) continue;
    const absl::StatusOr<Original> original = DescribeOriginal(repair.record, settings);
    if (!original.ok()) continue;
    all.push_back({&repair, Weigh(repair.record, *original, settings, moment)});
    all.back().weight = std::log(repair.chance) + all.back().weighed.ln_evidence;
    greatest = std::max(greatest, all.back().weight);
  }
  if (all.empty()) return std::nullopt;
  for (Weighable& one : all) sum += one.weight = std::exp(one.weight - greatest);
  for (Weighable& one : all) one.weight /= sum;
  const Weighable& heaviest = *std::max_element(
      all.begin(), all.end(), [](const Weighable& a, const Weighable& b) { return a.weight < b.weight; });
  RecordCheck check = Merge(all, heaviest);
  const bool explained = !check.explanations.empty() && check.unexplained_probability < CheckBounds().decided_from &&
                         WorstSigmas(check.explanations.front().sigmas) < CheckBounds().explained_sigmas;
  check.verdict = explained ? Verdict::kExplained : Verdict::kUnexplained;
  check.summary = absl::StrCat(why, explained ? absl::StrCat(" Likeliest: ", TextOf(check.explanations.front()), ".")
                                              : " No single slip makes the rest agree: measure and count again.");
  check.next = NextMeasurement{heaviest.repair->correction.what, heaviest.repair->look, 20};
  check.may_be_destroyed_next = "nothing: settle the record first, while the winding can still be counted";
  return check;
}

}  // namespace

std::optional<RecordCheck> CheckUnbalanced(const Record& record, const Original& original, const Settings& settings,
                                           Moment moment) {
  if (!record.resistance || record.resistance->line_to_line_ohms.size() != 3) return std::nullopt;
  const std::vector<double>& ohms = record.resistance->line_to_line_ohms;
  const double percent = electric::UnbalancePercent({ohms[0], ohms[1], ohms[2]});
  const double most = UnbalanceExplainedPercent(record.winding.form);
  if (percent <= most) return std::nullopt;

  std::vector<double> sorted = ohms;
  std::sort(sorted.begin(), sorted.end());
  // Any three terminals: the reading over two pairs in a row is the most that the third pair can give.
  const bool impossible = sorted[2] >= sorted[0] + sorted[1];
  std::string why = absl::StrFormat(
      "The three readings %.4g, %.4g and %.4g ohm lie up to %.3g %% from their mean, where instruments explain %g %%: "
      "%s.",
      ohms[0], ohms[1], ohms[2], percent, most,
      impossible ? "no three windings give them, so that one is mistyped or misread"
                 : "one is mistyped or misread, or a phase has a bad joint, shorted turns or an open circuit");
  const bool high_alone = sorted[2] - sorted[1] >= sorted[1] - sorted[0];
  const double odd = high_alone ? sorted[2] : sorted[0];
  const double near = high_alone ? sorted[1] - sorted[0] : sorted[2] - sorted[1];
  const double far = high_alone ? sorted[2] - sorted[1] : sorted[1] - sorted[0];
  const double pair = high_alone ? (sorted[0] + sorted[1]) / 2 : (sorted[1] + sorted[2]) / 2;
  std::vector<Repair> repairs;
  const auto mend = [&](const char* slip, double recorded, double reads) {
    Record mended = record;
    mended.resistance->line_to_line_ohms = {reads, reads, reads};
    repairs.push_back(
        RepairOf(slip, absl::StrFormat("%.4g ohm", recorded), absl::StrFormat("%.4g ohm", reads), mended));
  };
  if (near <= kAlike * far) {
    mend("one_reading", odd, pair);
    if (!impossible) mend("bad_joint", pair, odd);
  }
  std::optional<RecordCheck> check = CheckRepairs(repairs, settings, moment, why);
  if (!check) {
    check = Weigh(record, original, settings, moment).check;
    check->verdict = Verdict::kUnexplained;
    check->explanations.clear();
    check->group_probabilities.clear();
    check->sound_probability = 0;
    check->unexplained_probability = 1;
    check->summary = std::move(why);
    check->next = NextMeasurement{"resistance between all three pairs of leads", RowOf("one_reading").look, 20};
    check->may_be_destroyed_next = "nothing: settle the record first, while the winding can still be counted";
  }
  Agreement unbalance = {"resistance unbalance",   "percent", percent, {0, 0, most}, true, 2 * percent / most,
                         rules::electric_unbalance};
  check->agreements.push_back(std::move(unbalance));
  // Mended, the readings agree.
  for (Explanation& e : check->explanations) {
    if (!e.sigmas.empty()) e.sigmas.push_back(0);
  }
  check->rules.push_back(rules::electric_unbalance);
  return check;
}

std::optional<RecordCheck> CheckImpossible(const Record& record, const Settings& settings, Moment moment,
                                           absl::string_view why) {
  const RecordedWinding& w = record.winding;
  std::vector<Repair> repairs;
  const int poles = record.plate.poles;
  if (!record.plate.pole_pairs) {
    for (const int truly : {2 * poles, poles / 2}) {
      if (truly < 2 || truly > 120 || truly % 2 != 0) continue;
      Record mended = record;
      mended.plate.poles = truly;
      repairs.push_back(
          RepairOf(truly > poles ? "poles_halved" : "poles_doubled", absl::StrCat(poles), absl::StrCat(truly), mended));
    }
  }
  if (w.groups.empty()) {
    Record mended = record;
    const bool single = w.layers == winding::Layers::kSingle;
    mended.winding.layers = single ? winding::Layers::kDouble : winding::Layers::kSingle;
    mended.core.insulation.separator_present = single;
    repairs.push_back(RepairOf(single ? "coils_halved" : "coils_doubled", single ? "single" : "double",
                               single ? "double" : "single", mended));
    for (const int step : {-1, 1}) {
      if (!w.coil_pitch || *w.coil_pitch + step < 1) continue;
      mended = record;
      *mended.winding.coil_pitch += step;
      repairs.push_back(RepairOf(step < 0 ? "pitch_long" : "pitch_short", absl::StrCat(*w.coil_pitch),
                                 absl::StrCat(*w.coil_pitch + step), mended));
    }
  }
  return CheckRepairs(repairs, settings, moment, absl::StrCat("As written this makes no winding: ", why, "."));
}

}  // namespace coilwright::plan
