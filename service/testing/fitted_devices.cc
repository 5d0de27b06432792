#include "testing/fitted_devices.h"

#include <algorithm>
#include <cmath>

#include "testing/level_tables.h"

namespace coilwright::testing {

absl::string_view FeedbackName(Feedback feedback) {
  switch (feedback) {
    case Feedback::kNone:
      break;
    case Feedback::kResolver:
      return "resolver";
    case Feedback::kIncrementalEncoder:
      return "incremental encoder";
    case Feedback::kAbsoluteEncoder:
      return "absolute encoder";
    case Feedback::kTachometer:
      return "tachometer";
    case Feedback::kHallBoard:
      return "Hall board";
  }
  return "";
}

absl::string_view SensorName(SensorKind kind) {
  switch (kind) {
    case SensorKind::kPtcThermistor:
      return "PTC thermistor";
    case SensorKind::kNtcThermistor:
      return "NTC thermistor";
    case SensorKind::kSilicon:
      return "silicon sensor";
    case SensorKind::kPlatinumRtd:
      return "platinum RTD";
    case SensorKind::kThermostat:
      return "thermostat";
    case SensorKind::kNone:
    case SensorKind::kUnknown:
      break;
  }
  return "sensor of unknown kind";
}

bool IsElectronic(Feedback feedback) {
  return feedback == Feedback::kIncrementalEncoder || feedback == Feedback::kAbsoluteEncoder ||
         feedback == Feedback::kHallBoard;
}

std::vector<WindingSensor> SensorsByKind(const FittedDevices& fitted) {
  std::vector<WindingSensor> kinds;
  for (const WindingSensor& sensor : fitted.sensors) {
    if (sensor.kind == SensorKind::kNone) continue;
    const auto same = std::find_if(kinds.begin(), kinds.end(),
                                   [&sensor](const WindingSensor& other) { return other.kind == sensor.kind; });
    if (same == kinds.end()) {
      kinds.push_back(sensor);
    } else if (!(same->ohms && same->at_celsius) && sensor.ohms && sensor.at_celsius) {
      *same = sensor;
    }
  }
  return kinds;
}

double PlatinumOhms(double ohms_at_0_celsius, double celsius) {
  return ohms_at_0_celsius * (1 + Setting("platinum_a") * celsius + Setting("platinum_b") * celsius * celsius);
}

std::optional<double> PlatinumNominal(const WindingSensor& sensor) {
  if (!sensor.ohms || !sensor.at_celsius || *sensor.at_celsius < 0 || *sensor.at_celsius > 300) return std::nullopt;
  for (const double nominal : {100.0, 1000.0}) {
    const double expected = PlatinumOhms(nominal, *sensor.at_celsius);
    if (std::abs(*sensor.ohms / expected - 1) <= 0.05) return nominal;
  }
  return std::nullopt;
}

}  // namespace coilwright::testing
