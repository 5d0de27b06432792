#include <cmath>

#include "absl/strings/str_format.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using standards::Band;

// Uncertainty of a constant by where it came from: measured 2 %; plates and data sheets carry about 10 % (from memory).
constexpr double kMeasuredShare = 0.02;
constexpr double kPlateShare = 0.10;

// Magnets lose emf with heat: neodymium about 0.1 %, ferrite about 0.2 % per kelvin (from memory).
constexpr double kMostMagnetSharePerKelvin = 0.002;
constexpr double kSameMagnetKelvin = 5.0;

Band Around(double value, double share) { return {value * (1 - share), value, value * (1 + share)}; }

}  // namespace

std::optional<MachineConstants> ConstantsOf(const Record& record, const TurnsPlan& original, const TurnsPlan& turns,
                                            const Band& line_to_line_ohms_20c) {
  if (record.kind != MachineKind::kPermanentMagnet) return std::nullopt;
  MachineConstants constants;
  double ke = 0;
  double share = kPlateShare;
  if (record.measured_ke_ll_rms_v_per_krpm) {
    ke = *record.measured_ke_ll_rms_v_per_krpm;
    share = kMeasuredShare;
    constants.ke_source = "measured";
  } else if (record.plate.ke_ll_rms_v_per_krpm) {
    ke = *record.plate.ke_ll_rms_v_per_krpm;
    constants.ke_source = "plate";
  } else if (record.plate.kt_nm_per_arms) {
    ke = *record.plate.kt_nm_per_arms / electric::TorqueConstantNmPerArms(1.0, {});
    constants.ke_source = "torque constant on the plate";
  } else {
    return std::nullopt;
  }
  ke *= LineTurnsRatio(original, turns);

  constants.ke_ll_rms_v_per_krpm = Around(ke, share);
  const std::optional<double> magnet_celsius =
      record.measured_ke_ll_rms_v_per_krpm ? record.magnet_celsius : std::nullopt;
  if (magnet_celsius && std::abs(*magnet_celsius - 20.0) > kSameMagnetKelvin) {
    // Which magnets they are is not recorded, so the value stays as measured and its band reaches what it may be at 20
    // C.
    const double at_20 = 1.0 / (1.0 - kMostMagnetSharePerKelvin * (*magnet_celsius - 20.0));
    Band& band = constants.ke_ll_rms_v_per_krpm;
    (at_20 > 1.0 ? band.high : band.low) *= at_20;
    constants.ke_source = absl::StrFormat("measured with the magnets at %.0f C", *magnet_celsius);
    constants.rules.push_back(rules::plan_magnet_temperature);
  }
  const Band& band = constants.ke_ll_rms_v_per_krpm;
  const auto kt = [](double volts) { return electric::TorqueConstantNmPerArms(volts, {}); };
  constants.kt_nm_per_arms = {kt(band.low), kt(band.nominal), kt(band.high)};
  constants.km_nm_per_sqrt_watt = {
      electric::MotorConstantNmPerSqrtW(constants.kt_nm_per_arms.low, line_to_line_ohms_20c.high),
      electric::MotorConstantNmPerSqrtW(constants.kt_nm_per_arms.nominal, line_to_line_ohms_20c.nominal),
      electric::MotorConstantNmPerSqrtW(constants.kt_nm_per_arms.high, line_to_line_ohms_20c.low)};
  constants.no_load_rpm = electric::NoLoadRpm(turns.rated_volts, ke);
  constants.rules.insert(constants.rules.end(),
                         {rules::electric_torque_constant, rules::electric_motor_constant, rules::plan_ke_from_flux});
  return constants;
}

}  // namespace coilwright::plan
