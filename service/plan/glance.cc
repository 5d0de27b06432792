#include <algorithm>
#include <array>
#include <cmath>

#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "electric/plausible.h"
#include "plan/predict.h"
#include "standards/rule_ids.h"
#include "standards/units.h"

namespace coilwright::plan {
namespace {

using standards::Band;

Finding NotChecked(absl::string_view what, absl::string_view missing, absl::string_view rule) {
  return {FindingLevel::kNotChecked, std::string(what), {}, {}, "", std::string(missing), rule};
}

// Two standard deviations ok, twice as far watch, beyond act.
FindingLevel AgainstPrediction(double found, const Prediction& p) {
  const double off = std::log(p.expected.nominal / found);
  const double sigmas = std::abs(off) / (off < 0 ? p.sigma_low : p.sigma_high);
  return sigmas <= 2 ? FindingLevel::kOk : sigmas <= 4 ? FindingLevel::kWatch : FindingLevel::kAct;
}

void CheckResistance(const Frame& frame, double unbalance_percent, std::vector<Finding>& findings) {
  const Record& record = *frame.record;
  constexpr absl::string_view kWhat = "line-to-line resistance";
  if (!record.resistance) {
    findings.push_back(NotChecked(kWhat, "no resistance was measured on the original", rules::plan_resistance_check));
    return;
  }
  const MeasuredResistance& measured = *record.resistance;
  const absl::StatusOr<OhmsPrediction> predicted = PredictOhms(frame);
  if (!predicted.ok()) {
    findings.push_back(NotChecked(kWhat, predicted.status().message(), rules::plan_resistance_check));
  } else {
    const double mean = predicted->found_ohms;
    const FindingLevel level = AgainstPrediction(mean, *predicted);
    findings.push_back(
        {level, std::string(kWhat), mean, predicted->expected, "ohms",
         level == FindingLevel::kOk
             ? absl::StrFormat("agrees with turns, wires, circuits and connection at %.1f C", measured.winding_celsius)
             : absl::StrFormat("measured over computed is %.2f at %.1f C: recount turns, wires in hand, circuits and "
                               "connection, and measure the bare wire again before stripping",
                               mean / predicted->expected.nominal, measured.winding_celsius),
         rules::plan_resistance_check});
  }
  if (measured.line_to_line_ohms.size() == 3) {
    const std::array<double, 3> three = {measured.line_to_line_ohms[0], measured.line_to_line_ohms[1],
                                         measured.line_to_line_ohms[2]};
    const double unbalance = electric::UnbalancePercent(three);
    const bool ok = unbalance <= unbalance_percent;
    const bool explained = unbalance <= UnbalanceExplainedPercent(record.winding.form);
    findings.push_back(
        {ok          ? FindingLevel::kOk
         : explained ? FindingLevel::kWatch
                     : FindingLevel::kAct,
         "resistance unbalance", unbalance, Band{0, 0, unbalance_percent}, "percent",
         ok ? "greatest deviation of the three readings from their mean"
            : "one phase differs: joint, lead, shorted turns or an open circuit; a damaged phase is no pattern to copy",
         rules::electric_unbalance});
  } else {
    findings.push_back(NotChecked("resistance unbalance", "needs all three readings", rules::electric_unbalance));
  }
}

void CheckMass(const Frame& frame, const Original& original, std::vector<Finding>& findings) {
  const Record& record = *frame.record;
  constexpr absl::string_view kWhat = "copper mass";
  if (!record.mass) {
    findings.push_back(NotChecked(kWhat, "the stripped winding was not weighed", rules::plan_mass_check));
    return;
  }
  const Prediction predicted = PredictKg(record, original, *frame.settings);
  const FindingLevel level = AgainstPrediction(record.mass->kg, predicted);
  findings.push_back({level, std::string(kWhat), record.mass->kg, predicted.expected, "kg",
                      level == FindingLevel::kOk
                          ? "agrees with turns, coils, wires and mean turn"
                          : absl::StrFormat("weighed over computed is %.2f: recount turns and wires in hand, "
                                            "and check whether film, resin or leads were on the scale",
                                            record.mass->kg / predicted.expected.nominal),
                      rules::plan_mass_check});
}

// Volts and frequency fix the flux of an induction motor. A weak magnet, a thick back iron and a cool winding are no
// slip.
bool LowIsASlip(const Record& record, electric::Loading which) {
  return record.kind == MachineKind::kInduction &&
         (which == electric::Loading::kAirGapPeakTeslas || which == electric::Loading::kToothTeslas);
}

constexpr absl::string_view kFluxHigh =
    "higher than met in practice: turns too few, circuits too many, delta written for a star, or a dimension or plate "
    "value is off";
constexpr absl::string_view kFluxLow =
    "lower than met in practice: turns too many, circuits too few, star written for a delta, weak or short magnets, a "
    "core made for fewer poles, or a dimension is off";
constexpr absl::string_view kDensityHigh =
    "higher than the shop's level: circuits or wires in hand missed, wire too thin, star written for a delta, or the "
    "plate current is a peak or short-time value";
constexpr absl::string_view kDensityLow =
    "lower than met in practice: circuits or wires in hand counted twice, delta written for a star, or wire measured "
    "over its film";

// A loading against the range met in practice. `spread` is how far the value itself may lie off, low and high.
void CheckLoading(const Record& record, electric::Loading which, absl::string_view what, absl::string_view unit,
                  double value, const Band& spread, std::optional<double> shop_high, std::vector<Finding>& findings) {
  const electric::PlausibleRange range = electric::Plausible(which, ElectricKind(record.kind));
  const bool density = which == electric::Loading::kCurrentDensityAPerMm2;
  const double high = shop_high.value_or(range.high);
  const double low = std::min(range.low, high);
  FindingLevel level = FindingLevel::kOk;
  std::string text = "within the range met in practice";
  if (value * spread.high < low || value * spread.low > high) {
    const bool act = value > 1.3 * std::max(high, range.high) || (LowIsASlip(record, which) && value < 0.6 * low);
    level = act ? FindingLevel::kAct : FindingLevel::kWatch;
    text = std::string(density ? (value > high ? kDensityHigh : kDensityLow) : (value > high ? kFluxHigh : kFluxLow));
  }
  findings.push_back(
      {level, std::string(what), value, Band{low, (low + high) / 2, high}, std::string(unit), text, range.rule});
}

void CheckLoadings(const Frame& frame, const Loading& loading, std::vector<Finding>& findings) {
  const Record& record = *frame.record;
  if (loading.densities) {
    const Band spread = {loading.flux_webers->low / loading.flux_webers->nominal, 1.0,
                         loading.flux_webers->high / loading.flux_webers->nominal};
    const electric::FluxDensities& b = *loading.densities;
    const auto check = [&](electric::Loading which, absl::string_view what, double teslas, std::optional<double> shop) {
      if (teslas > 0) CheckLoading(record, which, what, "teslas", teslas, spread, shop, findings);
    };
    const Settings& s = *frame.settings;
    check(electric::Loading::kAirGapPeakTeslas, "air-gap flux density, peak", b.air_gap_peak_teslas,
          s.air_gap_watch_teslas);
    check(electric::Loading::kToothTeslas, "tooth flux density", b.tooth_teslas, s.tooth_watch_teslas);
    check(electric::Loading::kBackIronTeslas, "back-iron flux density", b.back_iron_teslas, s.back_iron_watch_teslas);
  } else {
    findings.push_back(NotChecked("flux density",
                                  record.kind == MachineKind::kInduction
                                      ? "needs frequency, bore and stack length"
                                      : "needs a voltage or torque constant, bore and stack length",
                                  rules::electric_flux_densities));
  }
  if (loading.current_density_a_per_mm2) {
    CheckLoading(record, electric::Loading::kCurrentDensityAPerMm2, "current density", "A/mm2",
                 *loading.current_density_a_per_mm2, Band::Exactly(1.0),
                 frame.settings->current_density_watch_a_per_mm2, findings);
  } else {
    findings.push_back(
        NotChecked("current density", "the plate gives no line current", rules::electric_current_density));
  }
}

void CheckFill(const Option& as_recorded, std::vector<Finding>& findings) {
  if (!as_recorded.fill) {
    findings.push_back(NotChecked("slot fullness", "the slot was not measured", rules::slot_fill));
    return;
  }
  const FillSummary& fill = *as_recorded.fill;
  FindingLevel level = FindingLevel::kOk;
  std::string text = "the original wire goes into this slot";
  if (fill.verdict == slot::FillVerdict::kWatch) {
    level = FindingLevel::kWatch;
    text = "tight for the original wire";
  } else if (fill.verdict != slot::FillVerdict::kOk) {
    const bool impossible = fill.verdict == slot::FillVerdict::kImpossible;
    level = impossible ? FindingLevel::kAct : FindingLevel::kWatch;
    text = impossible
               ? "one size of wire can never lie this close: turns, wires in hand, gauge or slot are wrong"
               : "fuller than the shop can wind: recount turns and wires in hand, and measure slot and wire again";
  }
  findings.push_back(
      {level, "slot fullness", fill.fill.fullness_ratio, std::nullopt, "ratio", text, rules::slot_fullness_levels});
}

// Output over apparent power is efficiency times power factor.
void CheckPower(const Record& record, std::vector<Finding>& findings) {
  const Plate& plate = record.plate;
  const std::optional<double> amps = PlateLineAmpsRms(plate);
  if (!plate.rated_kw || !amps) return;
  const double ratio = *plate.rated_kw * 1000.0 / (std::sqrt(3.0) * plate.rated_volts * *amps);
  const Band expected = UsualPowerRatio(record.kind);
  // Plates round: 3 % above unity is still no contradiction.
  const FindingLevel level = ratio > 1.03                                    ? FindingLevel::kAct
                             : ratio < expected.low || ratio > expected.high ? FindingLevel::kWatch
                                                                             : FindingLevel::kOk;
  findings.push_back(
      {level, "output over apparent power", ratio, expected, "ratio",
       level == FindingLevel::kOk ? "efficiency times power factor, as plates have it"
       : ratio > expected.high
           ? "more power out than volts and amperes bring in: one phase's volts or amperes taken for the "
             "line's, or values of two connections mixed"
           : "little power for these volts and amperes: volts of the mains or of another connection, or "
             "a peak or stall current",
       rules::plan_power_check});
}

void CheckCircuits(const Frame& frame, std::vector<Finding>& findings) {
  const std::vector<int>& permitted = frame.pattern->symmetry.permitted_circuits;
  const int circuits = frame.record->winding.parallel_circuits;
  const bool ok = std::find(permitted.begin(), permitted.end(), circuits) != permitted.end();
  findings.push_back({ok ? FindingLevel::kOk : FindingLevel::kAct, "parallel circuits", circuits, std::nullopt, "",
                      absl::StrFormat("this pattern permits %s", absl::StrJoin(permitted, ", ")),
                      rules::plan_circuits_check});
}

void CheckMagnetPlate(const Record& record, const std::optional<MachineConstants>& constants,
                      std::vector<Finding>& findings) {
  if (record.kind != MachineKind::kPermanentMagnet) return;
  if (!constants) {
    findings.push_back(NotChecked("voltage constant", "neither plate nor bench gives a voltage or torque constant",
                                  rules::plan_voltage_speed_check));
    return;
  }
  const Plate& plate = record.plate;
  if (plate.rated_torque_nm && plate.line_amps_rms) {
    const double torque = constants->kt_nm_per_arms.nominal * *plate.line_amps_rms;
    const Band expected = UsualTorqueNm(*plate.rated_torque_nm);
    constexpr double kNoRounding = 0.3;  // further off than this no plate rounds and no loss explains
    const FindingLevel level = torque >= expected.low && torque <= expected.high              ? FindingLevel::kOk
                               : std::abs(torque / *plate.rated_torque_nm - 1) <= kNoRounding ? FindingLevel::kWatch
                                                                                              : FindingLevel::kAct;
    findings.push_back({level, "torque from current", torque, expected, "Nm",
                        level == FindingLevel::kOk
                            ? "torque constant times rated current agrees with the plate"
                            : "check whether amperes and constants are rms or peak, line or phase",
                        rules::plan_torque_current_check});
  }
  if (plate.speed_rpm) {
    const double emf = constants->ke_ll_rms_v_per_krpm.nominal * *plate.speed_rpm / 1000.0;
    const Band expected = UsualEmfVolts(plate.rated_volts);
    const FindingLevel level = emf >= expected.low && emf <= expected.high ? FindingLevel::kOk
                               : emf <= 1.5 * plate.rated_volts            ? FindingLevel::kWatch
                                                                           : FindingLevel::kAct;
    findings.push_back(
        {level, "emf at rated speed", emf, expected, "volts",
         level == FindingLevel::kOk ? "leaves room below the rated voltage for the drops in the winding"
         : emf > expected.high
             ? "above the rated voltage: check the basis of the voltage constant"
             : "far below the rated voltage: check the basis of the voltage constant, or a drive made for more",
         rules::plan_voltage_speed_check});
  }
}

}  // namespace

std::vector<Finding> Glance(const Frame& frame, const Original& original, double unbalance_percent) {
  std::vector<Finding> findings;
  CheckResistance(frame, unbalance_percent, findings);
  CheckMass(frame, original, findings);
  CheckLoadings(frame, original.loading, findings);
  CheckFill(original.as_recorded, findings);
  CheckCircuits(frame, findings);
  CheckPower(*frame.record, findings);
  CheckMagnetPlate(*frame.record, original.constants, findings);
  return findings;
}

}  // namespace coilwright::plan
