#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "plan/check_steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

constexpr double kDecided = 0.5;
constexpr double kOutside = 2;        // a measurement beyond lies outside its printed band
constexpr double kNothingElse = 0.9;  // a record is not called sound while a slip has more of a chance than one in ten
constexpr double kRival = 0.15;       // nor while one that nothing here tells from it has more than this
constexpr double kStillPossible = 0.10;  // a record this likely to be right is not accused
constexpr double kSurelyWrong = 0.01;    // a record this unlikely to be right is wrong, whichever slip it is
constexpr double kSoundSigmas = 3;       // beyond, nothing is called sound whatever the chances

// Resistance or mass that lies outside its band, however sound the rest.
const Agreement* OutsideItsBand(const RecordCheck& check) {
  for (const Agreement& a : check.agreements) {
    if (a.rule != rules::check_resistance && a.rule != rules::check_mass) continue;
    if (std::abs(a.sigmas) > kOutside) return &a;
  }
  return nullptr;
}

// Both outside their bands the same way: turns miscounted by a few, or another mean turn. Alone each may be chance.
bool BothOutsideAlike(const RecordCheck& check) {
  double resistance = 0, mass = 0;
  for (const Agreement& a : check.agreements) {
    if (a.rule == rules::check_resistance) resistance = a.sigmas;
    if (a.rule == rules::check_mass) mass = a.sigmas;
  }
  return std::min(std::abs(resistance), std::abs(mass)) > kOutside && resistance * mass > 0;
}

bool HasHardMeasurement(const Model& model) {
  return std::any_of(model.measured.begin(), model.measured.end(),
                     [](const Measured& m) { return m.quantity == kResistance || m.quantity == kMass; });
}

// What to measure again where nothing on the list explains the record: where the mass alone is far off, the scale
// first.
absl::string_view MeasureAgain(const RecordCheck& check) {
  bool mass = false;
  for (const Agreement& a : check.agreements) {
    if (std::abs(a.sigmas) < kSoundSigmas) continue;
    if (a.rule != rules::check_mass) return "measure again, dimensions of core and mean turn included.";
    mass = true;
  }
  return mass
             ? "only the mass misses: weigh again (unit of the scale, the whole winding and nothing else on it?), then "
               "measure the mean turn and the core."
             : "measure again, dimensions of core and mean turn included.";
}

}  // namespace

void Conclude(const Model& model, RecordCheck& check) {
  const Explanation* leader = check.explanations.empty() ? nullptr : &check.explanations.front();
  const Explanation* sound = nullptr;
  double blameless = 0;
  for (const Explanation& e : check.explanations) {
    if (e.corrections.empty()) sound = &e;
    if (AccusesNobody(e)) blameless += e.probability;
  }
  const double with_sound = sound ? check.group_probabilities[static_cast<size_t>(sound->group)] : 0;
  const bool alike = BothOutsideAlike(check);
  const bool sound_fits = sound && WorstSigmas(sound->sigmas) < kSoundSigmas && !alike;
  const Explanation* rival = nullptr;
  for (const Explanation& e : check.explanations) {
    if (!e.corrections.empty() && (!rival || e.probability > rival->probability)) rival = &e;
  }
  const bool alone = !rival || rival->probability <= kRival;
  size_t worst = 0;
  const bool misses = leader && WorstSigmas(leader->sigmas, &worst) >= kGreatestSigmas;
  const bool accused = !sound || leader->group != sound->group;
  const bool magnets = leader && accused && AccusesNobody(*leader);
  if (check.unexplained_probability >= kDecided) {
    check.verdict = Verdict::kUnexplained;
    check.summary = absl::StrCat(
        "The record does not agree with what was measured, and no slip or pair of slips on the list explains it: ",
        MeasureAgain(check));
  } else if (misses && accused && blameless < kStillPossible) {
    check.verdict = Verdict::kUnexplained;
    check.summary = absl::StrFormat(
        "The record does not agree with what was measured, and the nearest explanation still misses the "
        "%s by %.1f standard deviations: %s",
        check.agreements[worst].what, std::abs(leader->sigmas[worst]), MeasureAgain(check));
  } else if (with_sound >= kNothingElse && alone && sound_fits && HasHardMeasurement(model)) {
    check.verdict = Verdict::kSound;
    check.summary = "The record explains what was measured.";
  } else if (leader && accused && blameless < kStillPossible &&
             check.group_probabilities[static_cast<size_t>(leader->group)] >= kDecided) {
    check.verdict = Verdict::kExplained;
    check.summary = absl::StrCat("The record does not agree with what was measured. Likeliest: ", TextOf(*leader), ".");
  } else if (magnets && !misses && blameless >= kDecided && HasHardMeasurement(model)) {
    check.verdict = Verdict::kUndecided;
    check.summary = absl::StrCat(
        "The winding as recorded explains what was measured but the voltage constant. Likeliest: ", TextOf(*leader),
        ". Settle that before torque and flux are believed.");
  } else {
    check.verdict = Verdict::kUndecided;
    const double off = sound ? WorstSigmas(sound->sigmas, &worst) : 0;
    if (off >= kGreatestSigmas || (HasHardMeasurement(model) && blameless < kSurelyWrong)) {
      // Which slip it is may be open, that there is one is not.
      check.verdict = Verdict::kUnexplained;
      check.summary = absl::StrFormat(
          "The record does not agree with what was measured: it misses the %s by %.1f standard deviations. What is "
          "wrong is not decided: %s",
          check.agreements[worst].what, off, MeasureAgain(check));
      if (accused) absl::StrAppend(&check.summary, " Likeliest: ", TextOf(*leader), ".");
    } else if (!HasHardMeasurement(model)) {
      check.summary = "Neither resistance nor mass was measured: the record can be neither confirmed nor doubted.";
    } else if (with_sound >= kNothingElse && off >= kSoundSigmas) {
      check.summary = absl::StrFormat(
          "No slip explains it better, but the record misses the %s by %.1f standard deviations: look at it again.",
          check.agreements[worst].what, off);
    } else if (with_sound >= kNothingElse && alike) {
      check.summary =
          "Resistance and mass both lie outside their bands the same way: turns miscounted by a few, or another mean "
          "turn. Count a coil of another group and measure the mean turn on it.";
    } else if (with_sound >= kNothingElse && rival) {
      check.summary =
          absl::StrFormat("The record may be right, but a slip that these measurements cannot tell from it %s: %s.",
                          rival->probability > sound->probability ? "is likelier" : "is a rival", TextOf(*rival));
    } else {
      check.summary = "The measurements do not decide between several explanations.";
    }
  }
}

std::string MayBeDestroyedNext(const RecordCheck& check, Verdict verdict, bool weighed) {
  const Moment moment = check.moment;
  if (verdict == Verdict::kExplained || verdict == Verdict::kUnexplained) {
    return "nothing: settle the record first, while the winding can still be counted";
  }
  if (verdict == Verdict::kUndecided) {
    return moment == Moment::kStripped ? "nothing: keep the whole group that is left until the record is decided"
                                       : "nothing more until what is missing is recorded and the record is decided";
  }
  switch (moment) {
    case Moment::kIntact:
      return "the head of one coil group at one end, to count turns, wires and circuits; no other group";
    case Moment::kCut:
      return "all but one whole group: keep that group, with both heads, until the stripped copper is weighed and "
             "agrees";
    case Moment::kStripped:
      if (const Agreement* outside = OutsideItsBand(check)) {
        return absl::StrFormat(
            "nothing: the %s lies outside its band; keep the whole group, measure its mean turn and count it again",
            outside->what);
      }
      return weighed ? "the group that was kept" : "nothing: weigh the stripped copper first, and keep the whole group";
  }
  return "";
}

}  // namespace coilwright::plan
