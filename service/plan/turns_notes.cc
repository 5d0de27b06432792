#include <cmath>

#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/steps.h"

namespace coilwright::plan {
namespace {

using Texts = std::vector<std::string>;

void NoteRounding(const Record& record, const Redesign& redesign, const TurnsPlan& turns, Texts& notes) {
  const double percent = 100.0 * (turns.rounding_ratio - 1.0);
  const bool alternates = turns.alternating && turns.turns_per_coil == 0;
  const char* what = alternates ? "Alternating turns" : "Whole turns";
  if (std::abs(percent) >= 0.05) {
    notes.push_back(
        record.kind == MachineKind::kPermanentMagnet
            ? absl::StrFormat("%s move voltage and torque constant by %+.1f %%, the speed at rated voltage by "
                              "%+.1f %%; the magnets' flux does not move.",
                              what, percent, 100.0 * (1.0 / turns.rounding_ratio - 1.0))
            : absl::StrFormat("%s move the flux by %+.1f %%: look at tooth and back iron again.", what,
                              100.0 * (1.0 / turns.rounding_ratio - 1.0)));
  }
  if (turns.alternating && !alternates) {
    Texts places;
    for (const GroupCoil& coil : turns.alternating->groups.front().coils) {
      places.push_back(absl::StrFormat("%d", coil.turns));
    }
    notes.push_back(
        absl::StrFormat("Alternating turns land closer: %s in every group alike are %+.1f %% of exact turns, and all "
                        "phases and circuits "
                        "hold the same total.",
                        absl::StrJoin(places, "/"), 100.0 * (turns.alternating->rounding_ratio - 1.0)));
  }
  if (alternates && turns.alternating->axis_shift_electrical_degrees != 0) {
    notes.push_back(
        absl::StrFormat("The groups are lopsided: the axis of every phase moves by %.2f electrical degrees.",
                        turns.alternating->axis_shift_electrical_degrees));
  }
  std::vector<int> finer;
  for (const int circuits : redesign.pattern.symmetry.permitted_circuits) {
    if (circuits > turns.parallel_circuits) finer.push_back(circuits);
  }
  if (std::abs(percent) > 3.0 && !finer.empty()) {
    notes.push_back(absl::StrFormat("Rounding is coarse at so few turns; more circuits (%s) give finer steps.",
                                    absl::StrJoin(finer, " or ")));
  }
}

void NotePattern(const Record& record, const PatternSummary& pattern, const Redesign& redesign, const Change& change,
                 Texts& notes) {
  if (!change.pattern()) return;
  if (!redesign.groups_note.empty()) notes.push_back(redesign.groups_note);
  const winding::Pattern &was = pattern.pattern, &is = redesign.pattern.pattern;
  if (was.poles != is.poles) {
    const bool more = is.poles > was.poles;
    const PolesHold hold = change.poles_hold.value_or(more ? PolesHold::kAirGap : PolesHold::kBackIron);
    notes.push_back(absl::StrFormat(
        "%d poles instead of %d, %s: the density in the %s goes with %.3g.", is.poles, was.poles,
        hold == PolesHold::kAirGap ? "the flux density of the air gap kept" : "the flux density of the back iron kept",
        hold == PolesHold::kAirGap ? "back iron" : "air gap and teeth",
        hold == PolesHold::kAirGap ? static_cast<double>(was.poles) / is.poles
                                   : static_cast<double>(is.poles) / was.poles));
    notes.push_back(
        "The rotor stays: check its slots against the new poles for crawling and noise, a wound rotor cannot follow, "
        "and "
        "a cage made for few poles has end rings for those.");
    if (!more) notes.push_back("Higher speed: check bearings, balance, fan, cage and what the motor drives.");
  }
  if (is.layers == winding::Layers::kDouble && was.layers == winding::Layers::kSingle &&
      record.core.insulation.separator_mm <= 0) {
    notes.push_back("Two layers need a separator in every slot, and the record has none: its room is not in the fill.");
  }
}

void NoteSupply(const Record& record, const TurnsPlan& turns, const Change& change, Texts& notes) {
  if (!change.pattern() && !change.rated_kw &&
      std::abs(turns.exact_turns_per_coil / turns.original_turns_per_coil - 1.0) < 0.005 &&
      (turns.connection != record.winding.connection || turns.parallel_circuits != record.winding.parallel_circuits)) {
    notes.push_back("The turns stay as they are: a sound winding needs its coils joined anew, not a rewind.");
  }
  if (record.kind == MachineKind::kPermanentMagnet && turns.connection != record.winding.connection &&
      turns.connection == electric::Connection::kDelta) {
    notes.push_back(
        "A magnet machine in delta lets third-harmonic current circulate in the winding; star is the safer choice.");
  }
  if (change.dc_bus_volts) {
    notes.push_back(absl::StrFormat(
        "For a DC bus of %g V instead of %g V the winding is taken for %.4g V instead of %g V, line to line: the drive "
        "turns the same share of its bus into volts, and the speed is held. Insulation meets the pulses of the new "
        "bus.",
        *change.dc_bus_volts, change.dc_bus_volts_before ? *change.dc_bus_volts_before : *record.plate.dc_bus_volts,
        turns.rated_volts, record.plate.rated_volts));
  }
  if (turns.rated_volts > record.plate.rated_volts) {
    notes.push_back("Higher voltage: slot, phase and lead insulation and the test levels follow the new rating.");
  }
}

void NoteOutput(const Record& record, const TurnsPlan& turns, const Change& change, Texts& notes) {
  const std::optional<double> plate_amps = PlateLineAmpsRms(record.plate);
  if (turns.line_amps_rms && std::abs(*turns.line_amps_rms / *plate_amps - 1.0) > 0.01) {
    notes.push_back(absl::StrFormat(
        "At the %s the line current becomes %.3g A instead of %.3g A; the current density is for that%s.",
        change.rated_kw ? "new output" : "torque of the plate", *turns.line_amps_rms, *plate_amps,
        *turns.line_amps_rms > *plate_amps ? ", and the drive, leads and protection must carry it" : ""));
  }
  if (record.kind == MachineKind::kPermanentMagnet && turns.speed_rpm && record.plate.speed_rpm &&
      *turns.speed_rpm > 1.05 * *record.plate.speed_rpm) {
    notes.push_back(
        absl::StrFormat("%.0f rpm is above the plate's %.0f rpm: magnets may come off the rotor and bearings, balance "
                        "and brake may not "
                        "stand it, and iron loss rises. Only with the maker's word for that speed.",
                        *turns.speed_rpm, *record.plate.speed_rpm));
  }
  if (record.kind != MachineKind::kInduction) return;
  if (turns.frequency_hz && record.plate.frequency_hz && *turns.frequency_hz > *record.plate.frequency_hz) {
    notes.push_back("The same flux at a higher frequency heats the iron more: less flux or less load may be needed.");
  }
  if (turns.frequency_hz && record.plate.frequency_hz && *turns.frequency_hz != *record.plate.frequency_hz) {
    notes.push_back(absl::StrFormat(
        "Speed follows the frequency%s: check bearings, balance, fan and what the motor drives. At the same torque the "
        "output is %.3g times that of the plate.",
        turns.speed_rpm ? absl::StrFormat(", to about %.0f rpm", *turns.speed_rpm) : "",
        *turns.frequency_hz / *record.plate.frequency_hz * record.plate.poles / turns.poles));
  }
  if (change.rated_kw) {
    notes.push_back(absl::StrFormat(
        "%.3g kW instead of %.3g kW in the same frame: the share of breakdown torque is kept by more flux, not the "
        "heat. Shaft, bearings, cage and cooling were made for the plate.",
        *change.rated_kw, *record.plate.rated_kw));
  }
}

}  // namespace

std::vector<std::string> TurnsNotes(const Record& record, const PatternSummary& pattern, const Redesign& redesign,
                                    const Change& change, const TurnsPlan& turns) {
  Texts notes;
  NoteRounding(record, redesign, turns, notes);
  for (std::string& note : AxisNotes(record, pattern, redesign)) notes.push_back(std::move(note));
  NotePattern(record, pattern, redesign, change, notes);
  NoteSupply(record, turns, change, notes);
  NoteOutput(record, turns, change, notes);
  return notes;
}

}  // namespace coilwright::plan
