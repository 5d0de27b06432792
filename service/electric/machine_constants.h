#pragma once

#include "absl/strings/string_view.h"
#include "standards/rule_ids.h"

namespace coilwright::electric {

// Every function here takes finite, positive arguments; callers check what a person entered. Sinusoidal emf. Constants
// are taken at the lines, so star and delta give the same; "phase" is a terminal to the star point, for a delta winding
// the star point of the equivalent star.

// On what a voltage constant is stated. All four parts are needed to compare two of them.
enum class VoltagePoint { kLineToLine, kPhase };  // phase: winding terminal to star point
enum class VoltageMeasure { kRms, kPeak };
enum class SpeedUnit { kRadPerSec, kThousandRpm };

struct VoltageConstantBasis {
  VoltagePoint point = VoltagePoint::kLineToLine;
  VoltageMeasure measure = VoltageMeasure::kRms;
  SpeedUnit speed = SpeedUnit::kThousandRpm;
};

// The same constant on another basis (sinusoidal emf; mechanical speed).
double ConvertVoltageConstant(double value, const VoltageConstantBasis& from, const VoltageConstantBasis& to);

inline constexpr absl::string_view kVoltageConstantRule = rules::electric_voltage_constant;

// Torque constant in Nm per ampere rms of line current, from a voltage constant on any basis:
// Kt = sqrt(3) * Ke(line-to-line rms, per rad/s). Sine drive, no reluctance torque, friction and saturation left out.
double TorqueConstantNmPerArms(double value, const VoltageConstantBasis& basis);

// Km = Kt / sqrt(1.5 R_LL), Nm per sqrt(W) of copper loss; Kt per A rms line, R line-to-line. Star or delta.
double MotorConstantNmPerSqrtW(double kt_nm_per_arms, double line_to_line_ohms);

// No-load speed in rpm at a line-to-line rms voltage, losses left out.
double NoLoadRpm(double line_to_line_volts_rms, double ke_ll_rms_v_per_krpm);

}  // namespace coilwright::electric
