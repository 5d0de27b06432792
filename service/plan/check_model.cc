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

// Standard deviations as shares. Mean turn and mass as the trade measures them; wire beside its table limits (stretch,
// stripping), resistivity between 1/59 and 1/58, joins in the winding: common practice, no source.
constexpr double kMeanTurnMeasured = 0.03;
constexpr double kMeanTurnEstimatedLeast = 0.05;
constexpr double kWireArea = 0.006;
constexpr double kResistivityShare = 0.004;
constexpr double kJoins = 0.01;
constexpr double kScale = 0.02;
constexpr double kFilmOnScale = 0.01, kResinOnScale = 0.03, kLeadsOnScale = 0.02;
constexpr double kResin = 1.06;
// Both leads together: 1.6 m, give or take half, of the section of all circuits of a phase and at least 0.75 mm2. Tens
// of milliohms in small motors; common practice, no source.
constexpr double kLeadMetres = 1.6, kLeastLeadMm2 = 0.75, kLeadSigma = 0.5;

double Square(double x) { return x * x; }

// Of the reading itself: instrument, temperature, resistivity, joins and leads.
double ReadingSigma(const MeasuredResistance& read, double lead_ohms, double ohms) {
  return std::sqrt(Square(read.uncertainty_ratio) + Square(read.celsius_uncertainty / 254.5) +
                   Square(kResistivityShare) + Square(kJoins) + Square(kLeadSigma * lead_ohms / ohms));
}

// Half the width of a band on the log scale, taken as two standard deviations.
double SigmaOf(const Band& band) { return band.low > 0 ? std::log(band.high / band.low) / 4.0 : 0.0; }

Band TwoSigmas(double nominal, double sigma) {
  return {nominal * std::exp(-2 * sigma), nominal, nominal * std::exp(2 * sigma)};
}

void AddResistance(const Frame& frame, Model& model) {
  const Record& record = *frame.record;
  if (!record.resistance) return;
  const MeasuredResistance& read = *record.resistance;
  const absl::StatusOr<electric::WindingResistance> predicted =
      electric::PredictResistance(CopperOf(frame, record.winding.strands), read.winding_celsius);
  if (!predicted.ok()) return;
  const double mean = MeanOhms(read);
  const double coils = predicted->line_to_line_ohms.nominal;
  const double leads = LeadOhms(record.winding.parallel_circuits * StrandArea(record.winding.strands).nominal);
  const double computed = coils * (1 + frame.settings->lead_share / 2) + leads;
  const double own = ReadingSigma(read, leads, computed);
  const double sigma = std::sqrt(Square(own) + Square(model.mean_turn_sigma) + Square(model.area_sigma));
  Measured measured;
  measured.quantity = kResistance;
  measured.residual = std::log(computed / mean);
  measured.sigma_low = measured.sigma_high = sigma;
  measured.agreement = {"line-to-line resistance", "ohms", mean, TwoSigmas(computed, sigma), false, 0,
                        rules::check_resistance};
  model.measured.push_back(measured);
}

void AddMass(const Record& record, const Option& as_recorded, const Settings& settings, Model& model) {
  if (!record.mass) return;
  const BareMass weighed = BareMassOf(record);
  // What the scale should show for the copper computed.
  double computed = as_recorded.bare_copper_kg.nominal * record.mass->kg / weighed.kg;
  double own = Square(weighed.sigma);
  if (record.mass->leads_included) {
    computed *= 1 + settings.lead_share;
    own += Square(kLeadsOnScale);
  }
  const double sigma = std::sqrt(own + Square(model.mean_turn_sigma) + Square(model.area_sigma));
  Measured measured;
  measured.quantity = kMass;
  measured.residual = std::log(computed / record.mass->kg);
  measured.sigma_low = measured.sigma_high = sigma;
  measured.agreement = {"copper mass", "kg", record.mass->kg, TwoSigmas(computed, sigma), false, 0, rules::check_mass};
  model.measured.push_back(measured);
}

// A figure computed from the record against a range met in practice. The ends of the range lie 1.3 standard deviations
// out, so that one machine in five may lie beyond; `own` is the uncertainty of the figure itself.
void AddRange(Quantity quantity, absl::string_view what, absl::string_view unit, double computed, double low,
              double high, absl::string_view rule, double own, Model& model) {
  constexpr double kEnds = 1.3;
  constexpr double kLeast = 0.10;
  if (!(computed > 0)) return;
  const double sigma = std::hypot(std::max(std::log(high / low) / 2 / kEnds, kLeast), own);
  Measured measured;
  measured.quantity = quantity;
  measured.residual = std::log(computed / std::sqrt(low * high));
  measured.sigma_low = measured.sigma_high = sigma;
  measured.agreement = {
      std::string(what), std::string(unit), computed, {low, std::sqrt(low * high), high}, true, 0, rule};
  model.measured.push_back(measured);
}

electric::MachineKind KindOf(const Record& record) {
  return record.kind == MachineKind::kInduction ? electric::MachineKind::kInduction
                                                : electric::MachineKind::kPermanentMagnet;
}

void AddLoading(const Record& record, const Original& original, Model& model) {
  const auto add = [&](Quantity quantity, electric::Loading loading, absl::string_view what, absl::string_view unit,
                       double computed, double own) {
    const electric::PlausibleRange range = electric::Plausible(loading, KindOf(record));
    AddRange(quantity, what, unit, computed, range.low, range.high, range.rule, own, model);
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
  const double sigma = std::sqrt(Square(std::max(SigmaOf(estimate->metres), 0.08)) + Square(kMeanTurnMeasured));
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
    AddRange(kTorque, "torque from current", "Nm", torque, 0.87 * *plate.rated_torque_nm, 1.2 * *plate.rated_torque_nm,
             rules::plan_torque_current_check, 0, model);
  }
  if (plate.speed_rpm) {
    const double emf = constants->ke_ll_rms_v_per_krpm.nominal * *plate.speed_rpm / 1000.0;
    AddRange(kEmf, "emf at rated speed", "volts", emf, 0.55 * plate.rated_volts, 1.03 * plate.rated_volts,
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

// Efficiency times power factor, as plates have it.
void AddPower(const Record& record, Model& model) {
  const std::optional<double> amps = PlateLineAmpsRms(record.plate);
  if (!record.plate.rated_kw || !amps) return;
  const bool induction = record.kind == MachineKind::kInduction;
  AddRange(kPower, "output over apparent power", "ratio",
           *record.plate.rated_kw * 1000.0 / (std::sqrt(3.0) * record.plate.rated_volts * *amps), induction ? 0.5 : 0.6,
           induction ? 0.88 : 1.0, rules::plan_power_check, 0, model);
}

}  // namespace

double MeanOhms(const MeasuredResistance& read) {
  double mean = 0;
  for (const double ohms : read.line_to_line_ohms) mean += ohms / static_cast<double>(read.line_to_line_ohms.size());
  return mean;
}

double LeadOhms(double phase_mm2) { return kLeadMetres / 58 / std::max(kLeastLeadMm2, phase_mm2); }

CoilOhms CoilOhmsOf(const MeasuredResistance& read, double phase_mm2, double lead_share) {
  const double mean = MeanOhms(read);
  const double leads = std::min(LeadOhms(phase_mm2), mean / 2);
  return {(mean - leads) / (1 + lead_share / 2), ReadingSigma(read, leads, mean)};
}

double MeanTurnSigma(const Record& record, const electric::MeanTurn& mean_turn) {
  return record.winding.mean_turn_m ? kMeanTurnMeasured : std::max(SigmaOf(mean_turn.metres), kMeanTurnEstimatedLeast);
}

double WireAreaSigma(const std::vector<RecordedStrand>& strands) {
  return std::hypot(SigmaOf(StrandArea(strands)), kWireArea);
}

BareMass BareMassOf(const Record& record) {
  // Film where the wire is not known: 3 to 6 % for the sizes of small motors (from memory).
  constexpr double kUnknownFilm = 1.045, kUnknownFilmSigma = 0.012;
  BareMass mass{record.mass->kg, Square(kScale)};
  if (record.mass->basis != MassBasis::kBare) {
    double bare = 0, coated = 0;
    for (const RecordedStrand& strand : record.winding.strands) {
      bare += strand.wires_in_hand * wire::BareKgPerKm(strand.wire, record.winding.metal);
      coated += strand.wires_in_hand * wire::CoatedKgPerKm(strand.wire, record.winding.metal);
    }
    mass.kg /= bare > 0 ? coated / bare : kUnknownFilm;
    mass.sigma += Square(bare > 0 ? kFilmOnScale : kUnknownFilmSigma);
  }
  if (record.mass->basis == MassBasis::kWithResin) {
    mass.kg /= kResin;
    mass.sigma += Square(kResinOnScale);
  }
  mass.sigma = std::sqrt(mass.sigma);
  return mass;
}

Logs EffectOf(const Shift& s, MachineKind kind, bool mean_turn_measured) {
  const double half_ln_3 = std::log(3.0) / 2;
  const double turn = mean_turn_measured ? 0.0 : s[kTurnLength];
  const double conductors = s[kTurns] + s[kCoils];
  const double area = s[kWires] + 2 * s[kDiameter];
  const double emf = kind == MachineKind::kInduction ? s[kVolts] - s[kHertz] : s[kVoltsConstant] - s[kPoles];
  const double flux = emf + half_ln_3 * s[kDelta] - s[kPitchFactor] - s[kPoleFactor] - conductors + s[kCircuits];
  Logs effect{};
  effect[kResistance] =
      turn + conductors - 2 * s[kCircuits] - area - 2 * half_ln_3 * s[kDelta] + s[kResistivity] + s[kKelvin] - s[kOhms];
  effect[kMass] = turn + conductors + area + s[kDensity] - s[kKg];
  effect[kAirGap] = effect[kTooth] = flux + s[kPoles];
  effect[kBackIron] = flux;
  effect[kCurrentDensity] = s[kAmps] - half_ln_3 * s[kDelta] - s[kCircuits] - area;
  effect[kElectricLoading] = conductors + s[kAmps] - half_ln_3 * s[kDelta] - s[kCircuits];
  effect[kFullness] = conductors + s[kWires] + 2 * s[kOverall];
  effect[kTorque] = s[kVoltsConstant] + s[kAmps];
  effect[kPower] = -s[kVolts] - s[kAmps];
  effect[kEmf] = s[kVoltsConstant] - s[kVolts];
  effect[kPlateConstant] = s[kVoltsConstant];
  effect[kMeanTurnEstimate] = mean_turn_measured ? s[kTurnLength] : 0.0;
  return effect;
}

Model ModelOf(const Record& record, const Original& original, const Settings& settings, bool use_mass) {
  const Frame frame = FrameOf(record, original, settings);
  Model model;
  model.mean_turn_measured = record.winding.mean_turn_m.has_value();
  model.mean_turn_sigma = MeanTurnSigma(record, original.mean_turn);
  model.area_sigma = WireAreaSigma(record.winding.strands);
  const std::vector<int>& permitted = original.pattern.symmetry.permitted_circuits;
  model.circuits_permitted =
      std::find(permitted.begin(), permitted.end(), record.winding.parallel_circuits) != permitted.end();
  AddResistance(frame, model);
  if (use_mass) AddMass(record, original.as_recorded, settings, model);
  AddLoading(record, original, model);
  AddFullness(original, model);
  AddMeanTurn(record, original.pattern, model);
  AddPower(record, model);
  AddMagnetPlate(record, original.constants, model);
  return model;
}

Model PlateModelOf(const Record& record) {
  Model model;
  AddPower(record, model);
  TurnsPlan any;  // the turns cancel: nothing is moved to others
  any.series_turns_per_phase = any.winding_factor = 1;
  AddMagnetPlate(record, ConstantsOf(record, any, any, Band::Exactly(1.0)), model);
  return model;
}

}  // namespace coilwright::plan
