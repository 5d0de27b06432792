#include "electric/mean_turn.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "electric/coil_heads.h"
#include "standards/range_check.h"
#include "standards/rule_ids.h"
#include "standards/units.h"

namespace coilwright::electric {
namespace {

using standards::Band;
using standards::kPi;
using standards::RangeCheck;
using standards::WithUnit;

constexpr double kLeastHalfWidth = 0.03;  // no form knows a coil head better than this

// Straight part past the core where nobody measured it (common practice, no source).
constexpr Band kDistributedExtensionMm = {5, 10, 15};
constexpr Band kToothExtensionMm = {0.5, 1.5, 3};

absl::Status CheckGeometry(const CoilGeometry& coil) {
  RangeCheck check;
  check.Within("bore_mm", coil.bore_mm, 1, 10000, "mm");
  check.Within("core_length_mm", coil.core_length_mm, 1, 10000, "mm");
  check.Within("slot_depth_mm", coil.slot_depth_mm, 0, 1000, "mm");
  const bool slots = check.Within("slots", coil.slots, 3, 720, "slots");
  if (check.Within("poles", coil.poles, 2, 120, "poles") && coil.poles % 2 != 0) {
    check.Refuse("poles", WithUnit(coil.poles, "poles"), "an even number; enter poles, not pole pairs");
  }
  if (!coil.tooth_coil) check.Within("mean_pitch", coil.mean_pitch, 1, slots ? coil.slots - 1 : 719, "slots");
  if (coil.straight_extension_mm) {
    check.Within("straight_extension_mm", *coil.straight_extension_mm, 0, 1000, "mm");
  }
  if (coil.head_extension_mm) check.Above("head_extension_mm", *coil.head_extension_mm, 0, 2000, "mm");
  if (coil.tooth_coil) {
    check.Above("slot_depth_mm", coil.slot_depth_mm, 0, 1000, "mm");
    if (coil.tooth_width_mm && slots) {
      const double slot_pitch_mm = kPi * (coil.bore_mm + coil.slot_depth_mm) / coil.slots;
      if (check.Above("tooth_width_mm", *coil.tooth_width_mm, 0, 1000, "mm") && *coil.tooth_width_mm >= slot_pitch_mm) {
        check.Refuse("tooth_width_mm", WithUnit(*coil.tooth_width_mm, "mm"),
                     "less than the slot pitch at half depth, " + WithUnit(slot_pitch_mm, "mm"));
      }
    }
  }
  return check.status();
}

// A band in metres around `nominal_mm` that reaches to the extremes of `others_mm` and at least +-3 %.
Band Around(double nominal_mm, const std::vector<double>& others_mm) {
  double low = nominal_mm * (1 - kLeastHalfWidth), high = nominal_mm * (1 + kLeastHalfWidth);
  for (double other : others_mm) {
    low = std::min(low, other);
    high = std::max(high, other);
  }
  return {low / 1000, nominal_mm / 1000, high / 1000};
}

Band ToothExtensionMm(const CoilGeometry& coil, double side_mm) {
  if (coil.straight_extension_mm) return Band::Exactly(*coil.straight_extension_mm);
  if (coil.head_extension_mm) return Band::Exactly(std::max(*coil.head_extension_mm - side_mm, 0.0));
  return kToothExtensionMm;
}

MeanTurn ToothCoil(const CoilGeometry& coil) {
  const double slot_pitch_mm = kPi * (coil.bore_mm + coil.slot_depth_mm) / coil.slots;
  const double tooth_mm = coil.tooth_width_mm.value_or(kPi * coil.bore_mm / coil.slots / 2);
  const double slot_mm = slot_pitch_mm - tooth_mm;
  const double side_mm = coil.double_layer ? slot_mm / 2 : slot_mm;
  const Band extension = ToothExtensionMm(coil, side_mm);
  const auto turn = [&](ToothHead head, double extension_mm) {
    return ToothTurnMm(head, coil.core_length_mm, extension_mm, tooth_mm, side_mm);
  };
  return {Around(turn(ToothHead::kRoundedCorners, extension.nominal),
                 {turn(ToothHead::kRoundedCorners, extension.low), turn(ToothHead::kSharpCorners, extension.high),
                  turn(ToothHead::kSemicircle, extension.high)}),
          "tooth coil, rounded corners",
          rules::electric_mean_turn_tooth_coil,
          {}};
}

MeanTurn MeasuredHead(const CoilGeometry& coil, const CoilSpans& spans) {
  const double knuckle_mm = coil.slot_depth_mm / 4;
  const double rise_mm = std::max(*coil.head_extension_mm - knuckle_mm, 0.0);
  const double straight_mm = rise_mm - DiamondRiseMm(spans.mid_slot_mm);
  const double twice_core = 2 * coil.core_length_mm;
  const double knuckles = 2 * kPi * knuckle_mm;
  const double flat_mm = twice_core + 2 * TriangleMm(spans.mid_slot_mm, rise_mm) + knuckles;
  const double arched_mm = twice_core + 2 * HalfEllipseMm(spans.mid_slot_mm, rise_mm) + knuckles;
  const double nominal_mm = straight_mm > 0
                                ? DiamondTurnMm(coil.core_length_mm, spans.mid_slot_mm, coil.slot_depth_mm, straight_mm)
                                : flat_mm;
  return {
      Around(nominal_mm, {flat_mm, arched_mm}), "diamond coil, overhang measured", rules::electric_mean_turn_head, {}};
}

MeanTurn Diamond(const CoilGeometry& coil, const CoilSpans& spans, const std::vector<HeadForm>& forms) {
  const Band extension =
      coil.straight_extension_mm ? Band::Exactly(*coil.straight_extension_mm) : kDistributedExtensionMm;
  const auto turn = [&](double extension_mm) {
    return DiamondTurnMm(coil.core_length_mm, spans.mid_slot_mm, coil.slot_depth_mm, extension_mm);
  };
  std::vector<double> others = {turn(extension.low), turn(extension.high)};
  MeanTurn mean = {{}, "diamond coil", rules::electric_mean_turn_diamond, {}};
  for (const HeadForm& form : forms) {
    others.push_back(FormTurnMm(form, coil.core_length_mm, spans));
    mean.band_rules.push_back(form.rule);
  }
  mean.metres = Around(turn(extension.nominal), others);
  return mean;
}

}  // namespace

absl::StatusOr<MeanTurn> MeasuredMeanTurn(double metres, double uncertainty_ratio) {
  RangeCheck check;
  check.Within("metres", metres, 0.005, 50, "m");
  check.Within("uncertainty_ratio", uncertainty_ratio, 0, 0.2, "");
  if (!check.ok()) return check.status();
  return MeanTurn{{metres * (1 - uncertainty_ratio), metres, metres * (1 + uncertainty_ratio)},
                  "measured",
                  rules::electric_mean_turn_measured,
                  {}};
}

absl::StatusOr<MeanTurn> EstimateMeanTurn(const CoilGeometry& geometry) {
  if (absl::Status status = CheckGeometry(geometry); !status.ok()) return status;
  if (geometry.tooth_coil) return ToothCoil(geometry);
  const CoilSpans spans = {geometry.mean_pitch * kPi * geometry.bore_mm / geometry.slots,
                           geometry.mean_pitch * kPi * (geometry.bore_mm + geometry.slot_depth_mm) / geometry.slots,
                           kPi * geometry.bore_mm / geometry.poles};
  const std::vector<HeadForm> forms = HeadFormsFor(geometry.poles, spans);
  if (geometry.slot_depth_mm > 0) {
    return geometry.head_extension_mm && !geometry.straight_extension_mm ? MeasuredHead(geometry, spans)
                                                                         : Diamond(geometry, spans, forms);
  }
  if (forms.empty() || forms.front().poles == 0) {
    return standards::InvalidField(
        "slot_depth_mm", "nothing",
        "the depth of the slot: no form without it holds for this pole pitch and pole number");
  }
  MeanTurn mean = {{}, "random-wound head by pole number", rules::electric_mean_turn_handbook, {}};
  std::vector<double> turns;
  for (const HeadForm& form : forms) {
    turns.push_back(FormTurnMm(form, geometry.core_length_mm, spans));
    if (form.rule != mean.rule) mean.band_rules.push_back(form.rule);
  }
  mean.metres = Around(turns.front(), turns);
  return mean;
}

}  // namespace coilwright::electric
