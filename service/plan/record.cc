#include "plan/record.h"

#include <cmath>
#include <map>
#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/units.h"

namespace coilwright::plan {
namespace {

using standards::FieldError;
using Errors = std::vector<FieldError>;

bool Apart(double a, double b, double ratio) { return std::abs(a - b) > ratio * std::max(std::abs(a), std::abs(b)); }

void ComparePlate(const Record& record, Errors& errors) {
  const Plate& plate = record.plate;
  const auto add = [&](absl::string_view field, std::string given, std::string accepted) {
    errors.push_back({absl::StrCat("machine.nameplate.", field), std::move(given), std::move(accepted)});
  };
  if (plate.poles % 2 != 0) {
    add("poles", absl::StrCat(plate.poles), "an even number; enter a pole-pair figure in pole_pairs instead");
    return;
  }
  if (plate.pole_pairs && 2 * *plate.pole_pairs != plate.poles) {
    add("pole_pairs", absl::StrCat(*plate.pole_pairs, " beside ", plate.poles, " poles"),
        absl::StrCat(plate.poles / 2, ", or only one of the two fields"));
  }
  if (plate.line_amps_rms && plate.line_amps_peak &&
      Apart(*plate.line_amps_peak, *plate.line_amps_rms * std::sqrt(2.0), 0.05)) {
    add("line_amps_peak", absl::StrFormat("%g A beside %g A rms", *plate.line_amps_peak, *plate.line_amps_rms),
        absl::StrFormat("about %.3g A (1.414 times the rms value), or only one of the two fields",
                        *plate.line_amps_rms * std::sqrt(2.0)));
  }
  if (plate.frequency_hz && plate.speed_rpm) {
    const double synchronous_rpm = 120.0 * *plate.frequency_hz / plate.poles;
    const std::string given =
        absl::StrFormat("%g rpm at %g Hz and %d poles", *plate.speed_rpm, *plate.frequency_hz, plate.poles);
    if (record.kind == MachineKind::kInduction &&
        (*plate.speed_rpm >= synchronous_rpm || *plate.speed_rpm < 0.7 * synchronous_rpm)) {
      add("speed_rpm", given,
          absl::StrFormat("%.4g rpm to less than the synchronous %.5g rpm (slip at most 30 %%)", 0.7 * synchronous_rpm,
                          synchronous_rpm));
    }
    if (record.kind == MachineKind::kPermanentMagnet && Apart(*plate.speed_rpm, synchronous_rpm, 0.02)) {
      add("speed_rpm", given,
          absl::StrFormat("about %.5g rpm (synchronous), or only one of the two fields", synchronous_rpm));
    }
  }
  if (plate.rated_kw && plate.rated_torque_nm && plate.speed_rpm) {
    const double shaft_kw = *plate.rated_torque_nm * *plate.speed_rpm * standards::kRadPerSecPerRpm / 1000.0;
    if (Apart(shaft_kw, *plate.rated_kw, 0.2)) {
      add("rated_power",
          absl::StrFormat("%g kW beside %g Nm at %g rpm", *plate.rated_kw, *plate.rated_torque_nm, *plate.speed_rpm),
          absl::StrFormat("about %.3g kW (torque times speed), or only two of the three fields", shaft_kw));
    }
  }
  if (plate.ke_ll_rms_v_per_krpm && plate.kt_nm_per_arms) {
    const double kt = electric::TorqueConstantNmPerArms(*plate.ke_ll_rms_v_per_krpm, {});
    if (Apart(kt, *plate.kt_nm_per_arms, 0.25)) {
      add("torque_constant_nm_per_arms",
          absl::StrFormat("%g Nm/A beside a voltage constant of %.4g V (line to line rms) per 1000 rpm",
                          *plate.kt_nm_per_arms, *plate.ke_ll_rms_v_per_krpm),
          absl::StrFormat(
              "about %.3g Nm per ampere rms, or only one of the two fields; check line or phase, rms or peak, "
              "and the speed unit of both",
              kt));
    }
  }
}

// Far beyond any machine, so that no constant derived from them overflows.
void CheckConstants(const Record& record, Errors& errors) {
  const auto check = [&](absl::string_view field, const std::optional<double>& value, double low, double high,
                         absl::string_view unit) {
    if (!value || (*value >= low && *value <= high)) return;
    errors.push_back(
        {std::string(field), absl::StrFormat("%g %s", *value, unit), absl::StrFormat("%g to %g %s", low, high, unit)});
  };
  constexpr absl::string_view kVolts = "V (line to line rms) per 1000 rpm";
  check("machine.nameplate.voltage_constant", record.plate.ke_ll_rms_v_per_krpm, 1e-3, 1e5, kVolts);
  check("measured.voltage_constant", record.measured_ke_ll_rms_v_per_krpm, 1e-3, 1e5, kVolts);
  check("machine.nameplate.torque_constant_nm_per_arms", record.plate.kt_nm_per_arms, 1e-5, 1e3, "Nm per A rms");
}

void CheckCore(const Record& record, Errors& errors) {
  const CoreAndSlot& core = record.core;
  if (core.outer_mm && core.bore_mm && *core.outer_mm <= *core.bore_mm) {
    errors.push_back({"machine.core.outer_diameter", absl::StrFormat("%g mm", *core.outer_mm),
                      absl::StrFormat("more than the bore of %g mm", *core.bore_mm)});
  }
  if (core.outer_mm && core.bore_mm && core.slot_depth_mm && *core.outer_mm > *core.bore_mm &&
      *core.slot_depth_mm >= (*core.outer_mm - *core.bore_mm) / 2.0) {
    errors.push_back({"machine.slot.depth", absl::StrFormat("%g mm", *core.slot_depth_mm),
                      absl::StrFormat("less than the %g mm of iron between bore and outside",
                                      (*core.outer_mm - *core.bore_mm) / 2.0)});
  }
  if (record.winding.mean_turn_m && core.stack_length_mm &&
      1000.0 * *record.winding.mean_turn_m < 2.0 * *core.stack_length_mm) {
    errors.push_back(
        {"winding.mean_turn", absl::StrFormat("%g mm", 1000.0 * *record.winding.mean_turn_m),
         absl::StrFormat("more than twice the stack of %g mm: a turn passes it twice", *core.stack_length_mm)});
  }
  if (core.bore_mm && core.tooth_width_mm && *core.tooth_width_mm * core.slots >= standards::kPi * *core.bore_mm) {
    errors.push_back({"machine.core.tooth_width", absl::StrFormat("%g mm", *core.tooth_width_mm),
                      absl::StrFormat("less than the slot pitch of %.3g mm at the bore",
                                      standards::kPi * *core.bore_mm / core.slots)});
  }
}

// Three equal phases hold each kind of group equally often.
void CheckGroupCounts(const RecordedWinding& w, Errors& errors) {
  std::map<std::vector<std::pair<int, int>>, int> count_of;
  for (const CoilGroup& group : w.groups) {
    std::vector<std::pair<int, int>> coils;
    for (const GroupCoil& coil : group.coils) coils.emplace_back(coil.span_slots, coil.turns);
    count_of[coils] += group.count;
  }
  for (const auto& [coils, count] : count_of) {
    if (count % 3 == 0) continue;
    errors.push_back({"winding.groups", absl::StrCat(count, " groups of the same ", coils.size(), " coils"),
                      "a multiple of 3 of each kind of group: the three phases are alike"});
  }
}

void CheckWinding(const Record& record, Errors& errors) {
  const RecordedWinding& w = record.winding;
  const int slots = record.core.slots;
  const auto add = [&](absl::string_view field, std::string given, std::string accepted) {
    errors.push_back({absl::StrCat("winding.", field), std::move(given), std::move(accepted)});
  };
  const std::string pitch_range = absl::StrCat("1 to ", slots - 1, " slots spanned (throw 1-6 is 5)");
  if (w.form == winding::CoilForm::kChain && w.layers == winding::Layers::kDouble) {
    add("layers", "double", "single: a chain winding has one coil side in a slot");
  }
  if (w.layers == winding::Layers::kSingle && slots % 2 != 0) {
    add("layers", absl::StrCat("single in ", slots, " slots"), "double: a single layer needs an even number of slots");
  }
  if (w.groups.empty()) {
    if (w.coil_pitch.value_or(1) >= slots) {
      add("coil_pitch_slots", absl::StrCat(*w.coil_pitch, " with ", slots, " slots"), pitch_range);
    } else if (w.form == winding::CoilForm::kToothCoil && w.coil_pitch.value_or(1) != 1) {
      add("coil_pitch_slots", absl::StrCat(*w.coil_pitch), "1 for a coil around one tooth");
    }
    return;
  }
  if (w.turns_per_coil || w.coil_pitch) {
    add(w.turns_per_coil ? "turns_per_coil" : "coil_pitch_slots", "given beside groups",
        "either one pitch and one number of turns for all coils, or groups");
  }
  CheckGroupCounts(w, errors);
  int coils = 0;
  for (size_t g = 0; g < w.groups.size(); ++g) {
    coils += static_cast<int>(w.groups[g].coils.size()) * w.groups[g].count;
    for (size_t c = 0; c < w.groups[g].coils.size(); ++c) {
      if (w.groups[g].coils[c].span_slots >= slots) {
        add(absl::StrCat("groups[", g, "].coils[", c, "].span_slots"), absl::StrCat(w.groups[g].coils[c].span_slots),
            pitch_range);
      } else if (w.form == winding::CoilForm::kToothCoil && w.groups[g].coils[c].span_slots != 1) {
        add(absl::StrCat("groups[", g, "].coils[", c, "].span_slots"), absl::StrCat(w.groups[g].coils[c].span_slots),
            "1 for a coil around one tooth");
      }
    }
  }
  const int expected = w.layers == winding::Layers::kDouble ? slots : slots / 2;
  if (coils != expected) {
    add("groups", absl::StrCat(coils, " coils in all"),
        absl::StrCat(expected, " coils: ", w.layers == winding::Layers::kDouble ? "one per slot" : "one per two slots",
                     " in ", slots, " slots"));
  }
}

}  // namespace

std::optional<double> RatedKw(const Plate& plate) {
  if (plate.rated_kw || !plate.rated_torque_nm || !plate.speed_rpm) return plate.rated_kw;
  return *plate.rated_torque_nm * *plate.speed_rpm * standards::kRadPerSecPerRpm / 1000.0;
}

electric::MachineKind ElectricKind(MachineKind kind) {
  return kind == MachineKind::kInduction ? electric::MachineKind::kInduction : electric::MachineKind::kPermanentMagnet;
}

std::vector<FieldError> Missing(const Record& record) {
  Errors errors;
  const RecordedWinding& w = record.winding;
  if (w.groups.empty() && !w.turns_per_coil) {
    errors.push_back({"winding.turns_per_coil", "nothing", "1 to 10000 turns, or groups coil by coil"});
  }
  if (w.groups.empty() && !w.coil_pitch) {
    errors.push_back(
        {"winding.coil_pitch_slots", "nothing", "the slots spanned (throw 1-6 is 5), or groups coil by coil"});
  }
  const CoreAndSlot& core = record.core;
  if (!w.mean_turn_m && !(core.bore_mm && core.stack_length_mm && core.slot_depth_mm)) {
    errors.push_back({"winding.mean_turn", "nothing",
                      "a measured mean turn, or bore diameter, stack length and slot depth to estimate it from"});
  }
  return errors;
}

std::vector<FieldError> WindingContradictions(const Record& record) {
  Errors errors;
  CheckWinding(record, errors);
  return errors;
}

std::vector<FieldError> Contradictions(const Record& record) {
  Errors errors = Missing(record);
  ComparePlate(record, errors);
  CheckConstants(record, errors);
  CheckCore(record, errors);
  CheckWinding(record, errors);
  return errors;
}

}  // namespace coilwright::plan
