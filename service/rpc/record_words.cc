#include "rpc/record_words.h"

#include <algorithm>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "enum_text.h"
#include "print/figures.h"
#include "words.h"

namespace coilwright::rpc {
namespace {

using print::Figures;

std::string Known(bool has, double value, const char* unit) {
  return has ? absl::StrCat(Figures(value, 5), " ", unit) : "";
}

std::string Joined(std::vector<std::string> parts) {
  parts.erase(std::remove(parts.begin(), parts.end(), std::string()), parts.end());
  return absl::StrJoin(parts, ", ");
}

std::string PowerWords(const v1::Power& power) {
  switch (power.as_read_case()) {
    case v1::Power::kKw:
      return Known(true, power.kw(), "kW");
    case v1::Power::kWatts:
      return Known(true, power.watts(), "W");
    case v1::Power::kHp:
      return Known(true, power.hp(), "hp");
    default:
      return "";
  }
}

}  // namespace

std::string LeadWords(const v1::Lead& lead) {
  return Joined({lead.pin().empty() ? "" : absl::StrCat("pin ", lead.pin()), lead.colour()});
}

std::string LengthWords(const v1::Length& length) {
  switch (length.as_read_case()) {
    case v1::Length::kMm:
      return Known(true, length.mm(), "mm");
    case v1::Length::kInches:
      return Known(true, length.inches(), "in");
    case v1::Length::kMils:
      return Known(true, length.mils(), "mil");
    case v1::Length::kMetres:
      return Known(true, length.metres(), "m");
    case v1::Length::kFeet:
      return Known(true, length.feet(), "ft");
    default:
      return "";
  }
}

std::string StepWords(const v1::TestStep& step) {
  const std::string level = step.has_test_volts() ? LevelWords(step.test_volts(), step.volts_shape()) : "";
  const bool figures = step.limit().has_low() || step.limit().has_high();
  std::string words = Joined({level, figures || level.empty() ? LimitWords(step.limit()) : ""});
  if (!words.empty()) return words;
  return step.kind() == v1::TEST_KIND_VISUAL ? "look" : "note";
}

FactList MachineFacts(const v1::Machine& machine) {
  const v1::Nameplate& plate = machine.nameplate();
  const v1::FittedDevices& fitted = machine.fitted();
  std::vector<std::string> devices;
  if (fitted.feedback() > v1::FEEDBACK_KIND_NONE) devices.push_back(EnumText(fitted.feedback()));
  if (fitted.has_brake())
    devices.push_back(
        absl::StrCat("brake ", Known(fitted.brake().has_rated_volts_dc(), fitted.brake().rated_volts_dc(), "V dc")));
  for (const v1::ThermalSensor& sensor : fitted.thermal_sensors()) {
    if (sensor.kind() > v1::THERMAL_SENSOR_KIND_NONE)
      devices.push_back(Joined({EnumText(sensor.kind()), sensor.place(), sensor.polarity()}));
  }
  return {{"Kind", EnumText(machine.kind())},
          {"On its plate", PlateWords(plate)},
          {"Rated",
           Joined({Known(plate.has_rated_volts(), plate.rated_volts(), "V"),
                   Known(plate.has_line_amps_rms(), plate.line_amps_rms(), "A rms"),
                   Known(plate.has_line_amps_peak(), plate.line_amps_peak(), "A peak"), PowerWords(plate.rated_power()),
                   Known(plate.has_rated_torque_nm(), plate.rated_torque_nm(), "Nm"),
                   Known(plate.has_speed_rpm(), plate.speed_rpm(), "rpm"),
                   Known(plate.has_frequency_hz(), plate.frequency_hz(), "Hz")})},
          {"Thermal class", plate.thermal_class()},
          {"Fitted", absl::StrJoin(devices, "; ")},
          {"Feedback sat at", Joined({fitted.feedback_alignment().marks(), fitted.feedback_alignment().method(),
                                      Known(fitted.feedback_alignment().has_electrical_degrees(),
                                            fitted.feedback_alignment().electrical_degrees(), "degrees electrical")})}};
}

FactList CoilRoomFacts(const v1::Machine& machine, const print::Units& /*units*/) {
  const v1::CoilHeads& heads = machine.coil_heads();
  const v1::Slot& slot = machine.slot();
  return {{"Heads, connection end", LengthWords(heads.extension_connection_end())},
          {"Heads, other end", LengthWords(heads.extension_opposite_end())},
          {"End bell leaves", LengthWords(heads.extension_limit())},
          {"Heads, outer diameter", LengthWords(heads.outer_diameter())},
          {"Heads, inner diameter", LengthWords(heads.inner_diameter())},
          {"Bore", LengthWords(machine.core().bore_diameter())},
          {"Stack", LengthWords(machine.core().stack_length())},
          {"Slot opening", LengthWords(slot.opening_width())},
          {"Liner, one wall", LengthWords(slot.liner_thickness())},
          {"Separator", LengthWords(slot.separator_thickness())},
          {"Wedge, height", LengthWords(slot.wedge_height())}};
}

}  // namespace coilwright::rpc
