#include "electric/machine_constants.h"

#include <cmath>

#include "standards/units.h"

namespace coilwright::electric {
namespace {

// What to multiply a constant on `basis` with to have it line-to-line rms in V s/rad.
double ToLineRmsPerRadian(const VoltageConstantBasis& basis) {
  double factor = 1;
  if (basis.point == VoltagePoint::kPhase) factor *= std::sqrt(3.0);
  if (basis.measure == VoltageMeasure::kPeak) factor /= std::sqrt(2.0);
  if (basis.speed == SpeedUnit::kThousandRpm) factor /= 1000 * standards::kRadPerSecPerRpm;
  return factor;
}

}  // namespace

double ConvertVoltageConstant(double value, const VoltageConstantBasis& from, const VoltageConstantBasis& to) {
  return value * ToLineRmsPerRadian(from) / ToLineRmsPerRadian(to);
}

double TorqueConstantNmPerArms(double value, const VoltageConstantBasis& basis) {
  return std::sqrt(3.0) * value * ToLineRmsPerRadian(basis);
}

double MotorConstantNmPerSqrtW(double kt_nm_per_arms, double line_to_line_ohms) {
  return kt_nm_per_arms / std::sqrt(1.5 * line_to_line_ohms);
}

double NoLoadRpm(double line_to_line_volts_rms, double ke_ll_rms_v_per_krpm) {
  return 1000 * line_to_line_volts_rms / ke_ll_rms_v_per_krpm;
}

}  // namespace coilwright::electric
