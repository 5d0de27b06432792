#include "plan/check.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/check_model.h"
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
constexpr double kMostSeparation = 20;

bool Counted(const Record& record) {
  return !record.winding.strands.empty() && (record.winding.turns_per_coil || !record.winding.groups.empty());
}

Moment LatestMoment(const Record& record) {
  if (!Counted(record)) return Moment::kIntact;
  return record.mass ? Moment::kStripped : Moment::kCut;
}

// Hypotheses with the leader of a group they cannot be told apart from share its group.
struct Grouped {
  std::vector<Logs> leaders;
  std::vector<double> probabilities;

  size_t Find(const Model& model, const Logs& effect) {
    for (size_t g = 0; g < leaders.size(); ++g) {
      if (CannotBeToldApart(model, leaders[g], effect)) return g;
    }
    leaders.push_back(effect);
    probabilities.push_back(0);
    return leaders.size() - 1;
  }
};

// A second slip that changes nothing anyone measured is not worth a line beside the first alone.
bool AddsNothing(const Explanation& pair, int group, const std::vector<Explanation>& listed) {
  if (pair.corrections.size() != 2) return false;
  return std::any_of(listed.begin(), listed.end(), [&](const Explanation& e) {
    if (e.group != group || e.corrections.size() > 1) return false;
    return e.corrections.empty() || e.corrections[0].slip == pair.corrections[0].slip ||
           e.corrections[0].slip == pair.corrections[1].slip;
  });
}

// Groups stand by what all their members have together, since nothing here tells those apart.
void LikeliestGroupFirst(const std::vector<double>& probabilities, std::vector<Explanation>& explanations,
                         std::vector<Hypothesis>& listed) {
  std::vector<size_t> order(explanations.size());
  std::iota(order.begin(), order.end(), size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](size_t a, size_t b) {
    return probabilities[static_cast<size_t>(explanations[a].group)] >
           probabilities[static_cast<size_t>(explanations[b].group)];
  });
  std::vector<Explanation> sorted;
  std::vector<Hypothesis> hypotheses;
  for (const size_t i : order) {
    sorted.push_back(std::move(explanations[i]));
    hypotheses.push_back(listed[i]);
  }
  explanations = std::move(sorted);
  listed = std::move(hypotheses);
}

// Groups of what is listed, in their order.
void NumberGroups(const std::vector<double>& probabilities, RecordCheck& check) {
  std::vector<int> numbers(probabilities.size(), -1);
  for (Explanation& e : check.explanations) {
    int& number = numbers[static_cast<size_t>(e.group)];
    if (number < 0) {
      number = static_cast<int>(check.group_probabilities.size());
      check.group_probabilities.push_back(probabilities[static_cast<size_t>(e.group)]);
    }
    e.group = number;
  }
}

// A true value that is itself uncertain (how warm was it?) widens what it is compared by.
std::vector<double> SigmasOf(const Model& model, const Hypothesis& h, const std::vector<Slip>& slips) {
  double resistance = 0, mass = 0;
  for (const int index : {h.first, h.second}) {
    if (index < 0) continue;
    resistance = std::hypot(resistance, slips[static_cast<size_t>(index)].resistance_sigma);
    mass = std::hypot(mass, slips[static_cast<size_t>(index)].mass_sigma);
  }
  std::vector<double> sigmas;
  for (const Measured& m : model.measured) {
    const double residual = m.residual + model.Moved(m, h.effect);
    const double extra = m.quantity == kResistance ? resistance : m.quantity == kMass ? mass : 0;
    sigmas.push_back(residual / std::hypot(m.sigma(residual), extra));
  }
  return sigmas;
}

// What can be looked at again to see a value for itself, gentlest first, with the standard deviation of doing so.
struct Look {
  Value value;
  const char* what;
  double sigma;
};
constexpr Look kLooks[] = {{kVolts, "rated voltage on the plate", 0.03},
                           {kHertz, "frequency on the plate", 0.03},
                           {kAmps, "rated current on plate and data sheet", 0.03},
                           {kPoles, "number of poles", 0.05},
                           {kKelvin, "resistance with the winding at a known temperature", 0.02},
                           {kOhms, "resistance from lead to lead", 0.02},
                           {kVoltsConstant, "voltage constant", 0.03},
                           {kDelta, "connection", 0.06},
                           {kCircuits, "parallel circuits", 0.04},
                           {kWires, "wires in hand", 0.04},
                           {kCoils, "coil sides in a slot", 0.04},
                           {kPitch, "coil pitch", 0.02},
                           {kTurns, "turns of a coil of another group", 0.04},
                           {kDiameter, "bare wire diameter", 0.015},
                           {kResistivity, "metal of the wire", 0.05},
                           {kKg, "what was on the scale", 0.01}};

Shift ShiftOf(const Hypothesis& h, const std::vector<Slip>& slips) {
  Shift shift{};
  for (const int index : {h.first, h.second}) {
    if (index < 0) continue;
    for (size_t v = 0; v < kValues; ++v) shift[v] += slips[static_cast<size_t>(index)].shift[v];
  }
  return shift;
}

std::string LookFor(Value value, const Hypothesis& one, const Hypothesis& other, const std::vector<Slip>& slips) {
  for (const int index : {one.first, one.second, other.first, other.second}) {
    if (index >= 0 && slips[static_cast<size_t>(index)].shift[value] != 0)
      return slips[static_cast<size_t>(index)].look;
  }
  return "";
}

constexpr absl::string_view kAtTheCoilEnds =
    "read again at the ends of the coils, or measure what the leads add and record it as leads_ohms";

std::optional<NextMeasurement> NextFor(const Record& record, const Model& model, Moment moment, const Hypothesis& one,
                                       const Hypothesis& other, const std::vector<Slip>& slips) {
  const Shift a = ShiftOf(one, slips), b = ShiftOf(other, slips);
  NextMeasurement best;
  const auto consider = [&](double difference, double sigma, absl::string_view what, std::string how) {
    const double separation = std::min(kMostSeparation, std::abs(difference) / sigma);
    if (separation <= best.separation_sigmas) return;
    best = {std::string(what), std::move(how), separation};
  };
  for (const Look& look : kLooks) {
    consider(a[look.value] - b[look.value], look.sigma, look.what, LookFor(look.value, one, other, slips));
  }
  constexpr double kResistanceSigma = 0.035, kMassSigma = 0.04;
  if (!record.resistance) {
    consider(one.effect[kResistance] - other.effect[kResistance], kResistanceSigma, "line-to-line resistance",
             "four wires, lead to lead, with the temperature of the winding");
  }
  if (model.ohms && model.ohms->LeadsHide()) {
    consider(one.effect[kResistance] - other.effect[kResistance], model.ohms->CoilSigma(),
             "resistance of the coils alone", std::string(kAtTheCoilEnds));
  }
  // Nothing is stripped to tell two slips apart: what was stripped already may be weighed.
  if (!record.mass && moment == Moment::kStripped) {
    consider(one.effect[kMass] - other.effect[kMass], kMassSigma, "copper mass",
             "weigh what was stripped; say whether film, resin or leads are on the scale");
  }
  if (best.separation_sigmas < 2) return std::nullopt;
  return best;
}

std::vector<std::string> StillToRecord(const Record& record, const Model& model, Moment moment) {
  std::vector<std::string> missing;
  if (!record.resistance || record.resistance->line_to_line_ohms.size() < 3) {
    missing.push_back("resistance between all three pairs of leads, with the temperature of the winding");
  }
  if (model.ohms && model.ohms->LeadsHide()) {
    missing.push_back(absl::StrCat("resistance of the coils alone, as leads may hide a slip: ", kAtTheCoilEnds));
  }
  if (record.kind == MachineKind::kPermanentMagnet && !record.measured_ke_ll_rms_v_per_krpm) {
    missing.push_back("voltage constant, driven at a known speed before the winding is cut");
  }
  if (moment == Moment::kIntact && !record.inductance) {
    missing.push_back(
        "line-to-line inductance, least and greatest over a pole pitch: to compare the rewound winding by");
  }
  if (moment == Moment::kIntact) return missing;
  const bool repeated = std::any_of(record.evidence.begin(), record.evidence.end(), [](const FieldEvidence& e) {
    return absl::StartsWith(e.field, "winding.turns_per_coil") && e.repeats >= 3;
  });
  if (!repeated && record.winding.groups.empty()) {
    missing.push_back("turns of three or more coils of different groups, each count as evidence");
  }
  if (!record.core.shape) missing.push_back("shape of the slot, for its fullness");
  if (!record.winding.mean_turn_m) missing.push_back("length of a mean turn, measured on a coil");
  if (moment == Moment::kStripped && !record.mass) missing.push_back("mass of the stripped wire");
  return missing;
}

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

std::string MayBeDestroyedNext(Moment moment, Verdict verdict, bool weighed, const Agreement* outside) {
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
      if (outside) {
        return absl::StrFormat(
            "nothing: the %s lies outside its band; keep the whole group, measure its mean turn and count it again",
            outside->what);
      }
      return weighed ? "the group that was kept" : "nothing: weigh the stripped copper first, and keep the whole group";
  }
  return "";
}

}  // namespace

std::string TextOf(const Explanation& explanation) {
  std::vector<std::string> words;
  for (const Correction& c : explanation.corrections) {
    words.push_back(absl::StrCat(c.what, " (", c.field, ": ", c.recorded, " should read ", c.reads, ")"));
  }
  return absl::StrJoin(words, ", and ");
}

double WorstSigmas(const std::vector<double>& sigmas, size_t* at) {
  double worst = 0;
  for (size_t i = 0; i < sigmas.size(); ++i) {
    if (std::abs(sigmas[i]) < std::abs(worst)) continue;
    worst = sigmas[i];
    if (at) *at = i;
  }
  return std::abs(worst);
}

namespace {

bool HasHardMeasurement(const Model& model) {
  return std::any_of(model.measured.begin(), model.measured.end(),
                     [](const Measured& m) { return m.quantity == kResistance || m.quantity == kMass; });
}

// Of the explanation that stands first and the likeliest other.
void ChooseNext(const Record& record, const Model& model, const std::vector<Hypothesis>& listed,
                const std::vector<Slip>& slips, RecordCheck& check) {
  if (check.verdict == Verdict::kSound || listed.size() < 2) return;
  const auto second = std::max_element(listed.begin() + 1, listed.end(), [](const Hypothesis& a, const Hypothesis& b) {
    return a.probability < b.probability;
  });
  check.next = NextFor(record, model, check.moment, listed[0], *second, slips);
}

constexpr absl::string_view kMeasureAgain = "measure again, dimensions of core and mean turn included.";

void Conclude(const Model& model, RecordCheck& check) {
  const Explanation* leader = check.explanations.empty() ? nullptr : &check.explanations.front();
  const Explanation* sound = nullptr;
  for (const Explanation& e : check.explanations) {
    if (e.corrections.empty()) sound = &e;
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
  if (check.unexplained_probability >= kDecided) {
    check.verdict = Verdict::kUnexplained;
    check.summary = absl::StrCat(
        "The record does not agree with what was measured, and no slip or pair of slips on the list explains it: ",
        kMeasureAgain);
  } else if (misses && accused && check.sound_probability < kStillPossible) {
    check.verdict = Verdict::kUnexplained;
    check.summary = absl::StrFormat(
        "The record does not agree with what was measured, and the nearest explanation still misses the "
        "%s by %.1f standard deviations: %s",
        check.agreements[worst].what, std::abs(leader->sigmas[worst]), kMeasureAgain);
  } else if (with_sound >= kNothingElse && alone && sound_fits && HasHardMeasurement(model)) {
    check.verdict = Verdict::kSound;
    check.summary = "The record explains what was measured.";
  } else if (leader && accused && check.sound_probability < kStillPossible &&
             check.group_probabilities[static_cast<size_t>(leader->group)] >= kDecided) {
    check.verdict = Verdict::kExplained;
    check.summary = absl::StrCat("The record does not agree with what was measured. Likeliest: ", TextOf(*leader), ".");
  } else {
    check.verdict = Verdict::kUndecided;
    const double off = sound ? WorstSigmas(sound->sigmas, &worst) : 0;
    if (off >= kGreatestSigmas || (HasHardMeasurement(model) && check.sound_probability < kSurelyWrong)) {
      // Which slip it is may be open, that there is one is not.
      check.verdict = Verdict::kUnexplained;
      check.summary = absl::StrFormat(
          "The record does not agree with what was measured: it misses the %s by %.1f standard deviations. What is "
          "wrong "
          "is not decided.",
          check.agreements[worst].what, off);
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

}  // namespace

Weighed Weigh(const Record& record, const Original& original, const Settings& settings, Moment moment) {
  Weighed weighed;
  RecordCheck& check = weighed.check;
  check.moment = moment;
  const Model model = ModelOf(record, original, settings, moment == Moment::kStripped);
  const std::vector<Slip> slips = SlipsOf(record, original, settings);
  const Ranking ranking = Rank(model, slips);
  check.unexplained_probability = ranking.unexplained_probability;
  weighed.ln_evidence = ranking.ln_evidence;

  const std::vector<double> as_recorded = SigmasOf(model, {}, slips);
  for (size_t i = 0; i < model.measured.size(); ++i) {
    check.agreements.push_back(model.measured[i].agreement);
    check.agreements.back().sigmas = as_recorded[i];
  }
  Grouped groups;
  std::vector<Hypothesis> listed;
  for (const Hypothesis& h : ranking.hypotheses) {
    if (h.first < 0) check.sound_probability = h.probability;
    const size_t group = groups.Find(model, h.effect);
    groups.probabilities[group] += h.probability;
    if (h.probability < kLeastProbability && h.first >= 0) {
      if (check.sound_probability > 0) break;
      continue;
    }
    Explanation explanation;
    for (const int index : {h.first, h.second}) {
      if (index >= 0) explanation.corrections.push_back(slips[static_cast<size_t>(index)].correction);
    }
    explanation.probability = h.probability;
    explanation.group = static_cast<int>(group);
    explanation.sigmas = SigmasOf(model, h, slips);
    if (AddsNothing(explanation, explanation.group, check.explanations)) continue;
    if (check.explanations.size() >= kMostExplanations && h.first >= 0) continue;
    check.explanations.push_back(std::move(explanation));
    listed.push_back(h);
  }
  LikeliestGroupFirst(groups.probabilities, check.explanations, listed);
  NumberGroups(groups.probabilities, check);
  Conclude(model, check);
  for (const Slip& slip : slips) {
    if (CannotBeToldApart(model, {}, slip.effect)) check.unseen.push_back(slip.correction);
  }
  ChooseNext(record, model, listed, slips, check);
  check.still_to_record = StillToRecord(record, model, check.moment);
  check.may_be_destroyed_next =
      MayBeDestroyedNext(check.moment, check.verdict, record.mass.has_value(), OutsideItsBand(check));
  check.rules = {rules::check_slips, rules::check_likelihood};
  for (const Agreement& agreement : check.agreements) check.rules.push_back(agreement.rule);
  return weighed;
}

namespace {

// One record, one verdict: what stops the record at a glance is not passed here.
void StopWithTheGlance(const Record& record, const Original& original, const Settings& settings, RecordCheck& check) {
  if (check.verdict == Verdict::kExplained || check.verdict == Verdict::kUnexplained) return;
  Record seen = record;
  if (check.moment != Moment::kStripped) seen.mass.reset();
  constexpr double kUnbalanceIsJudged = 100;  // with the limits of the form, before this
  std::vector<std::string> stops;
  for (const Finding& f : Glance(FrameOf(seen, original, settings), original, kUnbalanceIsJudged)) {
    if (f.level != FindingLevel::kAct) continue;
    stops.push_back(absl::StrFormat("%s %.3g%s%s, %s", f.what, f.found.value_or(0),
                                    f.unit.empty() || f.unit == "ratio" ? "" : " ", f.unit == "ratio" ? "" : f.unit,
                                    f.text));
  }
  if (stops.empty()) return;
  check.verdict = Verdict::kUnexplained;
  check.summary = absl::StrCat("The record cannot be right as it stands: ", absl::StrJoin(stops, "; "), ".");
  check.may_be_destroyed_next =
      MayBeDestroyedNext(check.moment, check.verdict, record.mass.has_value(), OutsideItsBand(check));
}

}  // namespace

RecordCheck CheckOriginal(const Record& record, const Original& original, const Settings& settings,
                          std::optional<Moment> moment) {
  const Moment when = moment.value_or(LatestMoment(record));
  if (std::optional<RecordCheck> unbalanced = CheckUnbalanced(record, original, settings, when)) {
    return *std::move(unbalanced);
  }
  RecordCheck check = Weigh(record, original, settings, when).check;
  StopWithTheGlance(record, original, settings, check);
  return check;
}

absl::StatusOr<RecordCheck> CheckRecord(const Record& record, const Settings& settings, std::optional<Moment> moment) {
  if (!Counted(record)) {
    const Model model = PlateModelOf(record);
    RecordCheck check;
    check.moment = Moment::kIntact;
    check.summary = "Turns or wire are not recorded yet: only the plate could be checked against itself.";
    const std::vector<double> sigmas = SigmasOf(model, {}, {});
    for (size_t i = 0; i < model.measured.size(); ++i) {
      check.agreements.push_back(model.measured[i].agreement);
      check.agreements.back().sigmas = sigmas[i];
      check.rules.push_back(model.measured[i].agreement.rule);
    }
    check.still_to_record = StillToRecord(record, model, check.moment);
    check.may_be_destroyed_next = check.still_to_record.empty()
                                      ? MayBeDestroyedNext(check.moment, Verdict::kSound, false, nullptr)
                                      : "nothing before what is missing is recorded; then the head of one coil group "
                                        "at one end, to count turns, wires and circuits";
    check.rules.push_back(rules::check_likelihood);
    return check;
  }
  const Moment when = moment.value_or(LatestMoment(record));
  absl::Status wrong;
  if (std::vector<standards::FieldError> errors = ContradictionsBesideSpeed(record); !errors.empty()) {
    wrong = standards::UnderField("record", standards::InvalidFields(errors));
  } else {
    const absl::StatusOr<Original> original = DescribeOriginal(record, settings);
    if (original.ok()) return CheckOriginal(record, *original, settings, when);
    wrong = original.status();
  }
  if (std::optional<RecordCheck> impossible = CheckImpossible(record, settings, when, wrong.message())) {
    return *std::move(impossible);
  }
  return wrong;
}

}  // namespace coilwright::plan
