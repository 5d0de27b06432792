#include "electric/machine_constants.h"

#include <gtest/gtest.h>

#include <cmath>

#include "electric/magnetics.h"
#include "electric/resistance.h"

namespace coilwright::electric {
namespace {

constexpr VoltageConstantBasis kLineRms = {VoltagePoint::kLineToLine, VoltageMeasure::kRms, SpeedUnit::kThousandRpm};
constexpr VoltageConstantBasis kLineRmsSi = {VoltagePoint::kLineToLine, VoltageMeasure::kRms, SpeedUnit::kRadPerSec};
constexpr VoltageConstantBasis kLinePeak = {VoltagePoint::kLineToLine, VoltageMeasure::kPeak, SpeedUnit::kThousandRpm};
constexpr VoltageConstantBasis kPhaseRms = {VoltagePoint::kPhase, VoltageMeasure::kRms, SpeedUnit::kThousandRpm};
constexpr VoltageConstantBasis kPhasePeak = {VoltagePoint::kPhase, VoltageMeasure::kPeak, SpeedUnit::kThousandRpm};

// From the power balance 3 E I = T w: Nm per ampere for 1 V/krpm on each basis.
TEST(TorqueConstant, OnEveryBasis) {
  EXPECT_NEAR(TorqueConstantNmPerArms(1, kLineRms), 0.0165399, 1e-7);
  EXPECT_NEAR(TorqueConstantNmPerArms(60, kLineRms), 0.992392, 1e-6);
  EXPECT_NEAR(TorqueConstantNmPerArms(1, kLinePeak), 0.0116955, 1e-7);
  EXPECT_NEAR(TorqueConstantNmPerArms(1, kLinePeak) / std::sqrt(2.0), 0.00826993, 1e-8);  // per ampere peak
  EXPECT_NEAR(TorqueConstantNmPerArms(1, kPhaseRms), 0.028648, 1e-6);
  EXPECT_NEAR(TorqueConstantNmPerArms(1, kPhasePeak) / std::sqrt(2.0), 0.014324, 1e-6);
  EXPECT_NEAR(TorqueConstantNmPerArms(1, kLineRmsSi), 1.73205, 1e-5);
}

TEST(TorqueConstant, BalancesThePower) {
  const double ke_si = ConvertVoltageConstant(60, kLineRms, kLineRmsSi);
  const double omega = 314, amps = 7;
  EXPECT_NEAR(TorqueConstantNmPerArms(60, kLineRms) * amps * omega, std::sqrt(3.0) * ke_si * omega * amps, 1e-9);
}

TEST(VoltageConstant, GoesThereAndBackBetweenAllBases) {
  EXPECT_NEAR(ConvertVoltageConstant(1, kLineRms, kLineRmsSi), 0.0095493, 1e-7);
  EXPECT_NEAR(ConvertVoltageConstant(1, kLineRms, kPhasePeak), std::sqrt(2.0 / 3), 1e-12);
  for (const auto& from : {kLineRms, kLineRmsSi, kLinePeak, kPhaseRms, kPhasePeak}) {
    for (const auto& to : {kLineRms, kLineRmsSi, kLinePeak, kPhaseRms, kPhasePeak}) {
      EXPECT_NEAR(ConvertVoltageConstant(ConvertVoltageConstant(60, from, to), to, from), 60, 1e-12);
      EXPECT_NEAR(TorqueConstantNmPerArms(ConvertVoltageConstant(60, from, to), to), TorqueConstantNmPerArms(60, from),
                  1e-12);
    }
  }
}

// 100 turns, kw 0.933, 1 mWb, 5 pole pairs: at 1000 rpm 83.33 Hz and 59.83 V line to line, by hand.
TEST(VoltageConstant, FollowsFromTurnsAndFlux) {
  EXPECT_NEAR(std::sqrt(3.0) * EmfVoltsRms(1000 * 5 / 60.0, 100, 0.933, 0.001), 59.8309, 1e-4);
}

// Turns times k at the same slot copper: Ke and Kt times k, R times k^2, Km and the loss for a torque unchanged.
TEST(MotorConstant, DoesNotKnowTheTurns) {
  struct Rewind {
    double ke, line_to_line_ohms, kt, amps_for_10_nm;
  };
  for (const Rewind& r : {Rewind{60, 2, 0.992392, 10.0767},
                          {30, 0.5, 0.496196, 20.1533},
                          {40, 0.888889, 0.661595, 15.115},
                          {90, 4.5, 1.48859, 6.71778}}) {
    const double kt = TorqueConstantNmPerArms(r.ke, kLineRms);
    EXPECT_NEAR(kt, r.kt, 5e-6);
    EXPECT_NEAR(10 / kt, r.amps_for_10_nm, 5e-4);
    EXPECT_NEAR(MotorConstantNmPerSqrtW(kt, r.line_to_line_ohms), 0.572958, 1e-6);
    EXPECT_NEAR(1.5 * std::pow(10 / kt, 2) * r.line_to_line_ohms, 304.617, 1e-3);
    EXPECT_NEAR(std::pow(10 / MotorConstantNmPerSqrtW(kt, r.line_to_line_ohms), 2), 304.617, 1e-3);
  }
}

// The same coils reconnected from star to delta: resistance at the lines a third, Ke over sqrt(3), Km the same.
TEST(MotorConstant, IsTheSameInStarAndDelta) {
  const double star_ohms = LineToLineFromPhase(Connection::kStar, 1),
               delta_ohms = LineToLineFromPhase(Connection::kDelta, 1);
  EXPECT_NEAR(delta_ohms / star_ohms, 1.0 / 3, 1e-12);
  const double star = MotorConstantNmPerSqrtW(TorqueConstantNmPerArms(60, kLineRms), star_ohms);
  const double delta = MotorConstantNmPerSqrtW(TorqueConstantNmPerArms(60 / std::sqrt(3.0), kLineRms), delta_ohms);
  EXPECT_NEAR(star, delta, 1e-12);
}

// Hot magnets and hot copper, 20 to 100 C (NdFeB -0.11 %/K, copper by 0.393 %/K, both from memory): Km times 0.795.
TEST(MotorConstant, FallsWithTemperature) {
  EXPECT_NEAR(MotorConstantNmPerSqrtW(0.912, 1.3144) / MotorConstantNmPerSqrtW(1, 1), 0.795483, 1e-5);
}

// Burman, Special Electrical Machines, Ex 4.1 p216: 0.12 V s/rad on 48 V runs at 3819 rpm; Ex 4.5 p218: 120 V at 6000
// rpm, so 60 V give 3000 rpm without load.
TEST(NoLoadSpeed, OfPrintedMotors) {
  const double v_per_krpm = ConvertVoltageConstant(0.12, kLineRmsSi, kLineRms);
  EXPECT_NEAR(NoLoadRpm(48, v_per_krpm), 3819.7, 0.1);
  EXPECT_NEAR(NoLoadRpm(60, 20), 3000, 1e-9);
}

}  // namespace
}  // namespace coilwright::electric
