#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"

// What is fitted to a machine beside its winding: each kind has its own way to be kept from a test voltage and its own
// check.
namespace coilwright::testing {

enum class Feedback { kNone, kResolver, kIncrementalEncoder, kAbsoluteEncoder, kTachometer, kHallBoard };
enum class SensorKind { kNone, kPtcThermistor, kNtcThermistor, kSilicon, kPlatinumRtd, kThermostat, kUnknown };

struct WindingSensor {
  SensorKind kind = SensorKind::kUnknown;
  std::optional<double> ohms, at_celsius;  // as recorded
};

struct FittedBrake {
  std::optional<double> rated_volts_dc, coil_ohms;
  bool rectifier = false;
};

struct FittedHeater {
  std::optional<double> volts, watts;  // plate
};

struct FittedDevices {
  Feedback feedback = Feedback::kNone;
  std::vector<WindingSensor> sensors;
  std::optional<FittedBrake> brake;
  std::optional<FittedHeater> heater;
  bool surge_parts = false;  // varistors, capacitors at the terminals
};

absl::string_view FeedbackName(Feedback feedback);  // "resolver", "Hall board"; empty for none
absl::string_view SensorName(SensorKind kind);      // "PTC thermistor"

// Semiconductors inside. A resolver is a transformer, a tachometer a small generator; they come off all the same.
bool IsElectronic(Feedback feedback);

// One sensor of each kind, in the order recorded; a sensor of no kind is left out, one with a reading is preferred.
std::vector<WindingSensor> SensorsByKind(const FittedDevices& fitted);

// Platinum resistance R0 (1 + A t + B t^2) of IEC 60751, t from 0 to 300 C; its class B tolerance is 0.3 K + 0.005 t.
double PlatinumOhms(double ohms_at_0_celsius, double celsius);

// Resistance at 0 C, 100 or 1000 ohms, of an element that read this; absent where the reading is more than 5 % off
// both.
std::optional<double> PlatinumNominal(const WindingSensor& sensor);

}  // namespace coilwright::testing
