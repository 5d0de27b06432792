#include <algorithm>
#include <cmath>

#include "absl/strings/str_format.h"
#include "plan/contract_paths.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"
#include "winding/alternating.h"
#include "winding/redesign.h"

namespace coilwright::plan {
namespace {

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

double MeanTurns(const std::vector<CoilGroup>& groups) {
  double turns = 0;
  int coils = 0;
  for (const CoilGroup& group : groups) {
    for (const GroupCoil& coil : group.coils) turns += group.count * coil.turns;
    coils += group.count * static_cast<int>(group.coils.size());
  }
  return turns / coils;
}

// Output of the new winding over that of the original: as asked for, else that of the same torque.
double PowerRatio(const Record& record, const Change& change, const TurnsPlan& turns) {
  if (change.rated_kw) return *change.rated_kw / *record.plate.rated_kw;
  if (record.kind == MachineKind::kPermanentMagnet) {
    return turns.speed_rpm && record.plate.speed_rpm ? *turns.speed_rpm / *record.plate.speed_rpm : 1.0;
  }
  const double hertz =
      turns.frequency_hz && record.plate.frequency_hz ? *turns.frequency_hz / *record.plate.frequency_hz : 1.0;
  return hertz * record.plate.poles / turns.poles;
}

// Flux per pole that is asked for, new over original: by what the change of poles holds, and with the root of the
// torque where more of it is asked for than the poles and frequency alone would keep.
double FluxWanted(const Record& record, const Change& change, const TurnsPlan& turns, double power_ratio) {
  double flux = 1.0;
  const double fewer = static_cast<double>(record.plate.poles) / turns.poles;
  const PolesHold hold = change.poles_hold.value_or(fewer < 1 ? PolesHold::kAirGap : PolesHold::kBackIron);
  if (hold == PolesHold::kAirGap) flux = fewer;
  if (!change.rated_kw) return flux;
  Change same_torque = change;
  same_torque.rated_kw.reset();
  return flux * std::sqrt(power_ratio / PowerRatio(record, same_torque, turns));
}

// An induction motor draws by volts and output. A magnet machine goes by its torque constant, which takes in the
// rounding.
std::optional<double> AmpsAtOutput(const Record& record, const PatternSummary& pattern, const TurnsPlan& turns,
                                   double power_ratio) {
  const std::optional<double> amps = PlateLineAmpsRms(record.plate);
  if (!amps || !turns.changed) return amps;
  if (record.kind == MachineKind::kInduction) return *amps * record.plate.rated_volts / turns.rated_volts * power_ratio;
  TurnsPlan original;
  original.series_turns_per_phase = pattern.series_turns_per_phase;
  original.winding_factor = pattern.winding_factor;
  original.connection = record.winding.connection;
  return *amps / LineTurnsRatio(original, turns);
}

// The slip frequency stays at the same torque and flux.
std::optional<double> NewSpeedRpm(const Record& record, const Change& change) {
  const Plate& plate = record.plate;
  if (change.speed_rpm) return change.speed_rpm;
  if (!plate.speed_rpm || !(change.frequency_hz || change.poles)) return plate.speed_rpm;
  if (!plate.frequency_hz) return std::nullopt;
  const double slip_hz = *plate.frequency_hz - *plate.speed_rpm * plate.poles / 120.0;
  const double rpm =
      120.0 * (change.frequency_hz.value_or(*plate.frequency_hz) - slip_hz) / change.poles.value_or(plate.poles);
  return rpm > 0 ? std::optional<double>(rpm) : std::nullopt;
}

std::vector<CoilGroup> GroupsOf(const winding::AlternatingTurns& alternating) {
  CoilGroup group;
  group.count = alternating.groups;
  for (size_t i = 0; i < alternating.turns_by_place.size(); ++i) {
    group.coils.push_back({alternating.span_by_place[i], alternating.turns_by_place[i]});
  }
  return {group};
}

// Turns of equal coils: whole, or alternating where that was asked for and lands closer.
absl::Status PlanEqualCoils(const Record& record, const Redesign& redesign, const Change& change, TurnsPlan& turns) {
  const double wanted = turns.exact_turns_per_coil * redesign.pattern.winding_factor;
  turns.turns_per_coil = std::max(1, static_cast<int>(std::lround(turns.exact_turns_per_coil)));
  turns.mean_turns_per_coil = turns.turns_per_coil;
  turns.winding_factor = redesign.pattern.winding_factor;
  turns.turns_in_fullest_slot =
      TurnsInFullestSlot(redesign.record, redesign.pattern.pattern, {}, turns.mean_turns_per_coil);
  if (!turns.changed) return absl::OkStatus();
  const absl::StatusOr<std::optional<winding::AlternatingTurns>> alternating =
      winding::Alternate(redesign.pattern.pattern, turns.parallel_circuits, turns.exact_turns_per_coil,
                         record.kind == MachineKind::kPermanentMagnet);
  if (!alternating.ok()) return alternating.status();
  if (!*alternating) return absl::OkStatus();
  const winding::AlternatingTurns& found = **alternating;
  turns.alternating = AlternatingOffer{GroupsOf(found),
                                       found.mean_turns,
                                       found.winding_factor,
                                       found.mean_turns * found.winding_factor / wanted,
                                       found.axis_shift_electrical_degrees,
                                       static_cast<double>(found.turns_in_fullest_slot)};
  turns.rules.push_back(rules::plan_alternating_turns);
  if (!change.alternating_turns) return absl::OkStatus();
  turns.turns_per_coil = 0;
  turns.groups = turns.alternating->groups;
  turns.mean_turns_per_coil = found.mean_turns;
  turns.winding_factor = found.winding_factor;
  turns.turns_in_fullest_slot = found.turns_in_fullest_slot;
  return absl::OkStatus();
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
  const absl::StatusOr<Redesign> redesign = RedesignOf(record, pattern, change);
  if (!redesign.ok()) return redesign.status();
  return PlanTurns(record, pattern, *redesign, change);
}

absl::StatusOr<TurnsPlan> PlanTurns(const Record& record, const PatternSummary& pattern, const Redesign& redesign,
                                    const Change& change) {
  const RecordedWinding &was = record.winding, &w = redesign.record.winding;
  const PatternSummary& planned = redesign.pattern;
  TurnsPlan turns;
  turns.original_turns_per_coil = pattern.mean_turns_per_coil;
  turns.connection = w.connection;
  turns.parallel_circuits = w.parallel_circuits;
  turns.poles = redesign.record.plate.poles;
  turns.rated_volts = RatedVoltsOf(record, change);
  turns.frequency_hz = change.frequency_hz ? change.frequency_hz : record.plate.frequency_hz;
  turns.speed_rpm = NewSpeedRpm(record, change);
  if (change.speed_rpm && record.plate.frequency_hz && record.plate.speed_rpm) {
    turns.frequency_hz = *record.plate.frequency_hz * *change.speed_rpm / *record.plate.speed_rpm;
  }
  turns.changed = change.any();
  turns.rules = {rules::winding_series_turns};
  const double power_ratio = PowerRatio(record, change, turns);
  if (RatedKw(record.plate)) turns.rated_kw = *RatedKw(record.plate) * power_ratio;
  const double flux_wanted = FluxWanted(record, change, turns, power_ratio);

  turns.exact_turns_per_coil = pattern.mean_turns_per_coil;
  if (turns.changed) {
    winding::Side from{record.plate.rated_volts, HzOf(record, record.plate.frequency_hz, record.plate.speed_rpm),
                       was.connection,           was.parallel_circuits,
                       pattern.winding_factor,   pattern.coils};
    winding::Side to{turns.rated_volts,
                     HzOf(record, turns.frequency_hz, turns.speed_rpm),
                     turns.connection,
                     turns.parallel_circuits,
                     planned.winding_factor,
                     planned.coils,
                     flux_wanted};
    const absl::StatusOr<winding::Rescaled> rescaled = winding::RescaledTurns(pattern.mean_turns_per_coil, from, to);
    if (!rescaled.ok()) {
      const bool induction = record.kind == MachineKind::kInduction;
      return InContract(rescaled.status(), "change",
                        {{"to.line_volts", change.dc_bus_volts ? "change.dc_bus_volts" : "change.rated_volts"},
                         {"to.frequency_hz", induction ? "change.frequency_hz" : "change.speed_rpm"},
                         {"to.flux_ratio", change.rated_kw ? "change.rated_power" : "change.poles"},
                         {"from.line_volts", "record.machine.nameplate.rated_volts"},
                         {"from.frequency_hz",
                          induction ? "record.machine.nameplate.frequency_hz" : "record.machine.nameplate.speed_rpm"}});
    }
    if (rescaled->exact_turns < kLeastExactTurns || rescaled->exact_turns > kMostExactTurns) {
      return standards::InvalidField("change",
                                     absl::StrFormat("a change that needs %.4g turns per coil", rescaled->exact_turns),
                                     absl::StrFormat("one that needs %g to %g", kLeastExactTurns, kMostExactTurns));
    }
    turns.exact_turns_per_coil = rescaled->exact_turns;
    turns.rules.push_back(rules::winding_redesign_turns);
    turns.rules.push_back(rules::plan_rounding);
    turns.rules.push_back(rules::plan_conductor_area);
    if (change.rated_kw) turns.rules.push_back(rules::plan_power_at_the_frame);
    if (change.poles) turns.rules.push_back(rules::plan_poles_hold);
  }
  if (w.groups.empty()) {
    if (absl::Status status = PlanEqualCoils(record, redesign, change, turns); !status.ok()) return status;
  } else {
    turns.groups = ScaledGroups(redesign.record, turns.exact_turns_per_coil / planned.mean_turns_per_coil);
    turns.mean_turns_per_coil = MeanTurns(turns.groups);
    const absl::StatusOr<double> winding_factor = WindingFactorOf(redesign.record, planned.pattern, turns.groups);
    if (!winding_factor.ok()) return winding_factor.status();
    turns.winding_factor = *winding_factor;
    turns.turns_in_fullest_slot =
        TurnsInFullestSlot(redesign.record, planned.pattern, turns.groups, turns.mean_turns_per_coil);
  }
  turns.rounding_ratio =
      turns.mean_turns_per_coil * turns.winding_factor / (turns.exact_turns_per_coil * planned.winding_factor);
  if (record.kind == MachineKind::kInduction) turns.flux_ratio = flux_wanted / turns.rounding_ratio;
  turns.series_turns_per_phase =
      winding::SeriesTurnsPerPhase(planned.coils, turns.mean_turns_per_coil, turns.parallel_circuits);
  turns.line_amps_rms = AmpsAtOutput(record, pattern, turns, power_ratio);
  if (turns.line_amps_rms && turns.changed) turns.rules.push_back(rules::plan_current_at_torque);
  if (turns.changed) turns.notes = TurnsNotes(record, pattern, redesign, change, turns);
  return turns;
}

}  // namespace coilwright::plan
