#include "plan/check_slips.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "plan/predict.h"
#include "standards/tables.h"
#include "wire/wire.h"

namespace coilwright::plan {
namespace {

const double kLnRoot3 = std::log(3.0) / 2;

const std::map<std::string, SlipRow>& Rows() {
  static const auto& rows = *[] {
    const standards::Table table(standards::EmbeddedTable("slips"));
    auto* loaded = new std::map<std::string, SlipRow>;
    for (int i = 0; i < table.rows(); ++i) {
      (*loaded)[std::string(table.Text(i, "slip"))] = {
          std::string(table.Text(i, "field")), std::string(table.Text(i, "what")), std::string(table.Text(i, "look")),
          table.Number(i, "chance").value()};
    }
    return loaded;
  }();
  return rows;
}

// What is known of a value makes a slip in it more or less likely (common practice, no source): a guess three times, a
// count or reading repeated three times a third.
double EvidenceFactor(const Record& record, const std::string& field) {
  double factor = 1;
  for (const FieldEvidence& evidence : record.evidence) {
    if (!absl::StartsWith(evidence.field, field)) continue;
    if (evidence.evidence == Evidence::kEstimated)
      factor = 3;
    else if (evidence.repeats >= 3)
      factor = 1.0 / 3;
  }
  return factor;
}

}  // namespace

std::vector<Slip> Slips::All() {
  Counts();
  CoilSides();
  Circuits();
  WiresInHand();
  Gauge();
  Pattern();
  PlateValues();
  Readings();
  return std::move(slips_);
}

Shift& Slips::Add(const std::string& name, std::string recorded, std::string reads, double share) {
  const SlipRow& row = RowOf(name);
  std::string field = row.field;
  if (field == "voltage_constant") {
    field = record_.measured_ke_ll_rms_v_per_krpm ? "measured.voltage_constant" : "machine.nameplate.voltage_constant";
  }
  Slip slip;
  slip.correction = {name, field, row.what, std::move(recorded), std::move(reads)};
  slip.look = row.look;
  slip.chance = row.chance * share * EvidenceFactor(record_, field);
  slips_.push_back(std::move(slip));
  return slips_.back().shift;
}

std::optional<PatternSummary> Slips::Variant(int pitch, int poles, std::optional<winding::Layers> layers) {
  Record other = record_;
  if (layers) {
    other.winding.layers = *layers;
    other.core.insulation.separator_present = *layers == winding::Layers::kDouble;
  }
  if (other.winding.coil_pitch) other.winding.coil_pitch = pitch;
  other.plate.poles = poles;
  if (poles != record_.plate.poles) other.plate.pole_pairs.reset();
  if (!ContradictionsBesideSpeed(other).empty()) return std::nullopt;
  absl::StatusOr<PatternSummary> pattern = SummarisePattern(other);
  if (!pattern.ok()) return std::nullopt;
  return *std::move(pattern);
}

void Slips::MendsCircuits(const PatternSummary& pattern) {
  const std::vector<int>& permitted = pattern.symmetry.permitted_circuits;
  slips_.back().permits_circuits =
      std::find(permitted.begin(), permitted.end(), record_.winding.parallel_circuits) != permitted.end();
}

void Slips::CoilSides() {
  const RecordedWinding& w = record_.winding;
  if (!w.groups.empty() || w.form == winding::CoilForm::kChain) return;
  const bool single = w.layers == winding::Layers::kSingle;
  if (!single && record_.core.slots % 2 != 0) return;
  const double ln = single ? std::log(2.0) : -std::log(2.0);
  Add(single ? "coils_halved" : "coils_doubled", single ? "single" : "double", single ? "double" : "single")[kCoils] =
      ln;
  const winding::Layers truly = single ? winding::Layers::kDouble : winding::Layers::kSingle;
  if (const auto pattern = Variant(w.coil_pitch.value_or(0), record_.plate.poles, truly)) MendsCircuits(*pattern);
}

void Slips::Pattern() {
  const int pitch = record_.winding.coil_pitch.value_or(0);
  const int poles = record_.plate.poles;
  if (pitch > 0 && record_.winding.form != winding::CoilForm::kToothCoil) {
    for (const int truly : {pitch - 1, pitch + 1}) {
      if (truly < 1) continue;
      const std::optional<PatternSummary> pattern = Variant(truly, poles);
      if (!pattern) continue;
      const std::optional<double> turn = TurnRatio(*pattern);
      Shift& shift = Add(truly < pitch ? "pitch_long" : "pitch_short", absl::StrCat(pitch), absl::StrCat(truly));
      shift[kPitch] = std::log(static_cast<double>(truly) / pitch);
      shift[kPitchFactor] = std::log(pattern->winding_factor / original_.pattern.winding_factor);
      if (turn) shift[kTurnLength] = std::log(*turn);
    }
  }
  if (record_.plate.pole_pairs) return;
  for (const int truly : {2 * poles, poles / 2}) {
    if (truly < 2 || truly > 120 || truly % 2 != 0) continue;
    const std::optional<PatternSummary> pattern = Variant(pitch, truly);
    if (!pattern) continue;
    Shift& shift = Add(truly > poles ? "poles_halved" : "poles_doubled", absl::StrCat(poles), absl::StrCat(truly));
    shift[kPoles] = std::log(static_cast<double>(truly) / poles);
    shift[kPoleFactor] = std::log(pattern->winding_factor / original_.pattern.winding_factor);
    MendsCircuits(*pattern);
  }
}

std::optional<double> Slips::TurnRatio(const PatternSummary& pattern) {
  const CoreAndSlot& core = record_.core;
  if (!core.bore_mm || !core.stack_length_mm || !core.slot_depth_mm) return std::nullopt;
  Record unmeasured = record_;
  unmeasured.winding.mean_turn_m.reset();
  const absl::StatusOr<electric::MeanTurn> now = MeanTurnOf(unmeasured, original_.pattern);
  const absl::StatusOr<electric::MeanTurn> then = MeanTurnOf(unmeasured, pattern);
  if (!now.ok() || !then.ok()) return std::nullopt;
  return then->metres.nominal / now->metres.nominal;
}

void Slips::PlateValues() {
  const Plate& plate = record_.plate;
  if (record_.kind == MachineKind::kInduction && plate.frequency_hz) {
    const double hertz = *plate.frequency_hz;
    const bool sixty = std::abs(hertz - 60) < 1;
    if (sixty || std::abs(hertz - 50) < 1) {
      const double truly = sixty ? 50 : 60;
      Add(sixty ? "fifty_as_sixty" : "sixty_as_fifty", absl::StrFormat("%g Hz", hertz),
          absl::StrFormat("%g Hz", truly))[kHertz] = std::log(truly / hertz);
    }
  }
  const bool star = record_.winding.connection == electric::Connection::kStar;
  TwoVoltagePlate();
  if (plate.line_amps_rms && !plate.line_amps_peak) {
    Add("peak_amps", absl::StrFormat("%.4g A rms", *plate.line_amps_rms),
        absl::StrFormat("%.4g A rms", *plate.line_amps_rms / std::sqrt(2.0)))[kAmps] = -std::log(2.0) / 2;
  }
  if (const std::optional<double> amps = PlateLineAmpsRms(plate); amps && !star) {
    Add("phase_amps", absl::StrFormat("%.4g A", *amps),
        absl::StrFormat("%.4g A in the line", *amps * std::exp(kLnRoot3)))[kAmps] = kLnRoot3;
  }
  Add(star ? "delta_as_star" : "star_as_delta", star ? "star" : "delta", star ? "delta" : "star")[kDelta] =
      star ? 1 : -1;
  if (record_.kind != MachineKind::kPermanentMagnet) return;
  VoltageConstant();
  WeakMagnets();
  PlateTorque();
}

// A servo motor is made for one voltage: its plate is not doubted where voltage constant and speed agree with it.
void Slips::TwoVoltagePlate() {
  const Plate& plate = record_.plate;
  if (original_.constants && plate.speed_rpm && record_.kind == MachineKind::kPermanentMagnet) {
    const double emf = original_.constants->ke_ll_rms_v_per_krpm.nominal * *plate.speed_rpm / 1000;
    const standards::Band usual = UsualEmfVolts(plate.rated_volts);
    if (emf >= usual.low && emf <= usual.high) return;
  }
  const bool star = record_.winding.connection == electric::Connection::kStar;
  const auto volts = [&](const char* name, double ln) {
    Shift& shift = Add(name, absl::StrFormat("%.4g V", plate.rated_volts),
                       absl::StrFormat("%.4g V with the amperes beside it", plate.rated_volts * std::exp(ln)));
    shift[kVolts] = ln;
    shift[kAmps] = -ln;
  };
  volts("plate_high_volts", -std::log(2.0));
  volts("plate_low_volts", std::log(2.0));
  if (star)
    volts("plate_delta_volts", kLnRoot3);
  else
    volts("plate_star_volts", -kLnRoot3);
}

void Slips::VoltageConstant() {
  const std::optional<double> ke = record_.measured_ke_ll_rms_v_per_krpm ? record_.measured_ke_ll_rms_v_per_krpm
                                                                         : record_.plate.ke_ll_rms_v_per_krpm;
  if (!ke) return;
  const auto constant = [&](const char* name, double ln) {
    constexpr absl::string_view kUnit = "V line to line rms per 1000 rpm";
    Add(name, absl::StrFormat("%.4g %s", *ke, kUnit),
        absl::StrFormat("%.4g %s", *ke * std::exp(ln), kUnit))[kVoltsConstant] = ln;
  };
  constant("phase_volts_constant", kLnRoot3);
  constant("peak_volts_constant", -std::log(2.0) / 2);
}

// Magnets lose part of their field to heat, overcurrent and dismantling, and never gain: the winding is as the plate
// has it, the measurement is true. Nothing to be seen where the plate does not say what the constant was.
void Slips::WeakMagnets() {
  constexpr double kLeastLoss = 0.10, kMostLoss = 1.2;  // of the logarithm; the plate alone explains less
  if (!record_.measured_ke_ll_rms_v_per_krpm || !record_.plate.ke_ll_rms_v_per_krpm) return;
  const double now = *record_.measured_ke_ll_rms_v_per_krpm, whole = *record_.plate.ke_ll_rms_v_per_krpm;
  const double loss = std::log(whole / now);
  if (loss < kLeastLoss || loss > kMostLoss) return;
  Add(kWeakMagnets, absl::StrFormat("%.4g V per 1000 rpm", now),
      absl::StrFormat("%.4g V per 1000 rpm when the magnets were whole", whole))[kVoltsConstant] = loss;
}

// The rated torque alone far above what the amperes beside it give.
void Slips::PlateTorque() {
  constexpr double kPeak = 1.4, kInPoundInches = 10;
  const std::optional<double> amps = PlateLineAmpsRms(record_.plate);
  if (!original_.constants || !record_.plate.rated_torque_nm || !amps) return;
  const double given = *record_.plate.rated_torque_nm;
  const double torque = original_.constants->kt_nm_per_arms.nominal * *amps;
  if (given / torque < kPeak || given / torque > kInPoundInches) return;
  Add("plate_torque", absl::StrFormat("%.3g Nm", given), absl::StrFormat("about %.2g Nm", torque))[kTorqueNm] =
      std::log(torque / given);
}

void Slips::Readings() {
  const bool star = record_.winding.connection == electric::Connection::kStar;
  if (record_.resistance) {
    const MeasuredResistance& read = *record_.resistance;
    const auto ohms = [&](const char* name, double factor) {
      Add(name, absl::StrFormat("%.4g ohm", read.line_to_line_ohms[0]),
          absl::StrFormat("%.4g ohm", factor * read.line_to_line_ohms[0]))[kOhms] = std::log(factor);
    };
    ohms("phase_ohms", star ? 2 : 2.0 / 3);
    ohms("two_leads_tied", 4.0 / 3);
    // Straight from work a winding is 15 to 60 K warmer than the room.
    constexpr double kWarmer = 35, kSigmaKelvin = 14;
    const double known = read.celsius_uncertainty <= 1 ? 0.4 : read.celsius_uncertainty >= 3 ? 1.5 : 1;
    Add("hot_as_cold", absl::StrFormat("%.4g C", read.winding_celsius),
        "the winding's own temperature, 15 to 60 K more", known)[kKelvin] =
        std::log1p(kWarmer / KelvinAt(record_, settings_, read.winding_celsius));
    slips_.back().resistance_sigma = kSigmaKelvin / KelvinAt(record_, settings_, read.winding_celsius + kWarmer);
  }
  Fahrenheit();
  const standards::Metal metal = record_.winding.metal;
  const standards::Metal other =
      metal == standards::Metal::kCopper ? standards::Metal::kAluminium : standards::Metal::kCopper;
  const bool copper = metal == standards::Metal::kCopper;
  Shift& shift = Add(copper ? "aluminium_as_copper" : "copper_as_aluminium", copper ? "copper" : "aluminium",
                     copper ? "aluminium" : "copper");
  const auto rho = [](standards::Metal m) {
    return standards::ResistivityOhmMm2PerM(standards::Resistivity::kIecWindingWire, m).nominal;
  };
  shift[kResistivity] = std::log(rho(other) / rho(metal));
  shift[kDensity] = std::log(standards::DensityKgPerM3(other) / standards::DensityKgPerM3(metal));
  if (!record_.mass) return;
  OnTheScale();
  if (record_.mass->basis != MassBasis::kBare) return;
  double bare = 0, coated = 0;
  for (const RecordedStrand& s : record_.winding.strands) {
    bare += s.wires_in_hand * wire::BareKgPerKm(s.wire, metal);
    coated += s.wires_in_hand * wire::CoatedKgPerKm(s.wire, metal);
  }
  if (coated <= bare) return;
  Add("film_on_the_scale", "bare", "film coated")[kKg] = std::log(bare / coated);
  Add("resin_on_the_scale", "bare", "with resin")[kKg] = std::log(bare / coated / kResinRatio);
  slips_.back().mass_sigma = kResinSigma;
}

void Slips::OnTheScale() {
  constexpr double kKgPerPound = 0.45359237, kAboutHalf = 0.04;
  const double kg = record_.mass->kg;
  const auto add = [&](const char* name, double factor) {
    Add(name, absl::StrFormat("%.3g kg", kg), absl::StrFormat("%.3g kg", factor * kg))[kKg] = std::log(factor);
  };
  if (record_.mass->in_pounds)
    add("kg_as_pounds", 1 / kKgPerPound);
  else
    add("pounds_as_kg", kKgPerPound);
  add("half_on_the_scale", 2);
  slips_.back().mass_sigma = kAboutHalf;
}

// A winding as warm as a workshop in degrees Fahrenheit, far above the air where that was written down, and said to
// have stood in it for hours.
void Slips::Fahrenheit() {
  if (!record_.resistance) return;
  const double read = record_.resistance->winding_celsius, truly = (read - 32) * 5 / 9;
  constexpr double kColdest = 8, kWarmest = 40, kNearTheAir = 6, kLeftWarm = 15;
  if (truly < kColdest || truly > kWarmest) return;
  double share = 1;
  if (record_.air_celsius) {
    const bool soaked = record_.resistance->celsius_uncertainty <= 1;
    share = std::abs(truly - *record_.air_celsius) < kNearTheAir ? 3 : 0.2;
    if (soaked && read - *record_.air_celsius > kLeftWarm) share *= 3;
  }
  Add("fahrenheit_as_celsius", absl::StrFormat("%.4g C", read), absl::StrFormat("%.3g C (%.4g F)", truly, read),
      share)[kKelvin] = std::log(KelvinAt(record_, settings_, truly) / KelvinAt(record_, settings_, read));
}

const SlipRow& RowOf(const std::string& slip) { return Rows().at(slip); }

std::vector<standards::FieldError> ContradictionsBesideSpeed(const Record& record) {
  std::vector<standards::FieldError> errors = Contradictions(record);
  errors.erase(std::remove_if(errors.begin(), errors.end(),
                              [](const standards::FieldError& e) { return e.field == "machine.nameplate.speed_rpm"; }),
               errors.end());
  return errors;
}

std::vector<Slip> SlipsOf(const Record& record, const Original& original, const Settings& settings) {
  std::vector<Slip> slips = Slips(record, original, settings).All();
  for (Slip& slip : slips) {
    slip.effect = EffectOf(slip.shift, record.kind, record.winding.mean_turn_m.has_value());
  }
  return slips;
}

}  // namespace coilwright::plan
