#include "standards/conductors.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "standards/gnu_units.h"
#include "standards/rules.h"
#include "standards/units.h"

namespace coilwright::standards {
namespace {

constexpr ConductorPreset kPresets[] = {ConductorPreset::kIec60034, ConductorPreset::kIeee112,
                                        ConductorPreset::kIec60851};

double Ratio(ConductorPreset preset, Metal metal, double from, double to) {
  const auto ratio = ResistanceRatio(preset, metal, from, to);
  EXPECT_TRUE(ratio.ok()) << ratio.status();
  return ratio.value_or(0);
}

TEST(Conductors, PublishedTemperatureConversions) {
  const auto copper = [](double from, double to) { return Ratio(ConductorPreset::kIeee112, Metal::kCopper, from, to); };
  // Langsdorf, Theory of Alternating Current Machinery, example 1-15, p. 33: 504 W at 20 C is 612.9 W at 75 C (234.5).
  EXPECT_NEAR(504 * copper(20, 75), 612.9, 0.05);
  // Public solved problem: 80 ohm at 20 C, 100 ohm hot, rise 63.63 K with 234.5.
  EXPECT_NEAR(80 * copper(20, 20 + 63.625), 100, 1e-9);
  // Robertson, Fundamental Electrical and Electronic Principles, example 1.18, p. 23: 250 ohm at 15 C is 280.2 ohm at
  // 45 C with 0.00428 at 0 C, a K of 233.6; hence 0.1 %.
  EXPECT_NEAR(250 * copper(15, 45), 280.2, 0.28);
  // Thyagarajan et al., Engineering Basics, example 1.2, p. 5: 1.5 ohm at 27 C is 1.575 at 40 C (0.0043 at 0 C).
  EXPECT_NEAR(1.5 * copper(27, 40), 1.575, 0.001);
  // Kulshreshtha, Basic Electrical Engineering, example 2.18, p. 32: 3.42 ohm at 20 C, 4.22 ohm at 79.59 C (0.00426).
  EXPECT_NEAR(3.42 * copper(20, 79.59), 4.22, 0.002);
  // The coefficient of IEC 60028 at 20 C is 0.00393, 1/(234.5 + 20) to its figures.
  EXPECT_NEAR(copper(20, 21) - 1, 0.00393, 5e-6);
}

// The constants as quoted: a UL product standard prints 234.5 for copper and 225.0 for EC aluminium; IEC 60034-1 has
// 235 (from memory); IEC 60851-5 gives coefficients 3.96e-3 and 4.07e-3 at 20 C.
TEST(Conductors, ConstantsOfEachStandard) {
  EXPECT_DOUBLE_EQ(Constants(ConductorPreset::kIeee112, Metal::kCopper).zero_resistance_kelvin, 234.5);
  EXPECT_DOUBLE_EQ(Constants(ConductorPreset::kIeee112, Metal::kAluminium).zero_resistance_kelvin, 225);
  EXPECT_DOUBLE_EQ(Constants(ConductorPreset::kIec60034, Metal::kCopper).zero_resistance_kelvin, 235);
  EXPECT_DOUBLE_EQ(Constants(ConductorPreset::kIec60034, Metal::kAluminium).zero_resistance_kelvin, 225);
  EXPECT_NEAR(Ratio(ConductorPreset::kIec60851, Metal::kCopper, 20, 25), 1 + 5 * 3.96e-3, 1e-12);
  EXPECT_NEAR(Ratio(ConductorPreset::kIec60851, Metal::kAluminium, 20, 15), 1 - 5 * 4.07e-3, 1e-12);
  for (ConductorPreset preset : kPresets) {
    for (Metal metal : {Metal::kCopper, Metal::kAluminium}) {
      EXPECT_NE(FindRule(Constants(preset, metal).rule), nullptr);
      EXPECT_FALSE(Constants(preset, metal).preset_name.empty());
    }
  }
}

TEST(Conductors, ThereAndBackIsTheIdentity) {
  for (ConductorPreset preset : kPresets) {
    for (double to : {15.0, 18.5, 25.0}) {
      EXPECT_NEAR(Ratio(preset, Metal::kCopper, 20, to) * Ratio(preset, Metal::kCopper, to, 20), 1, 1e-14);
    }
  }
  double last = 0;
  for (double to = -60; to <= 300; to += 10) {
    const double ratio = Ratio(ConductorPreset::kIec60034, Metal::kCopper, 20, to);
    EXPECT_GT(ratio, last);
    last = ratio;
  }
}

TEST(Conductors, RefuseTemperaturesOutsideTheRule) {
  const auto code = [](ConductorPreset preset, double from, double to) {
    return ResistanceRatio(preset, Metal::kCopper, from, to).status().code();
  };
  EXPECT_EQ(code(ConductorPreset::kIec60034, -60, 300), absl::StatusCode::kOk);
  EXPECT_EQ(code(ConductorPreset::kIec60034, -60.1, 20), absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(code(ConductorPreset::kIec60034, 20, 300.1), absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(code(ConductorPreset::kIec60851, 15, 25), absl::StatusCode::kOk);
  EXPECT_EQ(code(ConductorPreset::kIec60851, 20, 25.1), absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(code(ConductorPreset::kIec60851, 14.9, 20), absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(code(ConductorPreset::kIec60034, 20, std::nan("")), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(ResistanceRatio(ConductorPreset::kIec60851, Metal::kCopper, 20, 30).status().message()),
              ::testing::HasSubstr("30 C"));
}

TEST(Conductors, ResistivityAndDensityOfGnuUnits) {
  const Band iacs = ResistivityOhmMm2PerM(Resistivity::kIacs, Metal::kCopper);
  EXPECT_NEAR(iacs.nominal, GnuUnits("1/copperconductivity", "ohm mm^2/m"), 1e-12);
  EXPECT_NEAR(DensityKgPerM3(Metal::kCopper), GnuUnits("copperdensity", "kg/m^3"), 1e-9);
  // GNU units rounds aluminium to 2.7 g/cm3; IEC 60889 says 2.703.
  EXPECT_NEAR(DensityKgPerM3(Metal::kAluminium), GnuUnits("aluminumdensity", "kg/m^3"), 5);
  EXPECT_NEAR(kMm2PerCmil, GnuUnits("circularmil", "mm^2"), 1e-14);
  // Textbooks print 10.4 ohm cmil/ft for copper (Grob, p. 340) and 17 for aluminium.
  const double per_cmil_foot = kMetresPerFoot / kMm2PerCmil;
  EXPECT_NEAR(iacs.nominal * per_cmil_foot, 10.4, 0.05);
  EXPECT_NEAR(ResistivityOhmMm2PerM(Resistivity::kIacs, Metal::kAluminium).nominal * per_cmil_foot, 17.0, 0.05);
}

TEST(Conductors, ResistivityLimitsContainTheNominal) {
  for (Resistivity which : {Resistivity::kIecWindingWire, Resistivity::kNemaWire, Resistivity::kIacs}) {
    for (Metal metal : {Metal::kCopper, Metal::kAluminium}) {
      const Band rho = ResistivityOhmMm2PerM(which, metal);
      EXPECT_LE(rho.low, rho.nominal);
      EXPECT_LE(rho.nominal, rho.high);
      EXPECT_NE(FindRule(ResistivityRule(which, metal)), nullptr);
    }
  }
  // IEC 60317-0-1 (from memory, fits 63 printed resistances): 1/58.5 with 1/59 and 1/58.
  const Band winding = ResistivityOhmMm2PerM(Resistivity::kIecWindingWire, Metal::kCopper);
  EXPECT_DOUBLE_EQ(winding.low, 1 / 59.0);
  EXPECT_DOUBLE_EQ(winding.nominal, 1 / 58.5);
  EXPECT_DOUBLE_EQ(winding.high, 1 / 58.0);
}

}  // namespace
}  // namespace coilwright::standards
