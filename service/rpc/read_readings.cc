#include "absl/strings/str_cat.h"
#include "coilwright/v1/reading_service.pb.h"
#include "rpc/megohms.h"
#include "rpc/read_programme.h"
#include "rpc/read_record.h"
#include "rpc/readings.h"
#include "testing/level_tables.h"

namespace coilwright::rpc {
namespace {

constexpr Range kOhms = {1e-6, 100000, "ohms"};
constexpr int kMostSamples = 20000;

double Uncertainty(const Reader& reading) {
  return reading.At("instrument").Number("uncertainty_ratio", {0, 0.2, ""}).value_or(0.0);
}

testing::LineResistances ReadResistance(const Reader& reading, const Reader& r) {
  testing::LineResistances read;
  const Reader line = r.At("line_to_line");
  constexpr const char* kOhmFields[] = {"u_v_ohms", "v_w_ohms", "w_u_ohms"};
  constexpr const char* kOpenFields[] = {"u_v_open", "v_w_open", "w_u_open"};
  bool any = false;
  for (size_t i = 0; i < 3; ++i) {
    read.ohms[i] = line.Number(kOhmFields[i], kOhms);
    read.open[i] = static_cast<const v1::ResistanceReading&>(r.message())
                       .GetReflection()
                       ->GetBool(r.message(), r.message().GetDescriptor()->FindFieldByName(kOpenFields[i]));
    any = any || line.Has(kOhmFields[i]) || read.open[i];
    if (line.Has(kOhmFields[i]) && read.open[i])
      line.Wrong(kOhmFields[i], "given beside the mark of an open circuit", "either ohms or the mark");
  }
  if (!any) line.Missing("u_v_ohms", "one to three readings between the leads");
  read.winding_celsius = line.Need("winding_temperature", line.Celsius("winding_temperature"),
                                   "the temperature of the winding when it was read", 20.0);
  read.celsius_uncertainty = CelsiusUncertainty(line.EnumNumber("temperature_evidence"));
  read.uncertainty_ratio = Uncertainty(reading);
  if (read.uncertainty_ratio == 0) read.uncertainty_ratio = Uncertainty(line);
  return read;
}

// Numbers of a repeated field, each within the range.
std::vector<double> Numbers(const Reader& r, absl::string_view field, int most, const Range& range) {
  const auto& message = r.message();
  const auto* descriptor = message.GetDescriptor()->FindFieldByName(std::string(field));
  const int size = message.GetReflection()->FieldSize(message, descriptor);
  std::vector<double> numbers;
  if (size > most) {
    r.Wrong(field, absl::StrCat(size, " numbers"), absl::StrCat("at most ", most));
    return numbers;
  }
  for (int i = 0; i < size; ++i) {
    const double value = message.GetReflection()->GetRepeatedDouble(message, descriptor, i);
    // What is no number has been refused already.
    if (!(value >= range.low && value <= range.high) && value - value == 0)
      r.Wrong(absl::StrCat(field, "[", i, "]"), absl::StrCat(value, " ", range.unit), Accepted(range));
    numbers.push_back(value - value == 0 ? value : 0);
  }
  return numbers;
}

testing::WithstandReading ReadWithstand(const Reader& reading, const Reader& r) {
  testing::WithstandReading read;
  const int shape = r.EnumNumber("volts_shape");
  if (shape != v1::VOLTAGE_SHAPE_DC && shape != v1::VOLTAGE_SHAPE_AC_RMS)
    r.Wrong("volts_shape", shape == 0 ? "nothing" : "PEAK", "VOLTAGE_SHAPE_AC_RMS or VOLTAGE_SHAPE_DC");
  read.dc = shape == v1::VOLTAGE_SHAPE_DC;
  read.test_volts = r.Need("test_volts", r.Number("test_volts", {1, 500000, "V"}), "1 V to 500000 V", 1.0);
  read.broke_down = r.Flag("broke_down").value_or(false);
  const auto hold = r.Number("hold_seconds", {0, 36000, "s"});
  read.hold_seconds = read.broke_down ? hold.value_or(0.0) : r.Need("hold_seconds", hold, "0 s to 36000 s", 0.0);
  read.leakage_milliamps = Numbers(r, "leakage_milliamps", 10000, {0, 1e6, "mA"});
  read.trip_milliamps = r.Number("trip_milliamps", {0, 1e6, "mA", true});
  read.uncertainty_ratio = Uncertainty(reading);
  return read;
}

testing::SurgeReading ReadSurge(const Reader& r) {
  testing::SurgeReading read;
  for (const Reader& wave : r.Each("waves", 3)) {
    testing::SurgeWave one;
    one.point = wave.Need("point", wave.Enum<testing::WavePoint>("point"), wave.EnumChoices("point"), one.point);
    one.volts = Numbers(wave, "volts", kMostSamples, {-1e6, 1e6, "V"});
    if (one.volts.empty() && !wave.HasErrorAt("volts")) wave.Missing("volts", "the samples of one pulse");
    one.volts_at_lower_level = Numbers(wave, "volts_at_lower_level", kMostSamples, {-1e6, 1e6, "V"});
    read.waves.push_back(std::move(one));
  }
  if (read.waves.empty() && !r.HasErrorAt("waves")) r.Missing("waves", "one wave per pair of leads or per phase");
  read.sample_seconds = 1e-6 * r.Need("sample_microseconds", r.Number("sample_microseconds", {1e-4, 1e4, "us"}),
                                      "the time between two samples, 0.0001 us to 10000 us", 1.0);
  read.locked_at_same_position = r.Flag("rotor_locked_at_same_position").value_or(false);
  return read;
}

testing::BackEmfReading ReadBackEmf(const Reader& reading, const Reader& r) {
  testing::BackEmfReading read;
  constexpr const char* kVolts[] = {"u_v_volts_rms", "v_w_volts_rms", "w_u_volts_rms"};
  bool any = false;
  for (size_t i = 0; i < 3; ++i) {
    read.volts_rms[i] = r.Number(kVolts[i], {0, 50000, "V"});
    any = any || r.Has(kVolts[i]);
  }
  if (!any) r.Missing(kVolts[0], "one to three readings, line to line, rms");
  read.speed_rpm = r.Number("speed_rpm", kSpeedRpm);
  read.frequency_hz = r.Number("frequency_hz", {0.01, 10000, "Hz"});
  read.magnet_celsius = r.Celsius("magnet_temperature", -60, 200);
  read.uncertainty_ratio = Uncertainty(reading);
  return read;
}

testing::TemperatureRiseReading ReadRise(const Reader& reading, const Reader& r) {
  testing::TemperatureRiseReading read;
  read.cold_ohms = r.Need("cold_ohms", r.Number("cold_ohms", kOhms), Accepted(kOhms), 1.0);
  read.hot_ohms = r.Need("hot_ohms", r.Number("hot_ohms", kOhms), Accepted(kOhms), 1.0);
  read.cold_celsius =
      r.Need("cold_temperature", r.Celsius("cold_temperature", -60, 100), "of the cold winding, -60 C to 100 C", 20.0);
  read.coolant_celsius = r.Need("coolant_temperature", r.Celsius("coolant_temperature", -40, 80),
                                "of the coolant at the end of the run, -40 C to 80 C", 20.0);
  read.seconds_after_switch_off = r.Number("seconds_after_switch_off", {0, 36000, "s"});
  read.uncertainty_ratio = Uncertainty(reading);
  return read;
}

testing::Observation ReadObservation(const Reader& r) {
  testing::Observation seen;
  const auto kind = r.Enum<testing::TestKind>("kind");
  seen.kind = r.Need("kind", kind, "VISUAL, POLARITY, INDUCTANCE, CORE_LOSS, SENSOR or BRAKE", seen.kind);
  seen.passed = r.Need("passed", r.Flag("passed"), "whether it was as it should be", false);
  seen.note = r.Text("note");
  return seen;
}

std::optional<testing::Reading> ReadOne(const Reader& r) {
  r.Text("label", 200);
  switch (static_cast<const v1::Reading&>(r.message()).reading_case()) {
    case v1::Reading::kResistance:
      return ReadResistance(r, r.At("resistance"));
    case v1::Reading::kMegohms: {
      insulation::MegohmReading megohms = ReadMegohmReading(r.At("megohms"));
      if (megohms.uncertainty_ratio == 0) megohms.uncertainty_ratio = Uncertainty(r);
      return megohms;
    }
    case v1::Reading::kWithstand:
      return ReadWithstand(r, r.At("withstand"));
    case v1::Reading::kSurge:
      return ReadSurge(r.At("surge"));
    case v1::Reading::kBackEmf:
      return ReadBackEmf(r, r.At("back_emf"));
    case v1::Reading::kTemperatureRise:
      return ReadRise(r, r.At("temperature_rise"));
    case v1::Reading::kObservation:
      return ReadObservation(r.At("observation"));
    case v1::Reading::READING_NOT_SET:
      break;
  }
  r.Missing("resistance", "one of resistance, megohms, withstand, surge, back_emf, temperature_rise, observation");
  return std::nullopt;
}

void ReadWinding(const Reader& reader, testing::JudgeCase& c) {
  const Reader winding = reader.At("winding");
  c.connection = winding.Enum<electric::Connection>("connection").value_or(electric::Connection::kStar);
  c.metal = winding.Enum<standards::Metal>("metal").value_or(standards::Metal::kCopper);
  c.concentric = winding.EnumNumber("coil_form") == v1::COIL_FORM_CONCENTRIC;
  c.parallel_circuits = winding.Count("parallel_circuits", 1, 100);
  if (const auto turns = winding.Count("turns_per_coil", 1, 10000)) c.turns_per_coil = *turns;
  const auto slots = reader.At("machine").At("core").Count("slots", 3, 720);
  const int layers = winding.EnumNumber("layers");
  if (slots && layers == v1::LAYERS_DOUBLE) c.coils_per_phase = *slots / 3;
  if (slots && layers == v1::LAYERS_SINGLE && *slots >= 6) c.coils_per_phase = *slots / 6;
}

}  // namespace

testing::JudgeCase ReadJudgeCase(const Reader& reader) {
  testing::JudgeCase c;
  c.programme = ReadProgrammeCase(reader);
  c.winding_kind = reader.Enum<insulation::WindingKind>("winding_kind").value_or(c.winding_kind);
  ReadWinding(reader, c);
  c.programme.delta = c.connection == electric::Connection::kDelta;
  const Reader plate = reader.At("machine").At("nameplate");
  if (const auto pairs = plate.Count("pole_pairs", 1, 100)) c.poles = 2 * *pairs;
  if (const auto poles = plate.Count("poles", 2, 200)) {
    c.poles = *poles;
    if (*poles % 2 != 0) plate.Wrong("poles", absl::StrCat(*poles), "an even number, 2 to 200");
  }
  c.expected_ohms_as_measured = reader.Flag("expected_as_measured").value_or(false);
  c.plate_volts_per_krpm = ReadVoltageConstant(plate, "voltage_constant");
  c.magnets = reader.Enum<testing::MagnetMaterial>("magnet_material");
  c.magnet_percent_per_kelvin = reader.Number("magnet_percent_per_kelvin", {-0.35, 0, "%/K"});
  c.fanless = reader.Flag("fanless").value_or(false);
  c.air_celsius = reader.Celsius("air_temperature", -40, 60);
  c.relative_humidity_percent = reader.Number("relative_humidity_percent", {0, 100, "%", true});
  if (reader.Has("air_temperature") != reader.Has("relative_humidity_percent"))
    reader.Missing(reader.Has("air_temperature") ? "relative_humidity_percent" : "air_temperature",
                   "both for the dew point, or neither");
  const Reader choice = reader.At("readings_choice");
  c.shop_margin_ratio = choice.Number("shop_margin_ratio", {0, 0.5, ""}).value_or(0.0);
  c.surge_watch = choice.Number("surge_watch_ratio", {0, 1, "", true});
  if (!c.surge_watch) c.surge_watch = c.programme.shop.surge_watch_ratio;
  c.surge_act = choice.Number("surge_act_ratio", {0, 2, "", true});
  if (!c.surge_act) c.surge_act = c.programme.shop.surge_act_ratio;
  const double watch = c.surge_watch.value_or(testing::Setting("surge_watch"));
  const double act = c.surge_act.value_or(testing::Setting("surge_act"));
  if (watch > act)
    choice.Wrong("surge_watch_ratio", absl::StrCat(watch), absl::StrCat("at most the act level of ", act));
  c.surge_level_volts_peak = choice.Number("surge_level_volts_peak", {0, 1e6, "V", true});
  c.most_leakage_milliamps = choice.Number("most_leakage_milliamps", {0, 1e6, "mA", true});
  return c;
}

std::vector<testing::Reading> ReadReadings(const Reader& reader) {
  std::vector<testing::Reading> readings;
  for (const Reader& r : reader.Each("readings", 200)) {
    if (auto reading = ReadOne(r)) readings.push_back(*std::move(reading));
  }
  if (readings.empty() && !reader.HasErrorAt("readings")) reader.Missing("readings", "one or more readings");
  reader.RefuseLongTexts();
  return readings;
}

}  // namespace coilwright::rpc
