#include "rpc/read_record.h"

#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "coilwright/v1/machine.pb.h"
#include "coilwright/v1/quantities.pb.h"
#include "coilwright/v1/winding.pb.h"

namespace coilwright::rpc {
namespace {

static_assert(static_cast<int>(plan::Evidence::kEstimated) + 1 == v1::EVIDENCE_ESTIMATED);

using plan::Record;

constexpr absl::string_view kConnections =
    "CONNECTION_STAR or CONNECTION_DELTA, as the machine runs; star_open says that both ends of its phases can be "
    "reached";
constexpr Range kSmallMm = {0, 5, "mm"};
// Nothing on a motor is smaller; far below these, quotients leave the range of numbers.
constexpr Range kSlotMm = {0.05, 300, "mm"};
constexpr Range kHeadMm = {0, 2000, "mm", true};
constexpr Range kKeLineRmsPerKrpm = {0.001, 100000, "V line to line rms per 1000 rpm"};

void ReadPlate(const Reader& plate, Record& record) {
  plan::Plate& p = record.plate;
  p.rated_volts = plate.Need("rated_volts", plate.Number("rated_volts", kRatedVolts),
                             "1 V to 50000 V, line to line rms of the winding (not mains, not DC bus)", 230.0);
  p.drive_mains_volts = plate.Number("drive_mains_volts", kRatedVolts);
  p.dc_bus_volts = plate.Number("dc_bus_volts", kRatedVolts);
  p.line_amps_rms = plate.Number("line_amps_rms", {0.001, 10000, "A"});
  p.line_amps_peak = plate.Number("line_amps_peak", {0.001, 15000, "A"});
  p.rated_kw = plate.Kw("rated_power", kRatedKw);
  p.frequency_hz = plate.Number("frequency_hz", {1, 2000, "Hz"});
  p.speed_rpm = plate.Number("speed_rpm", kSpeedRpm);
  p.rated_torque_nm = plate.Number("rated_torque_nm", kTorqueNm);
  p.kt_nm_per_arms = plate.Number("torque_constant_nm_per_arms", {0.0001, 1000, "Nm/A"});
  p.pole_pairs = plate.Count("pole_pairs", 1, 60);
  std::optional<int> poles = plate.Count("poles", 2, 120);
  if (!poles && !plate.Has("poles") && p.pole_pairs) poles = 2 * *p.pole_pairs;
  p.poles = plate.Need("poles", poles, "an even number from 2 to 120, or pole_pairs", 2);
  p.built_year = plate.Count("built_year", 1880, 2200);
  p.drive_fed = plate.Flag("drive_fed");
  p.thermal_class = ReadThermalClass(plate, "thermal_class");
  p.ke_ll_rms_v_per_krpm = ReadVoltageConstant(plate, "voltage_constant");
}

// Depth of the slot goes with the shape, or beside a measured area.
void ReadSlot(const Reader& slot, Record& record) {
  plan::CoreAndSlot& core = record.core;
  core.opening_mm = slot.Mm("opening_width", {0, 100, "mm", true});
  const double lip_mm = slot.Mm("opening_depth", {0, 50, "mm"}).value_or(0.0);
  core.insulation.liner_mm = slot.Mm("liner_thickness", kSmallMm).value_or(0.0);
  core.insulation.separator_mm = slot.Mm("separator_thickness", kSmallMm).value_or(0.0);
  core.insulation.separator_present = record.winding.layers == winding::Layers::kDouble;
  core.insulation.wedge_mm = slot.Mm("wedge_height", {0, 20, "mm"}).value_or(0.0);
  core.slot_depth_mm = slot.Mm("depth", kSlotMm);
  const double opening_mm = core.opening_mm.value_or(0.0);
  const Reader shape = slot.At("shape");
  const auto need = [](const Reader& r, absl::string_view field) {
    return r.Need(field, r.Mm(field, kSlotMm), Accepted(kSlotMm), 1.0);
  };
  if (shape.Has("parallel_sided")) {
    const Reader r = shape.At("parallel_sided");
    core.slot_depth_mm = need(r, "depth");
    core.shape = slot::ParallelSided{need(r, "width"), *core.slot_depth_mm, opening_mm, lip_mm};
  } else if (shape.Has("parallel_tooth")) {
    core.slot_depth_mm = need(shape.At("parallel_tooth"), "depth");
    if (!core.bore_mm)
      shape.WrongBeside("parallel_tooth", "a shape that needs the bore", "machine.core.bore_diameter beside it");
    if (!core.tooth_width_mm)
      shape.WrongBeside("parallel_tooth", "a shape that needs the tooth", "machine.core.tooth_width beside it");
    core.shape = slot::ParallelTooth{core.bore_mm.value_or(100.0), core.slots, core.tooth_width_mm.value_or(1.0),
                                     *core.slot_depth_mm,          opening_mm, lip_mm};
  } else if (shape.Has("round_bottomed")) {
    const Reader r = shape.At("round_bottomed");
    core.slot_depth_mm = need(r, "depth");
    core.shape =
        slot::RoundBottomed{need(r, "top_width"), need(r, "bottom_diameter"), *core.slot_depth_mm, opening_mm, lip_mm};
  } else if (shape.Has("round")) {
    const Reader r = shape.At("round");
    const double diameter_mm = need(r, "diameter");
    core.slot_depth_mm = diameter_mm + lip_mm;
    core.shape = slot::Round{diameter_mm, opening_mm};
  } else if (shape.Has("measured_area")) {
    if (const std::optional<double> area = shape.Mm2("measured_area", {0.1, 100000, "mm2"}))
      core.shape = slot::MeasuredArea{*area};
  }
}

void ReadCore(const Reader& core, Record& record) {
  plan::CoreAndSlot& c = record.core;
  c.slots = core.Need("slots", core.Count("slots", 3, 720), "3 to 720", 12);
  c.bore_mm = core.Mm("bore_diameter", kCoreMm);
  c.outer_mm = core.Mm("outer_diameter", kCoreMm);
  c.stack_length_mm = core.Mm("stack_length", kCoreMm);
  c.tooth_width_mm = core.Mm("tooth_width", kSlotMm);
  c.back_iron_mm = core.Mm("back_iron_depth", {0.1, 1000, "mm"});
  c.stacking_factor = core.Number("stacking_factor", {0.5, 1.0, ""}).value_or(0.95);
}

void ReadWinding(const Reader& winding, bool counted, Record& record) {
  plan::RecordedWinding& w = record.winding;
  w.form = winding.Need("coil_form", winding.Enum<winding::CoilForm>("coil_form"), winding.EnumChoices("coil_form"),
                        winding::CoilForm::kLap);
  w.layers = winding.Need("layers", winding.Enum<winding::Layers>("layers"), winding.EnumChoices("layers"),
                          winding::Layers::kDouble);
  w.connection = winding.Need("connection", ReadConnection(winding), kConnections, electric::Connection::kStar);
  w.metal = winding.Enum<standards::Metal>("metal").value_or(standards::Metal::kCopper);
  w.coil_pitch = winding.Count("coil_pitch_slots", 1, 719);
  w.turns_per_coil = winding.Count("turns_per_coil", 1, 10000);
  w.parallel_circuits = winding.Need("parallel_circuits", winding.Count("parallel_circuits", 1, 120),
                                     "1 to 120 (1 where all coils of a phase are in series)", 1);
  w.groups = ReadGroups(winding, "groups");
  w.strands = ReadStrands(winding, "strands");
  if (counted && w.strands.empty() && !winding.HasErrorAt("strands")) {
    winding.Missing("strands", "the wires of one turn: size and wires in hand");
  }
  if (const std::optional<double> mm = winding.Mm("mean_turn", {10, 10000, "mm"})) w.mean_turn_m = *mm / 1000.0;
  w.star_open = winding.Flag("star_open").value_or(false);
}

void ReadMeasurements(const Reader& measured, Record& record) {
  if (measured.Has("resistance")) {
    const Reader r = measured.At("resistance");
    plan::MeasuredResistance resistance;
    for (const absl::string_view pair : {"u_v_ohms", "v_w_ohms", "w_u_ohms"}) {
      if (const std::optional<double> ohms = r.Number(pair, {1e-6, 100000, "ohms"}))
        resistance.line_to_line_ohms.push_back(*ohms);
    }
    if (resistance.line_to_line_ohms.empty() && !r.HasErrorAt(""))
      r.Missing("u_v_ohms", "one to three readings between the leads");
    resistance.winding_celsius = r.Need("winding_temperature", r.Celsius("winding_temperature"),
                                        "the temperature of the winding when it was read", 20.0);
    const int evidence = r.EnumNumber("temperature_evidence");
    resistance.celsius_uncertainty = CelsiusUncertainty(evidence);
    resistance.as_the_air =
        evidence == v1::TEMPERATURE_EVIDENCE_SOAKED || evidence == v1::TEMPERATURE_EVIDENCE_AMBIENT_ASSUMED;
    resistance.uncertainty_ratio = r.At("instrument").Number("uncertainty_ratio", {0, 0.2, ""}).value_or(0.005);
    resistance.leads_ohms = r.Number("leads_ohms", {0, 100, "ohms"});
    for (const double ohms : resistance.line_to_line_ohms) {
      if (!resistance.leads_ohms || *resistance.leads_ohms < ohms) continue;
      r.WrongBeside("leads_ohms", absl::StrFormat("%g ohms beside a reading of %g ohms", *resistance.leads_ohms, ohms),
                    "less than every reading, which holds both leads and the coils");
      break;
    }
    record.resistance = resistance;
  }
  if (measured.Has("mass")) {
    const Reader m = measured.At("mass");
    plan::MeasuredMass mass;
    mass.kg = m.Need("mass", m.Kg("mass", {0.0001, 10000, "kg"}), "the mass on the scale", 1.0);
    mass.basis = m.Need("basis", m.Enum<plan::MassBasis>("basis"), m.EnumChoices("basis"), plan::MassBasis::kBare);
    mass.leads_included = m.Flag("leads_included").value_or(false);
    const auto& scale = static_cast<const v1::WindingMass&>(m.message()).mass();
    mass.in_pounds = scale.has_pounds() || scale.has_ounces();
    record.mass = mass;
  }
  const Reader inductance = measured.At("inductance");
  plan::MeasuredInductance millihenries;
  millihenries.least_mh = inductance.Number("least_mh", {0, 1e6, "mH", true});
  millihenries.greatest_mh = inductance.Number("greatest_mh", {0, 1e6, "mH", true});
  millihenries.frequency_hz = inductance.Number("frequency_hz", {1, 1e6, "Hz"});
  millihenries.rotor_in = inductance.Flag("rotor_in");
  if (millihenries.least_mh && millihenries.greatest_mh && *millihenries.greatest_mh < *millihenries.least_mh) {
    inductance.WrongBeside(
        "greatest_mh",
        absl::StrFormat("%g mH beside a least_mh of %g mH", *millihenries.greatest_mh, *millihenries.least_mh),
        "at least least_mh, or the two fields the other way round");
  }
  if (measured.Has("inductance")) record.inductance = millihenries;
  record.measured_ke_ll_rms_v_per_krpm = ReadVoltageConstant(measured, "voltage_constant");
  record.magnet_celsius = measured.Celsius("magnet_temperature");
}

}  // namespace

double CelsiusUncertainty(int evidence) {
  // Sensor 1 K, soaked for hours 1 K, assumed 3 K; 2 K where nobody says (common practice).
  constexpr double kKelvin[] = {2.0, 1.0, 1.0, 3.0};
  return kKelvin[evidence];
}

std::optional<plan::Construction> ReadConstruction(const Reader& machine) {
  return machine.Enum<plan::Construction>("construction");
}

static_assert(static_cast<int>(testing::Feedback::kHallBoard) + 1 == v1::FEEDBACK_KIND_HALL_BOARD);
static_assert(static_cast<int>(testing::SensorKind::kThermostat) + 1 == v1::THERMAL_SENSOR_KIND_THERMOSTAT);

testing::FittedDevices ReadDevices(const Reader& fitted) {
  testing::FittedDevices devices;
  devices.feedback = fitted.Enum<testing::Feedback>("feedback").value_or(devices.feedback);
  for (const Reader& sensor : fitted.Each("thermal_sensors", 50)) {
    devices.sensors.push_back({sensor.Enum<testing::SensorKind>("kind").value_or(testing::SensorKind::kUnknown),
                               sensor.Number("resistance_ohms", {0, 1e6, "ohms"}), sensor.Celsius("at_temperature")});
  }
  if (fitted.Has("brake")) {
    const Reader brake = fitted.At("brake");
    devices.brake = testing::FittedBrake{brake.Number("rated_volts_dc", {0, 1000, "V", true}),
                                         brake.Number("coil_ohms", {0, 1e6, "ohms", true}),
                                         brake.Flag("rectifier").value_or(false)};
  }
  const auto volts = fitted.Number("space_heater_volts", {1, 1000, "V"});
  const auto watts = fitted.Number("space_heater_watts", {1, 100000, "W"});
  if (fitted.Flag("space_heater").value_or(volts || watts)) devices.heater = testing::FittedHeater{volts, watts};
  devices.surge_parts = fitted.Flag("surge_parts").value_or(false);
  return devices;
}

std::optional<standards::ThermalClass> ReadThermalClass(const Reader& parent, absl::string_view field) {
  const std::string text = parent.Text(field, 40);
  if (text.empty()) return std::nullopt;
  const absl::StatusOr<standards::ThermalClass> found = standards::FindThermalClass(text);
  if (found.ok()) return *found;
  const std::vector<standards::FieldError> wrong = standards::FieldErrorsOf(found.status());
  parent.Wrong(field, absl::StrCat("\"", text, "\""),
               wrong.empty() ? std::string(found.status().message()) : wrong[0].accepted);
  return std::nullopt;
}

std::optional<double> ReadVoltageConstant(const Reader& parent, absl::string_view field) {
  if (!parent.Has(field)) return std::nullopt;
  const Reader r = parent.At(field);
  const std::optional<double> volts = r.Number("volts", {0, 1e6, "V", true});
  if (!volts && !r.HasErrorAt("volts")) r.Missing("volts", Accepted({0, 1e6, "V", true}));
  electric::VoltageConstantBasis basis;
  basis.point = r.Need("point", r.Enum<electric::VoltagePoint>("point"), r.EnumChoices("point"), basis.point);
  basis.measure =
      r.Need("measure", r.Enum<electric::VoltageMeasure>("measure"), r.EnumChoices("measure"), basis.measure);
  basis.speed =
      r.Need("speed_unit", r.Enum<electric::SpeedUnit>("speed_unit"), r.EnumChoices("speed_unit"), basis.speed);
  if (!volts) return std::nullopt;
  const double ke = electric::ConvertVoltageConstant(*volts, basis, {});
  if (ke >= kKeLineRmsPerKrpm.low && ke <= kKeLineRmsPerKrpm.high) return ke;
  r.Wrong("volts", absl::StrCat(*volts, " V, which is ", ke, " ", kKeLineRmsPerKrpm.unit), Accepted(kKeLineRmsPerKrpm));
  return std::nullopt;
}

std::optional<electric::Connection> ReadConnection(const Reader& parent) {
  if (parent.EnumNumber("connection") != v1::CONNECTION_OPEN) return parent.Enum<electric::Connection>("connection");
  parent.Wrong("connection", "CONNECTION_OPEN", kConnections);
  return std::nullopt;
}

plan::Record ReadRecord(const Reader& reader, bool counted) {
  Record record;
  record.title = reader.Text("title");
  const Reader machine = reader.At("machine");
  const int kind = machine.EnumNumber("kind");
  if (kind == 0 && !machine.HasErrorAt("kind"))
    machine.Missing("kind", "MACHINE_KIND_PERMANENT_MAGNET or MACHINE_KIND_INDUCTION");
  if (kind > 2) {
    machine.WrongBeside(
        "kind",
        machine.message().GetDescriptor()->FindFieldByName("kind")->enum_type()->FindValueByNumber(kind)->name(),
        "MACHINE_KIND_PERMANENT_MAGNET or MACHINE_KIND_INDUCTION; other kinds are not planned yet");
  }
  record.kind = kind == 2 ? plan::MachineKind::kInduction : plan::MachineKind::kPermanentMagnet;
  record.construction = ReadConstruction(machine).value_or(plan::Construction::kHandInserted);
  record.potted = machine.Flag("potted").value_or(false);
  ReadPlate(machine.At("nameplate"), record);
  ReadCore(machine.At("core"), record);
  ReadWinding(reader.At("winding"), counted, record);
  ReadSlot(machine.At("slot"), record);
  record.devices = ReadDevices(machine.At("fitted"));
  const Reader heads = machine.At("coil_heads");
  const std::optional<double> near_mm = heads.Mm("extension_connection_end", kHeadMm);
  const std::optional<double> far_mm = heads.Mm("extension_opposite_end", kHeadMm);
  if (near_mm && far_mm) record.core.head_extension_mm = (*near_mm + *far_mm) / 2.0;
  for (const absl::string_view field : {"outer_diameter", "inner_diameter", "extension_limit"})
    heads.Mm(field, kHeadMm);
  ReadMeasurements(reader.At("measured"), record);
  const Reader workshop = reader.At("workshop");
  record.air_celsius = workshop.Celsius("air_temperature", -40, 60);
  workshop.Number("relative_humidity_percent", {0, 100, "%", true});
  for (const Reader& entry : reader.Each("evidence", 500)) {
    const auto& evidence = static_cast<const v1::FieldEvidence&>(entry.message());
    record.evidence.push_back({entry.Text("field"), entry.Enum<plan::Evidence>("evidence"), evidence.repeats_size()});
    RefuseRepeatsThatContradict(entry, reader.message());
  }
  reader.RefuseLongTexts();
  return record;
}

}  // namespace coilwright::rpc
