#include "winding/redesign.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "absl/strings/strip.h"
#include "plan/contract_paths.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using standards::FieldError;
using winding::CoilForm;

class Refusals {
 public:
  void Add(absl::string_view field, std::string given, std::string accepted) {
    errors_.push_back({std::string(field), std::move(given), std::move(accepted)});
  }
  std::vector<FieldError>& errors() { return errors_; }

 private:
  std::vector<FieldError> errors_;
};

void RefuseForMagnets(const Change& change, Refusals& refused) {
  if (change.frequency_hz) {
    refused.Add("frequency_hz", absl::StrFormat("%g Hz", *change.frequency_hz),
                "speed_rpm instead: the frequency of a permanent-magnet machine follows its speed");
  }
  if (change.poles) {
    refused.Add("poles", absl::StrFormat("%d poles", *change.poles),
                "the poles of the rotor: the magnets, the drive and its feedback do not change theirs");
  }
  if (change.rated_kw) {
    refused.Add("rated_power", absl::StrFormat("%g kW", *change.rated_kw),
                "rated_volts or speed_rpm instead: the flux is the magnets', and more power is more current or speed");
  }
}

// The bus the original ran on, by the change or the plate.
std::optional<double> BusBefore(const Record& record, const Change& change) {
  return change.dc_bus_volts_before ? change.dc_bus_volts_before : record.plate.dc_bus_volts;
}

void RefuseOfTheBus(const Record& record, const Change& change, Refusals& refused) {
  if (change.dc_bus_volts_before && !change.dc_bus_volts) {
    refused.Add("dc_bus_volts_before", "given without dc_bus_volts", "dc_bus_volts beside it");
  }
  if (!change.dc_bus_volts) return;
  const std::string given = absl::StrFormat("%g V", *change.dc_bus_volts);
  if (record.kind == MachineKind::kInduction) {
    refused.Add("dc_bus_volts", given,
                "rated_volts instead: the plate of an induction motor says what it is wound for");
  } else if (change.rated_volts) {
    refused.Add("dc_bus_volts", absl::StrCat(given, " beside rated_volts"), "one of the two");
  } else if (!BusBefore(record, change)) {
    refused.Add("dc_bus_volts", given,
                "dc_bus_volts_before beside it, or record.machine.nameplate.dc_bus_volts: the bus the original ran on");
  } else if (const double volts = RatedVoltsOf(record, change); !(volts >= 1 && volts <= 50000)) {
    refused.Add("dc_bus_volts", given,
                absl::StrFormat("a bus that asks for 1 V to 50000 V of the winding, not %g V", volts));
  }
}

void RefuseForInduction(const Record& record, const Change& change, Refusals& refused) {
  if (change.frequency_hz && !record.plate.frequency_hz) {
    refused.Add("frequency_hz", absl::StrFormat("%g Hz", *change.frequency_hz),
                "a changed frequency only where record.machine.nameplate.frequency_hz gives the original one");
  }
  if (change.speed_rpm) {
    refused.Add("speed_rpm", absl::StrFormat("%g rpm", *change.speed_rpm),
                "frequency_hz or poles instead: the speed of an induction motor follows them");
  }
  if (change.poles && *change.poles % 2 != 0) {
    refused.Add("poles", absl::StrFormat("%d poles", *change.poles), "an even number; enter poles, not pole pairs");
  }
  if (change.rated_kw && !record.plate.rated_kw) {
    refused.Add("rated_power", absl::StrFormat("%g kW", *change.rated_kw),
                "a changed power only where record.machine.nameplate.rated_power gives the original one");
  }
}

void RefuseOfTheCoils(const Record& record, const PatternSummary& pattern, const Change& change, Refusals& refused) {
  const CoilForm form = change.form.value_or(record.winding.form);
  if (change.poles_hold && !change.poles) {
    refused.Add("poles_hold", "given without poles", "poles beside it");
  }
  if (!change.groups.empty()) {
    if (form != CoilForm::kConcentric) {
      refused.Add("groups", "groups of coils that are not concentric", "coil_form concentric, or one coil_pitch_slots");
    }
    if (change.coil_pitch) refused.Add("coil_pitch_slots", "given beside groups", "one of the two");
    return;
  }
  if (change.coil_pitch || form == CoilForm::kToothCoil) return;
  if (change.poles && *change.poles != record.plate.poles) {
    refused.Add("coil_pitch_slots", "nothing beside changed poles",
                absl::StrFormat("the slots spanned; the pole pitch becomes %.3g slots",
                                static_cast<double>(record.core.slots) / *change.poles));
  } else if (change.pattern() && std::abs(pattern.mean_pitch - std::round(pattern.mean_pitch)) > 1e-9) {
    refused.Add("coil_pitch_slots",
                absl::StrFormat("nothing beside coils of %.4g slots on average", pattern.mean_pitch),
                "a whole number of slots");
  }
}

// The field that asks for other coils.
absl::string_view NewCoilsBy(const Change& change) {
  if (change.poles) return "poles";
  if (change.layers) return "layers";
  if (change.form) return "coil_form";
  return change.groups.empty() ? "coil_pitch_slots" : "groups";
}

absl::Status NotBalanced(const absl::Status& status) {
  if (absl::IsFailedPrecondition(status)) {
    return absl::FailedPreconditionError(absl::StrCat("as changed, ", status.message()));
  }
  return InContract(status, "change",
                    {{"coil_pitch", "change.coil_pitch_slots"},
                     {"poles", "change.poles"},
                     {"form", "change.coil_form"},
                     {"slots", "change"}});
}

// The record with the coils of the change.
absl::StatusOr<Redesign> WithNewCoils(const Record& record, const PatternSummary& pattern, const Change& change) {
  Redesign redesign{record, {}, ""};
  Record& planned = redesign.record;
  RecordedWinding& w = planned.winding;
  planned.plate.poles = change.poles.value_or(record.plate.poles);
  w.form = change.form.value_or(w.form);
  w.layers = change.layers.value_or(w.layers);
  if (change.layers) planned.core.insulation.separator_present = w.layers == winding::Layers::kDouble;
  const bool had_groups = !w.groups.empty();
  w.groups = change.groups;
  w.coil_pitch.reset();
  w.turns_per_coil.reset();
  if (w.groups.empty()) {
    w.coil_pitch = w.form == CoilForm::kToothCoil ? change.coil_pitch.value_or(1)
                                                  : change.coil_pitch.value_or(std::lround(pattern.mean_pitch));
    w.turns_per_coil = 1;
  }
  if (std::vector<FieldError> errors = WindingContradictions(planned); !errors.empty()) {
    for (FieldError& error : errors) error.field = std::string(absl::StripPrefix(error.field, "winding."));
    return standards::UnderField("change", standards::InvalidFields(errors));
  }
  absl::StatusOr<PatternSummary> summary = SummarisePattern(planned);
  if (summary.ok() && w.groups.empty() && w.form == CoilForm::kConcentric && (change.form || had_groups)) {
    absl::StatusOr<std::vector<CoilGroup>> groups = NewGroups(record, summary->pattern, &redesign.groups_note);
    if (!groups.ok()) return NotBalanced(groups.status());
    w.groups = *std::move(groups);
    w.coil_pitch.reset();
    w.turns_per_coil.reset();
    summary = SummarisePattern(planned);
  }
  if (!summary.ok()) return NotBalanced(summary.status());
  redesign.pattern = *std::move(summary);
  return redesign;
}

}  // namespace

double RatedVoltsOf(const Record& record, const Change& change) {
  const std::optional<double> before = BusBefore(record, change);
  const double ratio = change.dc_bus_volts && before ? *change.dc_bus_volts / *before : 1.0;
  return change.rated_volts.value_or(record.plate.rated_volts * ratio);
}

absl::StatusOr<Redesign> RedesignOf(const Record& record, const PatternSummary& pattern, const Change& change) {
  Refusals refused;
  if (record.kind == MachineKind::kPermanentMagnet) {
    RefuseForMagnets(change, refused);
    if (change.speed_rpm && !record.plate.speed_rpm) {
      refused.Add("speed_rpm", absl::StrFormat("%g rpm", *change.speed_rpm),
                  "a changed speed only where record.machine.nameplate.speed_rpm gives the original one");
    } else if (const double rpm_per_hz = 120.0 / record.plate.poles;
               change.speed_rpm && *change.speed_rpm > winding::kMostHz * rpm_per_hz) {
      refused.Add("speed_rpm", absl::StrFormat("%g rpm", *change.speed_rpm),
                  absl::StrFormat("at most %g rpm: %g Hz with %d poles", winding::kMostHz * rpm_per_hz,
                                  winding::kMostHz, record.plate.poles));
    }
  } else {
    RefuseForInduction(record, change, refused);
  }
  RefuseOfTheBus(record, change, refused);
  RefuseOfTheCoils(record, pattern, change, refused);
  std::optional<Redesign> redesign;
  if (!change.pattern()) {
    redesign = Redesign{record, pattern, ""};
  } else if (refused.errors().empty()) {
    absl::StatusOr<Redesign> changed = WithNewCoils(record, pattern, change);
    if (!changed.ok()) return changed.status();
    redesign = *std::move(changed);
  }
  const int circuits = change.parallel_circuits.value_or(record.winding.parallel_circuits);
  if (redesign && (change.parallel_circuits || change.pattern())) {
    const std::vector<int>& permitted = redesign->pattern.symmetry.permitted_circuits;
    if (std::find(permitted.begin(), permitted.end(), circuits) == permitted.end()) {
      const std::string which = absl::StrFormat("%s for %d slots and %d poles", absl::StrJoin(permitted, ", "),
                                                record.core.slots, redesign->record.plate.poles);
      if (change.parallel_circuits) {
        refused.Add("parallel_circuits", absl::StrCat(circuits), which);
      } else {
        refused.Add(NewCoilsBy(change), absl::StrFormat("coils that do not serve the %d circuits recorded", circuits),
                    absl::StrCat("parallel_circuits beside it: ", which));
      }
    }
  }
  if (!refused.errors().empty()) {
    return standards::UnderField("change", standards::InvalidFields(refused.errors()));
  }
  redesign->record.winding.parallel_circuits = circuits;
  redesign->record.winding.connection = change.connection.value_or(record.winding.connection);
  return *std::move(redesign);
}

absl::StatusOr<electric::MeanTurn> PlannedMeanTurn(const Record& record, const PatternSummary& pattern,
                                                   const electric::MeanTurn& mean_turn, const Redesign& redesign) {
  const winding::Pattern &was = pattern.pattern, &is = redesign.pattern.pattern;
  if (was.poles == is.poles && was.layers == is.layers &&
      (was.form == CoilForm::kToothCoil) == (is.form == CoilForm::kToothCoil) &&
      std::abs(pattern.mean_pitch - redesign.pattern.mean_pitch) < 1e-9) {
    return mean_turn;
  }
  const CoreAndSlot& core = record.core;
  std::vector<FieldError> missing;
  const auto need = [&](absl::string_view field, bool known) {
    if (!known) {
      missing.push_back(
          {absl::StrCat("record.machine.", field), "nothing",
           "a length in mm: the new coils have another mean turn, which needs bore, stack and slot depth"});
    }
  };
  need("core.bore_diameter", core.bore_mm.has_value());
  need("core.stack_length", core.stack_length_mm.has_value());
  need("slot.depth", core.slot_depth_mm.has_value());
  if (!missing.empty()) return standards::InvalidFields(missing);

  // The head of the old coils says nothing of the new ones beyond how the estimate fits this shop's hand.
  Record before = record, after = redesign.record;
  for (Record* each : {&before, &after}) {
    each->winding.mean_turn_m.reset();
    each->core.head_extension_mm.reset();
  }
  const absl::StatusOr<electric::MeanTurn> old_turn = MeanTurnOf(before, pattern);
  absl::StatusOr<electric::MeanTurn> new_turn = MeanTurnOf(after, redesign.pattern);
  for (const absl::Status& status : {old_turn.status(), new_turn.status()}) {
    if (!status.ok()) {
      return InContract(status, "record.machine.core",
                        {{"bore_mm", "record.machine.core.bore_diameter"},
                         {"core_length_mm", "record.machine.core.stack_length"},
                         {"slot_depth_mm", "record.machine.slot.depth"},
                         {"tooth_width_mm", "record.machine.core.tooth_width"},
                         {"mean_pitch", "change.coil_pitch_slots"}});
    }
  }
  if (!record.winding.mean_turn_m && !core.head_extension_mm) return new_turn;

  const standards::Band &from = old_turn->metres, &to = new_turn->metres;
  const double ratio = to.nominal / from.nominal;
  const double nominal = mean_turn.metres.nominal * ratio;
  // Both estimates err the same way; what their ratio leaves open is how far their ends disagree, and a quarter of the
  // way the mean turn moved.
  const double low_ratio = std::min(to.low / from.low, to.high / from.high);
  const double high_ratio = std::max(to.low / from.low, to.high / from.high);
  const double moved = std::abs(ratio - 1) / 4;
  const auto share = [&](double end, double ratio_end) {
    return std::hypot(end / mean_turn.metres.nominal - 1, std::max(std::abs(ratio_end / ratio - 1), 0.0), moved);
  };
  electric::MeanTurn scaled = *std::move(new_turn);
  scaled.band_rules.insert(scaled.band_rules.end(), {scaled.rule, mean_turn.rule});
  scaled.metres = {nominal * (1 - share(mean_turn.metres.low, low_ratio)), nominal,
                   nominal * (1 + share(mean_turn.metres.high, high_ratio))};
  scaled.method = record.winding.mean_turn_m ? "measured on the old coils, in the ratio of the estimates of both"
                                             : "from the overhang of the old coils, in the ratio of estimates of both";
  scaled.rule = rules::plan_mean_turn_moved;
  return scaled;
}

}  // namespace coilwright::plan
