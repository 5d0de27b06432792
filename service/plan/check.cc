#include "plan/check.h"

#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/check_settings.h"
#include "plan/check_steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

bool Counted(const Record& record) {
  return !record.winding.strands.empty() && (record.winding.turns_per_coil || !record.winding.groups.empty());
}

Moment LatestMoment(const Record& record) {
  if (!Counted(record)) return Moment::kIntact;
  return record.mass ? Moment::kStripped : Moment::kCut;
}

bool ExplainedByMagnets(const RecordCheck& check) {
  return !check.explanations.empty() && !check.explanations.front().corrections.empty() &&
         AccusesNobody(check.explanations.front());
}

// One record, one verdict: what stops the record at a glance is not passed here.
void StopWithTheGlance(const Record& record, const Original& original, const Settings& settings, RecordCheck& check) {
  if (check.verdict == Verdict::kExplained || check.verdict == Verdict::kUnexplained) return;
  Record seen = record;
  if (check.moment != Moment::kStripped) seen.mass.reset();
  constexpr double kUnbalanceIsJudged = 100;  // with the limits of the form, before this
  const bool magnets = ExplainedByMagnets(check);
  std::vector<std::string> stops;
  for (const Finding& f : Glance(FrameOf(seen, original, settings), original, kUnbalanceIsJudged)) {
    if (f.level != FindingLevel::kAct) continue;
    // Torque and emf are those of the weak magnets.
    if (magnets && (f.rule == rules::plan_torque_current_check || f.rule == rules::plan_voltage_speed_check)) continue;
    if (stops.empty()) check.next = NextMeasurement{f.what, f.text, 0};
    check.stopped_by.push_back(f.what);
    stops.push_back(absl::StrFormat("%s %.3g%s%s, %s", f.what, f.found.value_or(0),
                                    f.unit.empty() || f.unit == "ratio" ? "" : " ", f.unit == "ratio" ? "" : f.unit,
                                    f.text));
  }
  if (stops.empty()) return;
  check.verdict = Verdict::kUnexplained;
  check.summary = absl::StrCat("The record cannot be right as it stands: ", absl::StrJoin(stops, "; "), ".");
  check.may_be_destroyed_next = MayBeDestroyedNext(check, check.verdict, record.mass.has_value());
}

// What leaves a record that explains its measurements open: `why` in words, and what to look at.
void LeaveOpen(const Record& record, const std::string& why, NextMeasurement next, RecordCheck& check) {
  if (check.verdict == Verdict::kExplained || check.verdict == Verdict::kUnexplained) {
    absl::StrAppend(&check.summary, " ", why);
    return;
  }
  check.summary = check.verdict == Verdict::kSound ? why : absl::StrCat(why, " ", check.summary);
  check.verdict = Verdict::kUndecided;
  check.next = std::move(next);
  check.may_be_destroyed_next = MayBeDestroyedNext(check, check.verdict, record.mass.has_value());
}

// A slot fuller than this shop can wind may be the work of a better one.
void AskAboutFullness(const Record& record, const Original& original, RecordCheck& check) {
  if (!original.as_recorded.fill || original.as_recorded.fill->verdict != slot::FillVerdict::kAct) return;
  if (check.verdict != Verdict::kSound) return;
  LeaveOpen(record,
            absl::StrFormat("The record explains what was measured, but a slot fullness of %.0f %% is more than the "
                            "shop can wind: measure the slot and count again, or let it be a well packed slot.",
                            100 * original.as_recorded.fill->fill.fullness_ratio),
            {"slot fullness",
             "measure the depth and width of the slot, liner and wedge again, and the wire over its film", 0},
            check);
}

// A winding that has the temperature of the air has that of the air written down beside it, give or take what a
// workshop changes in a day (common practice, no source).
void CompareWithTheAir(const Record& record, RecordCheck& check) {
  if (!record.resistance || !record.resistance->as_the_air || !record.air_celsius) return;
  const double winding = record.resistance->winding_celsius, air = *record.air_celsius;
  if (std::abs(winding - air) <= CheckBounds().air_slack_kelvin) return;
  check.rules.push_back(rules::check_air);
  LeaveOpen(
      record,
      absl::StrFormat("The winding was taken to be as warm as the air (measured.resistance.temperature_evidence), "
                      "but stands at %.4g C and the air at %.4g C: one of the two is wrong, or it was not.",
                      winding, air),
      {"temperature of the winding",
       "let the machine stand for hours, read the temperature of winding and air, "
       "and the resistance again",
       0},
      check);
}

// An induction motor slips under load: a plate that has it run at the speed of its field, or faster, was not read
// right.
std::string WithoutSlip(const Record& record) {
  const Plate& plate = record.plate;
  if (record.kind != MachineKind::kInduction || !plate.speed_rpm || !plate.frequency_hz) return "";
  const double synchronous_rpm = 120 * *plate.frequency_hz / plate.poles;
  if (*plate.speed_rpm < synchronous_rpm) return "";
  return absl::StrFormat(
      "The plate has the motor run at %.5g rpm, %s the %.5g rpm of its field at %g Hz and %d poles, and an induction "
      "motor slips under load.",
      *plate.speed_rpm, *plate.speed_rpm > synchronous_rpm ? "above" : "just", synchronous_rpm, *plate.frequency_hz,
      plate.poles);
}

void AskForThePlate(const Record& record, RecordCheck& check) {
  const std::string why = WithoutSlip(record);
  if (why.empty()) return;
  LeaveOpen(record, why,
            {"speed on the plate", "read speed, frequency and poles again: the speed of full load, not of no load", 0},
            check);
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
  AskAboutFullness(record, original, check);
  CompareWithTheAir(record, check);
  AskForThePlate(record, check);
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
    if (const std::string why = WithoutSlip(record); !why.empty()) absl::StrAppend(&check.summary, " ", why);
    check.still_to_record = StillToRecord(record, model, check.moment);
    check.may_be_destroyed_next = check.still_to_record.empty()
                                      ? MayBeDestroyedNext(check, Verdict::kSound, false)
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
