#include <cmath>

#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using standards::Band;

// Uncertainty of a constant by where it came from: measured 2 %; plates and data sheets carry about 10 % (from memory).
constexpr double kMeasuredShare = 0.02;
constexpr double kPlateShare = 0.10;

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
  const auto line_factor = [](const TurnsPlan& t) {
    return t.connection == electric::Connection::kStar ? std::sqrt(3.0) : 1.0;
  };
  ke *= turns.series_turns_per_phase / original.series_turns_per_phase * line_factor(turns) / line_factor(original);

  constants.ke_ll_rms_v_per_krpm = Around(ke, share);
  const double kt = electric::TorqueConstantNmPerArms(ke, {});
  constants.kt_nm_per_arms = Around(kt, share);
  constants.km_nm_per_sqrt_watt = {electric::MotorConstantNmPerSqrtW(kt * (1 - share), line_to_line_ohms_20c.high),
                                   electric::MotorConstantNmPerSqrtW(kt, line_to_line_ohms_20c.nominal),
                                   electric::MotorConstantNmPerSqrtW(kt * (1 + share), line_to_line_ohms_20c.low)};
  constants.no_load_rpm = electric::NoLoadRpm(turns.rated_volts, ke);
  constants.rules = {rules::electric_torque_constant, rules::electric_motor_constant, rules::plan_ke_from_flux};
  return constants;
}

}  // namespace coilwright::plan
