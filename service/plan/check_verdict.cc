#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "plan/check_settings.h"
#include "plan/check_steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

// Resistance or mass that lies outside its band, however sound the rest.
const Agreement* OutsideItsBand(const RecordCheck& check) {
  for (const Agreement& a : check.agreements) {
    if (a.rule != rules::check_resistance && a.rule != rules::check_mass) continue;
    if (std::abs(a.sigmas) > CheckBounds().outside_band_sigmas) return &a;
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
  return std::min(std::abs(resistance), std::abs(mass)) > CheckBounds().outside_band_sigmas && resistance * mass > 0;
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
    if (std::abs(a.sigmas) < CheckBounds().sound_sigmas) continue;
    if (a.rule != rules::check_mass) return "measure again, dimensions of core and mean turn included.";
    mass = true;
  }
  return mass
             ? "only the mass misses: weigh again (unit of the scale, the whole winding and nothing else on it?), then "
               "measure the mean turn and the core."
             : "measure again, dimensions of core and mean turn included.";
}

// What the explanations come to. The record as it stands is always among them, whatever its chance.
struct Standing {
  const Explanation& leader;               // of the group that stands first
  const Explanation& sound;                // the record as it stands
  const Explanation* rival = nullptr;      // the likeliest slip
  double blameless = 0;                    // chance of all that accuse no field
  double with_sound = 0, with_leader = 0;  // of their groups
  bool accused = false;                    // the record is not of the group that stands first
  bool hard = false;                       // resistance or mass was measured
  bool alike = false;                      // both outside their bands the same way
  double off = 0, leader_off = 0;          // worst miss, in standard deviations
  size_t off_at = 0, leader_off_at = 0;
};

Standing StandingOf(const Model& model, const RecordCheck& check) {
  const std::vector<Explanation>& all = check.explanations;
  Standing s{all.front(),
             *std::find_if(all.begin(), all.end(), [](const Explanation& e) { return e.corrections.empty(); })};
  for (const Explanation& e : all) {
    if (AccusesNobody(e)) s.blameless += e.probability;
    if (!e.corrections.empty() && (!s.rival || e.probability > s.rival->probability)) s.rival = &e;
  }
  s.with_sound = check.group_probabilities[static_cast<size_t>(s.sound.group)];
  s.with_leader = check.group_probabilities[static_cast<size_t>(s.leader.group)];
  s.accused = s.leader.group != s.sound.group;
  s.hard = HasHardMeasurement(model);
  s.alike = BothOutsideAlike(check);
  s.off = WorstSigmas(s.sound.sigmas, &s.off_at);
  s.leader_off = WorstSigmas(s.leader.sigmas, &s.leader_off_at);
  return s;
}

bool IsSound(const Standing& s) {
  const CheckSettings& bounds = CheckBounds();
  const bool alone = !s.rival || s.rival->probability <= bounds.rival_most;
  return s.hard && s.with_sound >= bounds.sound_from && alone && s.off < bounds.sound_sigmas && !s.alike;
}

// Why a record that is neither accused nor sound stays open.
std::string WhyUndecided(const Standing& s, const RecordCheck& check) {
  const CheckSettings& bounds = CheckBounds();
  if (!s.hard) return "Neither resistance nor mass was measured: the record can be neither confirmed nor doubted.";
  if (s.with_sound < bounds.sound_from) return "The measurements do not decide between several explanations.";
  if (s.off >= bounds.sound_sigmas) {
    return absl::StrFormat(
        "No slip explains it better, but the record misses the %s by %.1f standard deviations: look at it again.",
        check.agreements[s.off_at].what, s.off);
  }
  if (s.alike) {
    return "Resistance and mass both lie outside their bands the same way: turns miscounted by a few, or another mean "
           "turn. Count a coil of another group and measure the mean turn on it.";
  }
  if (!s.rival) return "The measurements do not decide between several explanations.";
  return absl::StrFormat("The record may be right, but a slip that these measurements cannot tell from it %s: %s.",
                         s.rival->probability > s.sound.probability ? "is likelier" : "is a rival", TextOf(*s.rival));
}

struct Conclusion {
  Verdict verdict;
  std::string summary;
};

Conclusion ConclusionOf(const Standing& s, const RecordCheck& check) {
  const CheckSettings& bounds = CheckBounds();
  const bool blamed = s.accused && s.blameless < bounds.accused_below;
  const bool leader_misses = s.leader_off >= bounds.explained_sigmas;
  if (check.unexplained_probability >= bounds.decided_from) {
    return {Verdict::kUnexplained,
            absl::StrCat("The record does not agree with what was measured, and no slip or pair of slips on the list "
                         "explains it: ",
                         MeasureAgain(check))};
  }
  if (blamed && leader_misses) {
    return {Verdict::kUnexplained,
            absl::StrFormat("The record does not agree with what was measured, and the nearest explanation still "
                            "misses the %s by %.1f standard deviations: %s",
                            check.agreements[s.leader_off_at].what, s.leader_off, MeasureAgain(check))};
  }
  if (IsSound(s)) return {Verdict::kSound, "The record explains what was measured."};
  if (blamed && s.with_leader >= bounds.decided_from) {
    return {Verdict::kExplained,
            absl::StrCat("The record does not agree with what was measured. Likeliest: ", TextOf(s.leader), ".")};
  }
  const bool magnets = s.accused && AccusesNobody(s.leader);
  if (magnets && !leader_misses && s.blameless >= bounds.decided_from && s.hard) {
    return {Verdict::kUndecided,
            absl::StrCat("The winding as recorded explains what was measured but the voltage constant. Likeliest: ",
                         TextOf(s.leader), ". Settle that before torque and flux are believed.")};
  }
  // Which slip it is may be open, that there is one is not.
  if (s.off >= bounds.explained_sigmas || (s.hard && s.blameless < bounds.wrong_below)) {
    return {Verdict::kUnexplained,
            absl::StrCat(absl::StrFormat("The record does not agree with what was measured: it misses the %s by %.1f "
                                         "standard deviations. What is wrong is not decided: ",
                                         check.agreements[s.off_at].what, s.off),
                         MeasureAgain(check), s.accused ? absl::StrCat(" Likeliest: ", TextOf(s.leader), ".") : "")};
  }
  return {Verdict::kUndecided, WhyUndecided(s, check)};
}

}  // namespace

void Conclude(const Model& model, RecordCheck& check) {
  Conclusion conclusion = ConclusionOf(StandingOf(model, check), check);
  check.verdict = conclusion.verdict;
  check.summary = std::move(conclusion.summary);
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
