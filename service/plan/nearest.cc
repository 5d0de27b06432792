#include "plan/nearest.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "plan/steps.h"
#include "standards/range_check.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"
#include "winding/redesign.h"

namespace coilwright::plan {
namespace {

constexpr double kNoDifference = 0.001;  // 750 W against 0.7457 kW is one; 750 W against 0.75 kW is none

struct Compared {
  absl::string_view name, field, unit;
  std::optional<double> NearMachine::*of;
};
constexpr std::array<Compared, 7> kCompared = {{
    {"bore_mm", "core.bore_diameter", "mm", &NearMachine::bore_mm},
    {"outer_mm", "core.outer_diameter", "mm", &NearMachine::outer_mm},
    {"stack_length_mm", "core.stack_length", "mm", &NearMachine::stack_length_mm},
    {"rated_kw", "nameplate.rated_power", "kW", &NearMachine::rated_kw},
    {"speed_rpm", "nameplate.speed_rpm", "rpm", &NearMachine::speed_rpm},
    {"frequency_hz", "nameplate.frequency_hz", "Hz", &NearMachine::frequency_hz},
    {"rated_volts", "nameplate.rated_volts", "V", &NearMachine::rated_volts},
}};

absl::string_view KindName(MachineKind kind) {
  return kind == MachineKind::kInduction ? "induction" : "permanent magnet";
}

absl::string_view KindInWords(MachineKind kind) {
  return kind == MachineKind::kInduction ? "an induction machine" : "a permanent-magnet machine";
}

// A cell of nearest_units.csv; a row for one kind of machine holds for that kind alone.
double UnitOf(absl::string_view value, MachineKind kind, absl::string_view column) {
  static const auto& table = *new standards::Table(standards::EmbeddedTable("nearest_units"));
  for (int row = 0; row < table.rows(); ++row) {
    const absl::string_view machine = table.Text(row, "machine");
    if (table.Text(row, "value") == value && (machine.empty() || machine == KindName(kind))) {
      return table.Number(row, column).value();
    }
  }
  std::abort();
}

std::string Given(std::optional<double> value, absl::string_view unit) {
  return value ? standards::WithUnit(*value, unit) : "not recorded";
}

class SquareSum {
 public:
  void Add(NearDifference difference) {
    ++known_;
    squares_ += difference.units * difference.units;
    if (difference.units > 0) differences_.push_back(std::move(difference));
  }
  Nearness Done() && {
    std::stable_sort(differences_.begin(), differences_.end(),
                     [](const NearDifference& a, const NearDifference& b) { return a.units > b.units; });
    Nearness near;
    near.distance = known_ == 0 ? 0 : std::sqrt(squares_ / known_);
    near.differences = std::move(differences_);
    return near;
  }

 private:
  int known_ = 0;
  double squares_ = 0;
  std::vector<NearDifference> differences_;
};

bool Positive(std::optional<double> value) { return value && *value > 0 && std::isfinite(*value); }

std::string Percent(double ratio) { return absl::StrFormat("%+.0f %%", 100 * (ratio - 1)); }

// Emf and frequency of both sides for the master relation.
struct Emf {
  double from_volts, from_hz, to_volts, to_hz;
};

std::optional<Emf> EmfOf(const Record& r, const NearMachine& recorded, const NearMachine& wanted,
                         std::vector<std::string>& notes) {
  if (r.kind == MachineKind::kPermanentMagnet && Positive(recorded.ke_ll_rms_v_per_krpm) &&
      Positive(wanted.ke_ll_rms_v_per_krpm)) {
    const double hz = 1000.0 * r.plate.poles / 120;
    notes.push_back("Turns by the voltage constants of both machines.");
    return Emf{*recorded.ke_ll_rms_v_per_krpm, hz, *wanted.ke_ll_rms_v_per_krpm, hz};
  }
  if (!Positive(recorded.rated_volts) || !Positive(wanted.rated_volts)) {
    notes.push_back("Not scaled: the rated volts of one side are not known.");
    return std::nullopt;
  }
  if (r.kind == MachineKind::kPermanentMagnet) {
    if (!Positive(recorded.speed_rpm) || !Positive(wanted.speed_rpm)) {
      notes.push_back(
          "Not scaled: a magnet machine needs the voltage constants of both sides, or the speeds of both plates.");
      return std::nullopt;
    }
    notes.push_back(
        "Turns by volts and speed of the plates, as if both used the same share of their volts: measure the voltage "
        "constant on the rotor at hand.");
    const double per_rpm = r.plate.poles / 120.0;
    return Emf{*recorded.rated_volts, *recorded.speed_rpm * per_rpm, *wanted.rated_volts, *wanted.speed_rpm * per_rpm};
  }
  if (!Positive(recorded.frequency_hz) && !Positive(wanted.frequency_hz)) {
    notes.push_back("Frequency taken as the same: neither plate gives it.");
    return Emf{*recorded.rated_volts, 50, *wanted.rated_volts, 50};
  }
  const double from = Positive(recorded.frequency_hz) ? *recorded.frequency_hz : *wanted.frequency_hz;
  const double to = Positive(wanted.frequency_hz) ? *wanted.frequency_hz : *recorded.frequency_hz;
  if (!Positive(recorded.frequency_hz) || !Positive(wanted.frequency_hz)) {
    notes.push_back(absl::StrFormat("Frequency taken as %g Hz on both sides: one plate does not give it.", from));
  }
  return Emf{*recorded.rated_volts, from, *wanted.rated_volts, to};
}

std::optional<double> CurrentRatio(const NearMachine& recorded, const NearMachine& wanted,
                                   std::vector<std::string>& notes) {
  if (Positive(recorded.line_amps_rms) && Positive(wanted.line_amps_rms)) {
    return *wanted.line_amps_rms / *recorded.line_amps_rms;
  }
  if (Positive(recorded.rated_kw) && Positive(wanted.rated_kw) && Positive(recorded.rated_volts) &&
      Positive(wanted.rated_volts)) {
    notes.push_back("Conductor area by power over volts: one plate does not give its current.");
    return *wanted.rated_kw / *recorded.rated_kw * *recorded.rated_volts / *wanted.rated_volts;
  }
  notes.push_back("No conductor area: neither the currents nor the powers of both plates are known.");
  return std::nullopt;
}

// What the scaled winding asks of the iron and the slot beside the recorded one, at the same density in the gap.
void NoteTheCore(const NearMachine& recorded, const NearMachine& wanted, const ScaledWinding& scaled,
                 double recorded_turns, std::vector<std::string>& notes) {
  const double bore = *wanted.bore_mm / *recorded.bore_mm;
  const auto iron = [&](absl::string_view what, std::optional<double> was, std::optional<double> is) {
    if (Positive(was) && Positive(is)) {
      notes.push_back(absl::StrFormat("Flux density in the %s: %s against the recorded machine.", what,
                                      Percent(bore * *was / *is)));
    } else {
      notes.push_back(absl::StrFormat("Check the flux density in the %s: it is not known on both sides.", what));
    }
  };
  iron("teeth", recorded.tooth_width_mm, wanted.tooth_width_mm);
  iron("back iron", recorded.back_iron_mm, wanted.back_iron_mm);
  if (!scaled.conductor_area_ratio) return;
  const double copper = scaled.turns_per_coil / recorded_turns * *scaled.conductor_area_ratio;
  if (Positive(recorded.slot_area_mm2) && Positive(wanted.slot_area_mm2)) {
    notes.push_back(absl::StrFormat("Slot fill: %s against the recorded winding.",
                                    Percent(copper * *recorded.slot_area_mm2 / *wanted.slot_area_mm2)));
  } else {
    notes.push_back(absl::StrFormat("Check the slot fill: %s copper in a slot whose room is not known on both sides.",
                                    Percent(copper)));
  }
}

std::string GroupsText(const std::vector<CoilGroup>& groups) {
  std::string text;
  for (const CoilGroup& group : groups) {
    absl::StrAppend(&text, text.empty() ? "" : "; ", group.count, " groups of");
    for (const GroupCoil& coil : group.coils) absl::StrAppend(&text, " ", coil.turns, " (span ", coil.span_slots, ")");
  }
  return text;
}

// Why the recorded winding is none for this stator; empty where it may be.
std::string Unlike(const Record& r, const NearMachine& recorded, const NearMachine& wanted) {
  if (recorded.slots != wanted.slots) {
    return absl::StrFormat("the recorded core has %d slots, not %d", recorded.slots, wanted.slots);
  }
  if (wanted.kind && *wanted.kind != r.kind) {
    return absl::StrCat("the recorded machine is ", KindInWords(r.kind), ", not ", KindInWords(*wanted.kind));
  }
  if (!recorded.poles) return "the poles of the recorded machine are not known";
  if (wanted.poles && *wanted.poles != *recorded.poles) {
    return absl::StrFormat("the recorded winding has %d poles, not %d: another winding, not another number of turns",
                           *recorded.poles, *wanted.poles);
  }
  for (const auto& [what, of] : {std::pair("bore", &NearMachine::bore_mm), {"stack", &NearMachine::stack_length_mm}}) {
    if (!Positive(recorded.*of) || !Positive(wanted.*of)) {
      return absl::StrCat("the ", what, " is not known on both sides, and the flux goes with it");
    }
  }
  return "";
}

}  // namespace

NearMachine NearMachineOf(const Record& r) {
  NearMachine m;
  m.kind = r.kind;
  m.slots = r.core.slots;
  if (r.plate.poles > 0) m.poles = r.plate.poles;
  m.bore_mm = r.core.bore_mm;
  m.outer_mm = r.core.outer_mm;
  m.stack_length_mm = r.core.stack_length_mm;
  if (r.plate.rated_volts > 0) m.rated_volts = r.plate.rated_volts;
  m.rated_kw = RatedKw(r.plate);
  m.speed_rpm = r.plate.speed_rpm;
  m.frequency_hz = r.plate.frequency_hz;
  m.line_amps_rms = PlateLineAmpsRms(r.plate);
  m.ke_ll_rms_v_per_krpm =
      r.measured_ke_ll_rms_v_per_krpm ? r.measured_ke_ll_rms_v_per_krpm : r.plate.ke_ll_rms_v_per_krpm;
  m.tooth_width_mm = r.core.tooth_width_mm;
  m.back_iron_mm = r.core.back_iron_mm;
  if (!m.back_iron_mm && r.core.outer_mm && r.core.bore_mm && r.core.slot_depth_mm) {
    m.back_iron_mm = (*r.core.outer_mm - *r.core.bore_mm) / 2 - *r.core.slot_depth_mm;
  }
  // A slot whose dimensions contradict each other has no area here; the check of the record says why.
  if (const auto area = SlotAreaOf(r); area.ok() && *area) m.slot_area_mm2 = (*area)->net_mm2;
  return m;
}

std::optional<Nearness> Distance(const NearMachine& wanted, const NearMachine& recorded) {
  if (wanted.slots != recorded.slots) return std::nullopt;
  const MachineKind kind = wanted.kind.value_or(recorded.kind.value_or(MachineKind::kInduction));
  SquareSum sum;
  if (wanted.kind) {
    const bool same = recorded.kind == wanted.kind;
    sum.Add({"kind",
             std::string(KindName(*wanted.kind)),
             recorded.kind ? std::string(KindName(*recorded.kind)) : "not recorded",
             {},
             same            ? 0.0
             : recorded.kind ? UnitOf("kind", kind, "apart")
                             : 1.0});
  }
  if (wanted.poles) {
    NearDifference difference{"nameplate.poles", absl::StrCat(*wanted.poles), "not recorded", {}, 1.0};
    if (recorded.poles) {
      difference.recorded = absl::StrCat(*recorded.poles);
      difference.ratio = static_cast<double>(*recorded.poles) / *wanted.poles;
      difference.units = *recorded.poles == *wanted.poles ? 0.0 : UnitOf("poles", kind, "apart");
    }
    sum.Add(std::move(difference));
  }
  for (const Compared& value : kCompared) {
    const std::optional<double> want = wanted.*value.of, have = recorded.*value.of;
    if (!Positive(want)) continue;
    NearDifference difference{std::string(value.field), Given(want, value.unit), Given(have, value.unit), {}, 1.0};
    if (Positive(have)) {
      difference.ratio = *have / *want;
      const double apart = std::abs(std::log(*have) - std::log(*want));
      difference.units = apart <= kNoDifference ? 0 : apart / std::log(UnitOf(value.name, kind, "ratio"));
    }
    sum.Add(std::move(difference));
  }
  return std::move(sum).Done();
}

CoreWindow WindowOf(const NearMachine& wanted, double units) {
  const MachineKind kind = wanted.kind.value_or(MachineKind::kInduction);
  const auto ratio = [&](absl::string_view value) { return std::pow(UnitOf(value, kind, "ratio"), units); };
  CoreWindow window{ratio("bore_mm"), ratio("outer_mm"), ratio("stack_length_mm")};
  // Kind and poles beside the values.
  window.least_outside = units / std::sqrt(kCompared.size() + 2.0);
  return window;
}

ScaledToTheCore ScaledToCore(const Record& r, const NearMachine& wanted) {
  ScaledToTheCore result;
  const NearMachine recorded = NearMachineOf(r);
  if (const std::string unlike = Unlike(r, recorded, wanted); !unlike.empty()) {
    result.notes = {absl::StrCat("Not scaled: ", unlike, ".")};
    return result;
  }
  const absl::StatusOr<PatternSummary> pattern = SummarisePattern(r);
  const bool counted = r.winding.turns_per_coil || !r.winding.groups.empty();
  if (!counted || !pattern.ok() || !(pattern->mean_turns_per_coil > 0)) {
    result.notes = {"Not scaled: the record gives no turns, or no pattern of coils that can be wound."};
    return result;
  }
  const std::optional<Emf> emf = EmfOf(r, recorded, wanted, result.notes);
  if (!emf) return result;

  ScaledWinding scaled;
  scaled.flux_ratio = *wanted.bore_mm * *wanted.stack_length_mm / (*recorded.bore_mm * *recorded.stack_length_mm);
  scaled.connection = r.winding.connection;
  scaled.parallel_circuits = r.winding.parallel_circuits;
  scaled.rated_volts = wanted.rated_volts.value_or(recorded.rated_volts.value_or(0));
  const winding::Side from{emf->from_volts,         emf->from_hz,  scaled.connection, scaled.parallel_circuits,
                           pattern->winding_factor, pattern->coils};
  winding::Side to = from;
  to.line_volts = emf->to_volts;
  to.frequency_hz = emf->to_hz;
  to.flux_ratio = scaled.flux_ratio;
  const absl::StatusOr<winding::Rescaled> turns = winding::RescaledTurns(pattern->mean_turns_per_coil, from, to);
  if (!turns.ok()) {
    result.notes = {absl::StrCat("Not scaled: ", turns.status().message(), ".")};
    return result;
  }
  scaled.exact_turns_per_coil = turns->exact_turns;
  scaled.turns_per_coil = turns->whole_turns;
  scaled.conductor_area_ratio = CurrentRatio(recorded, wanted, result.notes);
  scaled.rules = {rules::nearest_scaled, rules::winding_redesign_turns, rules::plan_rounding};
  if (scaled.conductor_area_ratio) scaled.rules.push_back(rules::nearest_conductor);

  std::vector<std::string>& notes = result.notes;
  if (!wanted.kind || !wanted.poles) {
    notes.push_back(absl::StrFormat("Taken as %s of %d poles, like the recorded one: confirm it.", KindInWords(r.kind),
                                    r.plate.poles));
  }
  if (!r.winding.groups.empty()) {
    notes.push_back(
        absl::StrCat("Coils differ; in the recorded proportion: ",
                     GroupsText(ScaledGroups(r, scaled.exact_turns_per_coil / pattern->mean_turns_per_coil)), "."));
  }
  const bool induction = r.kind == MachineKind::kInduction;
  const double moved = induction ? turns->rounding_flux_ratio : 1 / turns->rounding_flux_ratio;
  notes.push_back(absl::StrFormat("Whole turns move the %s by %+.1f %%.", induction ? "flux" : "voltage constant",
                                  100 * (moved - 1)));
  NoteTheCore(recorded, wanted, scaled, pattern->mean_turns_per_coil, notes);
  notes.push_back(
      "Another machine's winding: a place to start, never a drawing. Count what is left of this one, then plan it and "
      "check the plan against its own plate.");
  result.winding = std::move(scaled);
  return result;
}

}  // namespace coilwright::plan
