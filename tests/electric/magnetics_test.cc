#include "electric/magnetics.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "electric/plausible.h"
#include "standards/errors.h"

namespace coilwright::electric {
namespace {

Core CoreOf(double bore_mm, double length_mm, int poles) {
  Core core;
  core.bore_mm = bore_mm;
  core.length_mm = length_mm;
  core.poles = poles;
  core.slots = 36;
  return core;
}

FluxDensities In(const Core& core, double flux_webers) {
  const absl::StatusOr<FluxDensities> densities = Densities(core, flux_webers);
  EXPECT_TRUE(densities.ok()) << densities.status();
  return densities.value_or(FluxDensities{});
}

// Sawhney, A Course in Electrical Machine Design, Ex 11.14 p11.40: 336 slots of 4 conductors, 2 circuits, 2400 V star,
// 60 Hz, kw 0.95: printed 0.049 Wb, 0.04888 recomputed. The turns are those of one circuit.
TEST(FluxWebers, OfAMachineWithTwoCircuits) {
  EXPECT_NEAR(FluxWebers(2400 / std::sqrt(3.0), 60, 336 * 4 / 6.0 / 2, 0.95), 0.0488849, 1e-3 * 0.0489);
}

// Sawhney Ex 11.32 p11.58: 2 poles, 22 kV, 54 slots of 2 conductors, 2 circuits, kw 0.92, bore 1.3 m, length 6 m: 0.565
// T.
TEST(Densities, OfATurbogenerator) {
  const double flux = FluxWebers(22000 / std::sqrt(3.0), 50, 54 * 2 / 6.0 / 2, 0.92);
  EXPECT_NEAR(In(CoreOf(1300, 6000, 2), flux).air_gap_mean_teslas, 0.565, 2e-3);
}

// Sawhney Ex 6.1 p6.10: 350 kW, 500 V, 450 rpm, 6 poles, lap, 660 conductors, bore 0.87 m, length 0.32 m: 0.693 T.
TEST(Densities, OfACommutatorMachine) {
  const double flux = 500 * 60.0 / (660 * 450);
  EXPECT_NEAR(In(CoreOf(870, 320, 6), flux).air_gap_mean_teslas, 0.693, 1e-3);
}

// McPherson, Introduction to Electrical Machines and Transformers, Ex 2.1 p15: radius 0.15 m, length 0.25 m, 6 poles,
// peak 0.96 T: 0.024 Wb.
TEST(Densities, OfASineField) { EXPECT_NEAR(In(CoreOf(300, 250, 6), 0.024).air_gap_peak_teslas, 0.96, 1e-9); }

// By hand: 204 turns, kw 0.945214, 230.94 V, 50 Hz, bore 110 mm, length 120 mm, 4 poles: 0.005391 Wb, 0.8169 T peak;
// tooth of 5 mm and back iron of 16 mm at 0.95 stacking.
TEST(Densities, OfASmallInductionMotor) {
  const double flux = FluxWebers(230.94, 50, 204, 0.945214);
  EXPECT_NEAR(flux, 0.005391, 5e-7);
  Core core = CoreOf(110, 120, 4);
  core.tooth_width_mm = 5;
  core.back_iron_mm = 16;
  const FluxDensities densities = In(core, flux);
  EXPECT_NEAR(densities.air_gap_peak_teslas, 0.8169, 1e-4);
  EXPECT_NEAR(densities.tooth_teslas, 0.8169 * 9.5993 / (5 * 0.95), 1e-3);
  EXPECT_NEAR(densities.back_iron_teslas, 0.005391 / (2 * 0.016 * 0.120 * 0.95), 1e-3);
  EXPECT_NEAR(EmfVoltsRms(50, 204, 0.945214, flux), 230.94, 1e-9);
}

TEST(Densities, RefuseWhatIsNoCore) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto wrong = [](const Core& core, double flux) {
    std::vector<std::string> fields;
    for (const auto& error : standards::FieldErrorsOf(Densities(core, flux).status())) fields.push_back(error.field);
    return fields;
  };
  using testing::ElementsAre;
  EXPECT_THAT(wrong(CoreOf(0, 0, 0), 0), ElementsAre("bore_mm", "length_mm", "poles", "flux_webers"));
  EXPECT_THAT(wrong(CoreOf(nan, 1e9, 5), nan), ElementsAre("bore_mm", "length_mm", "poles", "flux_webers"));
  Core core = CoreOf(110, 120, 4);
  core.stacking_factor = 1.01;
  core.back_iron_mm = -1;
  core.tooth_width_mm = 9.7;  // slot pitch 9.6 mm
  EXPECT_THAT(wrong(core, -0.01),
              testing::UnorderedElementsAre("stacking_factor", "back_iron_mm", "tooth_width_mm", "flux_webers"));
  core = CoreOf(110, 120, 4);
  core.tooth_width_mm = 9.5;
  EXPECT_THAT(wrong(core, 0.005), testing::IsEmpty());
  core.slots = 0;
  EXPECT_THAT(wrong(core, 0.005), ElementsAre("slots"));
  core.tooth_width_mm = 0;
  EXPECT_THAT(wrong(core, 100), testing::IsEmpty());
}

// Common practice, from memory: 0.82..0.93 below about 1 kW, 0.95..0.98 above.
TEST(EmfShare, GoesBySizeWithoutAJump) {
  EXPECT_NEAR(EmfShare(0.12).low, 0.82, 1e-12);
  EXPECT_NEAR(EmfShare(0.5).high, 0.93, 1e-12);
  EXPECT_NEAR(EmfShare(2).low, 0.95, 1e-12);
  EXPECT_NEAR(EmfShare(1e9).high, 0.98, 1e-12);
  standards::Band before = EmfShare(0.05);
  for (double kw = 0.05; kw < 5; kw *= 1.01) {
    const standards::Band share = EmfShare(kw);
    EXPECT_GE(share.low, before.low);
    EXPECT_LT(share.low - before.low, 0.002);
    EXPECT_NEAR(share.nominal, (share.low + share.high) / 2, 1e-12);
    before = share;
  }
  for (double unknown : {0.0, -1.0, std::numeric_limits<double>::quiet_NaN()}) {
    EXPECT_EQ(EmfShare(unknown).low, 0.82);
    EXPECT_EQ(EmfShare(unknown).high, 0.98);
  }
}

// 1 circular mil is pi/4 (0.0254 mm)^2; circular mils per ampere against A/mm2, by GNU units.
TEST(CurrentDensity, InBothUnits) {
  for (const auto& [cmil_per_amp, a_per_mm2] : {std::pair{200, 9.86763},
                                                {250, 7.89410},
                                                {350, 5.63864},
                                                {400, 4.93381},
                                                {500, 3.94705},
                                                {600, 3.28921},
                                                {700, 2.81932}}) {
    EXPECT_NEAR(CmilPerAmp(a_per_mm2), cmil_per_amp, 1e-5 * cmil_per_amp);
  }
}

TEST(CurrentDensity, SharesTheCurrentAmongCircuitsAndPhases) {
  EXPECT_DOUBLE_EQ(CurrentDensityAPerMm2(10, Connection::kStar, 2, 1), 5);
  EXPECT_NEAR(CurrentDensityAPerMm2(10, Connection::kDelta, 1, 1 / std::sqrt(3.0)),
              CurrentDensityAPerMm2(10, Connection::kStar, 1, 1), 1e-12);
}

// Sawhney: 3.5 A/mm2 in Ex 6.8, 4.3 A/mm2 in Ex 11.10; air gap 0.42 to 0.58 T in the worked examples.
TEST(Plausible, HoldsTheValuesOfWorkedExamples) {
  const PlausibleRange density = Plausible(Loading::kCurrentDensityAPerMm2, MachineKind::kInduction);
  EXPECT_LE(density.low, 3.5);
  EXPECT_GE(density.high, 4.3);
  const PlausibleRange gap = Plausible(Loading::kAirGapMeanTeslas, MachineKind::kInduction);
  EXPECT_LE(gap.low, 0.42);
  EXPECT_GE(gap.high, 0.58);
  for (int loading = 0; loading <= static_cast<int>(Loading::kElectricLoadingAPerM); ++loading) {
    for (MachineKind machine : {MachineKind::kInduction, MachineKind::kPermanentMagnet}) {
      const PlausibleRange range = Plausible(static_cast<Loading>(loading), machine);
      EXPECT_GT(range.low, 0);
      EXPECT_GT(range.high, range.low);
      EXPECT_FALSE(range.rule.empty());
    }
  }
}

}  // namespace
}  // namespace coilwright::electric
