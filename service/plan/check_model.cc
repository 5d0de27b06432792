#include "plan/check_model.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "electric/plausible.h"
#include "standards/rule_ids.h"
#include "standards/units.h"

namespace coilwright::plan {
namespace {

using standards::Band;

Measured Predicted(Quantity quantity, const char* what, const char* unit, double found, const Prediction& prediction,
                   absl::string_view rule) {
  Measured measured;
  measured.quantity = quantity;
  measured.residual = std::log(prediction.expected.nominal / found);
  measured.sigma_low = prediction.sigma_low;
  measured.sigma_high = prediction.sigma_high;
  measured.agreement = {what, unit, found, prediction.expected, false, 0, rule};
  return measured;
}

// A figure computed from the record against a range met in practice. The ends of the range lie 1.3 standard deviations
// out, so that one machine in five may lie beyond; `own` is the uncertainty of the figure itself.
void AddRange(Quantity quantity, absl::string_view what, absl::string_view unit, double computed, const Band& usual,
              absl::string_view rule, double own, Model& model) {
  constexpr double kEnds = 1.3;
  constexpr double kLeast = 0.10;
  if (!(computed > 0)) return;
  const double sigma = std::hypot(std::max(std::log(usual.high / usual.low) / 2 / kEnds, kLeast), own);
  Measured measured;
  measured.quantity = quantity;
  measured.residual = std::log(computed / usual.nominal);
  measured.sigma_low = measured.sigma_high = sigma;
  measured.agreement = {std::string(what), std::string(unit), computed, usual, true, 0, rule};
  model.measured.push_back(measured);
}

void AddLoading(const Record& record, const Original& original, Model& model) {
  const auto add = [&](Quantity quantity, electric::Loading loading, absl::string_view what, absl::string_view unit,
                       double computed, double own) {
    const electric::PlausibleRange range = electric::Plausible(loading, ElectricKind(record.kind));
    AddRange(quantity, what, unit, computed, {range.low, std::sqrt(range.low * range.high), range.high}, range.rule,
             own, model);
  };
  const Loading& loading = original.loading;
  if (loading.densities) {
    const double own = SigmaOf(*loading.flux_webers);
    add(kAirGap, electric::Loading::kAirGapPeakTeslas, "air-gap flux density, peak", "teslas",
        loading.densities->air_gap_peak_teslas, own);
    add(kTooth, electric::Loading::kToothTeslas, "tooth flux density", "teslas", loading.densities->tooth_teslas, own);
    add(kBackIron, electric::Loading::kBackIronTeslas, "back-iron flux density", "teslas",
        loading.densities->back_iron_teslas, own);
  }
  if (loading.current_density_a_per_mm2) {
    add(kCurrentDensity, electric::Loading::kCurrentDensityAPerMm2, "current density", "A/mm2",
        *loading.current_density_a_per_mm2, 0);
  }
  const std::optional<double> amps = PlateLineAmpsRms(record.plate);
  if (amps && record.core.bore_mm) {
    const double phase_amps = record.winding.connection == electric::Connection::kStar ? *amps : *amps / std::sqrt(3.0);
    const double conductors = 6 * original.turns.series_turns_per_phase * record.winding.parallel_circuits;
    add(kElectricLoading, electric::Loading::kElectricLoadingAPerM, "electric loading", "A/m",
        conductors * phase_amps / record.winding.parallel_circuits / (standards::kPi * *record.core.bore_mm / 1000),
        0.25);
  }
}

// Round wire in a slot: rarely above 0.8 of its net area in squares, often far below where a tool needs room (common
// practice, no source).
void AddFullness(const Original& original, Model& model) {
  if (!original.as_recorded.fill) return;
  constexpr double kUsual = 0.62, kSigmaBelow = 0.35, kSigmaAbove = 0.13;
  const double fullness = original.as_recorded.fill->fill.fullness_ratio;
  if (!(fullness > 0)) return;
  Measured measured;
  measured.quantity = kFullness;
  measured.residual = std::log(fullness / kUsual);
  measured.sigma_low = kSigmaBelow;
  measured.sigma_high = kSigmaAbove;
  measured.agreement = {"slot fullness", "ratio", fullness, {0.40, kUsual, 0.80}, true, 0, rules::check_range};
  model.measured.push_back(measured);
}

void AddMeanTurn(const Record& record, const PatternSummary& pattern, Model& model) {
  const CoreAndSlot& core = record.core;
  if (!record.winding.mean_turn_m || !core.bore_mm || !core.stack_length_mm || !core.slot_depth_mm) return;
  Record unmeasured = record;
  unmeasured.winding.mean_turn_m.reset();
  const absl::StatusOr<electric::MeanTurn> estimate = MeanTurnOf(unmeasured, pattern);
  if (!estimate.ok()) return;
  const double sigma = std::hypot(std::max(SigmaOf(estimate->metres), 0.08), MeanTurnSigma(record, *estimate));
  Measured measured;
  measured.quantity = kMeanTurnEstimate;
  measured.residual = std::log(estimate->metres.nominal / *record.winding.mean_turn_m);
  measured.sigma_low = measured.sigma_high = sigma;
  measured.agreement = {
      "mean turn", "m",           *record.winding.mean_turn_m, TwoSigmas(estimate->metres.nominal, sigma), false,
      0,           estimate->rule};
  model.measured.push_back(measured);
}

void AddMagnetPlate(const Record& record, const std::optional<MachineConstants>& constants, Model& model) {
  if (!constants) return;
  const Plate& plate = record.plate;
  const std::optional<double> amps = PlateLineAmpsRms(plate);
  if (plate.rated_torque_nm && amps) {
    const double torque = constants->kt_nm_per_arms.nominal * *amps;
    AddRange(kTorque, "torque from current", "Nm", torque, UsualTorqueNm(*plate.rated_torque_nm),
             rules::plan_torque_current_check, 0, model);
  }
  if (plate.speed_rpm) {
    const double emf = constants->ke_ll_rms_v_per_krpm.nominal * *plate.speed_rpm / 1000.0;
    AddRange(kEmf, "emf at rated speed", "volts", emf, UsualEmfVolts(plate.rated_volts),
             rules::plan_voltage_speed_check, 0, model);
  }
  if (record.measured_ke_ll_rms_v_per_krpm && plate.ke_ll_rms_v_per_krpm) {
    constexpr double kSigma = 0.06;  // plates and magnets about 10 %, from memory
    const double found = *record.measured_ke_ll_rms_v_per_krpm;
    Measured measured;
    measured.quantity = kPlateConstant;
    measured.residual = std::log(found / *plate.ke_ll_rms_v_per_krpm);
    measured.sigma_low = measured.sigma_high = kSigma;
    measured.agreement = {"voltage constant",
                          "V per 1000 rpm",
                          found,
                          TwoSigmas(*plate.ke_ll_rms_v_per_krpm, kSigma),
                          false,
                          0,
                          rules::electric_voltage_constant};
    model.measured.push_back(measured);
  }
}

// The synchronous speed of frequency and poles over that of the plate. An induction motor slips by 0 to 12 % (common
// practice, no source), a permanent-magnet machine does not; plates round.
void AddSpeed(const Record& record, Model& model) {
  const Plate& plate = record.plate;
  if (!plate.speed_rpm || !plate.frequency_hz || plate.poles <= 0) return;
  const bool induction = record.kind == MachineKind::kInduction;
  const Band usual = induction ? Band{1.0, 1.03, 1.13} : Band{0.98, 1.0, 1.02};
  const double ratio = 120 * *plate.frequency_hz / plate.poles / *plate.speed_rpm;
  Measured measured;
  measured.quantity = kSpeed;
  measured.residual = std::log(ratio / usual.nominal);
  measured.sigma_low = induction ? 0.012 : 0.01;
  measured.sigma_high = induction ? 0.042 : 0.01;
  measured.agreement = {"synchronous speed over plate speed", "ratio", ratio, usual, true, 0, rules::check_speed};
  model.measured.push_back(measured);
}

// Efficiency times power factor, as plates have it.
void AddPower(const Record& record, Model& model) {
  const std::optional<double> amps = PlateLineAmpsRms(record.plate);
  if (!record.plate.rated_kw || !amps) return;
  AddRange(kPower, "output over apparent power", "ratio",
           *record.plate.rated_kw * 1000.0 / (std::sqrt(3.0) * record.plate.rated_volts * *amps),
           UsualPowerRatio(record.kind), rules::plan_power_check, 0, model);
}

}  // namespace

Logs EffectOf(const Shift& s, MachineKind kind, bool mean_turn_measured) {
  const double half_ln_3 = std::log(3.0) / 2;
  const double turn = mean_turn_measured ? 0.0 : s[kTurnLength];
  const double conductors = s[kTurns] + s[kCoils];
  const double area = s[kWires] + 2 * s[kDiameter];
  const double emf = kind == MachineKind::kInduction ? s[kVolts] - s[kHertz] : s[kVoltsConstant] - s[kPoles];
  const double flux = emf + half_ln_3 * s[kDelta] - s[kPitchFactor] - s[kPoleFactor] - conductors + s[kCircuits];
  Logs effect{};
  effect[kReading] = s[kKelvin] - s[kOhms];
  effect[kResistance] =
      turn + conductors - 2 * s[kCircuits] - area - 2 * half_ln_3 * s[kDelta] + s[kResistivity] + effect[kReading];
  effect[kMass] = turn + conductors + area + s[kDensity] - s[kKg];
  effect[kAirGap] = effect[kTooth] = flux + s[kPoles];
  effect[kBackIron] = flux;
  effect[kCurrentDensity] = s[kAmps] - half_ln_3 * s[kDelta] - s[kCircuits] - area;
  effect[kElectricLoading] = conductors + s[kAmps] - half_ln_3 * s[kDelta] - s[kCircuits];
  effect[kFullness] = conductors + s[kWires] + 2 * s[kOverall];
  effect[kTorque] = s[kVoltsConstant] + s[kAmps] - s[kTorqueNm];
  effect[kPower] = -s[kVolts] - s[kAmps];
  effect[kEmf] = s[kVoltsConstant] - s[kVolts];
  effect[kPlateConstant] = s[kVoltsConstant];
  effect[kSpeed] = s[kHertz] - s[kPoles];
  effect[kMeanTurnEstimate] = mean_turn_measured ? s[kTurnLength] : 0.0;
  return effect;
}

double Model::Moved(const Measured& m, const Logs& effect) const {
  if (m.quantity != kResistance) return effect[m.quantity];
  // Leads stay where the coils move; what is wrong with the reading itself moves both.
  const double total = m.agreement.expected.nominal, leads = std::max(0.0, total - ohms->coil_ohms);
  return effect[kReading] +
         std::log(((total - leads) * std::exp(effect[kResistance] - effect[kReading]) + leads) / total);
}

Model ModelOf(const Record& record, const Original& original, const Settings& settings, bool use_mass) {
  const Frame frame = FrameOf(record, original, settings);
  Model model;
  model.mean_turn_measured = record.winding.mean_turn_m.has_value();
  const std::vector<int>& permitted = original.pattern.symmetry.permitted_circuits;
  model.circuits_permitted =
      std::find(permitted.begin(), permitted.end(), record.winding.parallel_circuits) != permitted.end();
  if (record.resistance) {
    if (const absl::StatusOr<OhmsPrediction> ohms = PredictOhms(frame); ohms.ok()) {
      model.ohms = *ohms;
      model.measured.push_back(
          Predicted(kResistance, "line-to-line resistance", "ohms", ohms->found_ohms, *ohms, rules::check_resistance));
    }
  }
  if (use_mass && record.mass) {
    model.measured.push_back(Predicted(kMass, "copper mass", "kg", record.mass->kg,
                                       PredictKg(record, original, settings), rules::check_mass));
  }
  AddLoading(record, original, model);
  AddFullness(original, model);
  AddMeanTurn(record, original.pattern, model);
  AddPower(record, model);
  AddSpeed(record, model);
  AddMagnetPlate(record, original.constants, model);
  return model;
}

Model PlateModelOf(const Record& record) {
  Model model;
  AddPower(record, model);
  AddSpeed(record, model);
  TurnsPlan any;  // the turns cancel: nothing is moved to others
  any.series_turns_per_phase = any.winding_factor = 1;
  AddMagnetPlate(record, ConstantsOf(record, any, any, Band::Exactly(1.0)), model);
  return model;
}

}  // namespace coilwright::plan
