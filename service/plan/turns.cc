#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/contract_paths.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"
#include "winding/redesign.h"

namespace coilwright::plan {
namespace {

using standards::FieldError;

// The frequency that goes with a speed; where the record has no speed, any figure serves as long as both sides share
// it.
constexpr double kCommonHz = 100.0;

// Below half a turn no whole number of turns is the answer; above, no record could hold the new winding.
constexpr double kLeastExactTurns = 0.5;
constexpr double kMostExactTurns = 10000;

double HzOf(const Record& record, std::optional<double> frequency_hz, std::optional<double> speed_rpm) {
  if (record.kind == MachineKind::kInduction) return frequency_hz.value_or(kCommonHz);
  return speed_rpm ? *speed_rpm * record.plate.poles / 120.0 : kCommonHz;
}

std::vector<FieldError> Refused(const Record& record, const PatternSummary& pattern, const Change& change) {
  std::vector<FieldError> errors;
  if (change.frequency_hz && record.kind == MachineKind::kPermanentMagnet) {
    errors.push_back({"frequency_hz", absl::StrFormat("%g Hz", *change.frequency_hz),
                      "speed_rpm instead: the frequency of a permanent-magnet machine follows its speed"});
  }
  if (change.frequency_hz && record.kind == MachineKind::kInduction && !record.plate.frequency_hz) {
    errors.push_back({"frequency_hz", absl::StrFormat("%g Hz", *change.frequency_hz),
                      "a changed frequency only where record.machine.nameplate.frequency_hz gives the original one"});
  }
  if (change.speed_rpm && record.kind == MachineKind::kInduction) {
    errors.push_back({"speed_rpm", absl::StrFormat("%g rpm", *change.speed_rpm),
                      "frequency_hz instead: the speed of an induction motor follows frequency and poles"});
  }
  if (change.speed_rpm && record.kind == MachineKind::kPermanentMagnet && !record.plate.speed_rpm) {
    errors.push_back({"speed_rpm", absl::StrFormat("%g rpm", *change.speed_rpm),
                      "a changed speed only where record.machine.nameplate.speed_rpm gives the original one"});
  }
  if (change.parallel_circuits) {
    const std::vector<int>& permitted = pattern.symmetry.permitted_circuits;
    if (std::find(permitted.begin(), permitted.end(), *change.parallel_circuits) == permitted.end()) {
      errors.push_back({"parallel_circuits", absl::StrCat(*change.parallel_circuits),
                        absl::StrFormat("%s for %d slots and %d poles", absl::StrJoin(permitted, ", "),
                                        record.core.slots, record.plate.poles)});
    }
  }
  return errors;
}

double MeanTurns(const std::vector<CoilGroup>& groups) {
  double turns = 0;
  int coils = 0;
  for (const CoilGroup& group : groups) {
    for (const GroupCoil& coil : group.coils) turns += group.count * coil.turns;
    coils += group.count * static_cast<int>(group.coils.size());
  }
  return turns / coils;
}

void AddNotes(const Record& record, const PatternSummary& pattern, TurnsPlan& turns) {
  std::vector<std::string>& notes = turns.notes;
  const double percent = 100.0 * (turns.rounding_ratio - 1.0);
  if (std::abs(percent) >= 0.05) {
    notes.push_back(
        record.kind == MachineKind::kPermanentMagnet
            ? absl::StrFormat("Whole turns move voltage and torque constant by %+.1f %%, the speed at rated voltage by "
                              "%+.1f %%; the magnets' flux does not move.",
                              percent, 100.0 * (1.0 / turns.rounding_ratio - 1.0))
            : absl::StrFormat("Whole turns move the flux by %+.1f %%: look at tooth and back iron again.",
                              100.0 * (1.0 / turns.rounding_ratio - 1.0)));
  }
  std::vector<int> finer;
  for (const int circuits : pattern.symmetry.permitted_circuits) {
    if (circuits > turns.parallel_circuits) finer.push_back(circuits);
  }
  if (std::abs(percent) > 3.0 && !finer.empty()) {
    notes.push_back(absl::StrFormat("Rounding is coarse at so few turns; more circuits (%s) give finer steps.",
                                    absl::StrJoin(finer, " or ")));
  }
  if (std::abs(turns.exact_turns_per_coil / turns.original_turns_per_coil - 1.0) < 0.005 &&
      (turns.connection != record.winding.connection || turns.parallel_circuits != record.winding.parallel_circuits)) {
    notes.push_back("The turns stay as they are: a sound winding needs its coils joined anew, not a rewind.");
  }
  if (record.kind == MachineKind::kPermanentMagnet && turns.connection != record.winding.connection &&
      turns.connection == electric::Connection::kDelta) {
    notes.push_back(
        "A magnet machine in delta lets third-harmonic current circulate in the winding; star is the safer choice.");
  }
  if (turns.rated_volts > record.plate.rated_volts) {
    notes.push_back("Higher voltage: slot, phase and lead insulation and the test levels follow the new rating.");
  }
  const std::optional<double> plate_amps = PlateLineAmpsRms(record.plate);
  if (turns.line_amps_rms && std::abs(*turns.line_amps_rms / *plate_amps - 1.0) > 0.01) {
    notes.push_back(absl::StrFormat(
        "At the torque of the plate the line current becomes %.3g A instead of %.3g A; the current density is for "
        "that%s.",
        *turns.line_amps_rms, *plate_amps,
        *turns.line_amps_rms > *plate_amps ? ", and the drive, leads and protection must carry it" : ""));
  }
  if (record.kind == MachineKind::kInduction && turns.frequency_hz && record.plate.frequency_hz &&
      *turns.frequency_hz != *record.plate.frequency_hz) {
    notes.push_back(absl::StrFormat(
        "Speed follows the frequency%s: check bearings, balance, fan and what the motor drives. At the same torque the "
        "output is %.3g times that of the plate.",
        turns.speed_rpm ? absl::StrFormat(", to about %.0f rpm", *turns.speed_rpm) : "",
        *turns.frequency_hz / *record.plate.frequency_hz));
    if (*turns.frequency_hz > *record.plate.frequency_hz) {
      notes.push_back("The same flux at a higher frequency heats the iron more: less flux or less load may be needed.");
    }
  }
  if (record.kind == MachineKind::kPermanentMagnet && turns.speed_rpm && record.plate.speed_rpm &&
      *turns.speed_rpm > 1.05 * *record.plate.speed_rpm) {
    notes.push_back(
        absl::StrFormat("%.0f rpm is above the plate's %.0f rpm: magnets may come off the rotor and bearings, balance "
                        "and brake may not "
                        "stand it, and iron loss rises. Only with the maker's word for that speed.",
                        *turns.speed_rpm, *record.plate.speed_rpm));
  }
}

// The torque is kept: with the flux that is the same ampere-turns. A magnet machine goes by its torque constant, which
// takes in the rounding; an induction motor by volts and frequency.
std::optional<double> AmpsAtPlateTorque(const Record& record, const PatternSummary& pattern, const TurnsPlan& turns) {
  const std::optional<double> amps = PlateLineAmpsRms(record.plate);
  if (!amps || !turns.changed) return amps;
  if (record.kind == MachineKind::kInduction) {
    const double frequency_ratio = record.plate.frequency_hz ? *turns.frequency_hz / *record.plate.frequency_hz : 1.0;
    return *amps * record.plate.rated_volts / turns.rated_volts * frequency_ratio;
  }
  TurnsPlan original;
  original.series_turns_per_phase = pattern.series_turns_per_phase;
  original.winding_factor = pattern.winding_factor;
  original.connection = record.winding.connection;
  return *amps / LineTurnsRatio(original, turns);
}

// The slip in rpm stays at the same torque and flux.
std::optional<double> NewSpeedRpm(const Record& record, const Change& change) {
  if (change.speed_rpm) return change.speed_rpm;
  if (!record.plate.speed_rpm || !change.frequency_hz) return record.plate.speed_rpm;
  return *record.plate.speed_rpm + 120.0 * (*change.frequency_hz - *record.plate.frequency_hz) / record.plate.poles;
}

}  // namespace

double LineTurnsRatio(const TurnsPlan& original, const TurnsPlan& turns) {
  const auto line_turns = [](const TurnsPlan& t) {
    return t.series_turns_per_phase * t.winding_factor *
           (t.connection == electric::Connection::kStar ? std::sqrt(3.0) : 1.0);
  };
  return line_turns(turns) / line_turns(original);
}

std::optional<double> PlateLineAmpsRms(const Plate& plate) {
  if (plate.line_amps_rms || !plate.line_amps_peak) return plate.line_amps_rms;
  return *plate.line_amps_peak / std::sqrt(2.0);
}

absl::StatusOr<TurnsPlan> PlanTurns(const Record& record, const PatternSummary& pattern, const Change& change) {
  if (std::vector<FieldError> errors = Refused(record, pattern, change); !errors.empty()) {
    return standards::UnderField("change", standards::InvalidFields(errors));
  }
  const RecordedWinding& w = record.winding;
  TurnsPlan turns;
  turns.original_turns_per_coil = pattern.mean_turns_per_coil;
  turns.connection = change.connection.value_or(w.connection);
  turns.parallel_circuits = change.parallel_circuits.value_or(w.parallel_circuits);
  turns.rated_volts = change.rated_volts.value_or(record.plate.rated_volts);
  turns.frequency_hz = change.frequency_hz ? change.frequency_hz : record.plate.frequency_hz;
  turns.speed_rpm = NewSpeedRpm(record, change);
  if (change.speed_rpm && record.plate.frequency_hz && record.plate.speed_rpm) {
    turns.frequency_hz = *record.plate.frequency_hz * *change.speed_rpm / *record.plate.speed_rpm;
  }
  turns.changed = change.any();
  turns.rules = {rules::winding_series_turns};

  double factor = 1.0;
  if (turns.changed) {
    winding::Side from{record.plate.rated_volts,
                       HzOf(record, record.plate.frequency_hz, record.plate.speed_rpm),
                       w.connection,
                       w.parallel_circuits,
                       pattern.winding_factor,
                       pattern.coils};
    winding::Side to{turns.rated_volts,      HzOf(record, turns.frequency_hz, turns.speed_rpm),
                     turns.connection,       turns.parallel_circuits,
                     pattern.winding_factor, pattern.coils};
    const absl::StatusOr<winding::Rescaled> rescaled = winding::RescaledTurns(pattern.mean_turns_per_coil, from, to);
    if (!rescaled.ok()) {
      const bool induction = record.kind == MachineKind::kInduction;
      return InContract(rescaled.status(), "change",
                        {{"to.line_volts", "change.rated_volts"},
                         {"to.frequency_hz", induction ? "change.frequency_hz" : "change.speed_rpm"},
                         {"from.line_volts", "record.machine.nameplate.rated_volts"},
                         {"from.frequency_hz",
                          induction ? "record.machine.nameplate.frequency_hz" : "record.machine.nameplate.speed_rpm"}});
    }
    if (rescaled->exact_turns < kLeastExactTurns || rescaled->exact_turns > kMostExactTurns) {
      return standards::InvalidField("change",
                                     absl::StrFormat("a change that needs %.4g turns per coil", rescaled->exact_turns),
                                     absl::StrFormat("one that needs %g to %g", kLeastExactTurns, kMostExactTurns));
    }
    factor = rescaled->exact_turns / pattern.mean_turns_per_coil;
    turns.rules.push_back(rules::winding_redesign_turns);
    turns.rules.push_back(rules::plan_rounding);
    turns.rules.push_back(rules::plan_conductor_area);
  }
  turns.exact_turns_per_coil = pattern.mean_turns_per_coil * factor;
  if (w.groups.empty()) {
    turns.turns_per_coil = std::max(1, static_cast<int>(std::lround(turns.exact_turns_per_coil)));
    turns.mean_turns_per_coil = turns.turns_per_coil;
  } else {
    turns.groups = ScaledGroups(record, factor);
    turns.mean_turns_per_coil = MeanTurns(turns.groups);
  }
  const absl::StatusOr<double> winding_factor = WindingFactorOf(record, pattern.pattern, turns.groups);
  if (!winding_factor.ok()) return winding_factor.status();
  turns.winding_factor = *winding_factor;
  turns.rounding_ratio =
      turns.mean_turns_per_coil * turns.winding_factor / (turns.exact_turns_per_coil * pattern.winding_factor);
  turns.turns_in_fullest_slot = TurnsInFullestSlot(record, pattern.pattern, turns.groups, turns.mean_turns_per_coil);
  turns.series_turns_per_phase =
      winding::SeriesTurnsPerPhase(pattern.coils, turns.mean_turns_per_coil, turns.parallel_circuits);
  turns.line_amps_rms = AmpsAtPlateTorque(record, pattern, turns);
  if (turns.line_amps_rms && turns.changed) turns.rules.push_back(rules::plan_current_at_torque);
  if (turns.changed) AddNotes(record, pattern, turns);
  return turns;
}

}  // namespace coilwright::plan
