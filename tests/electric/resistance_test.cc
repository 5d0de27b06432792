#include "electric/resistance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "electric/copper.h"
#include "standards/errors.h"
#include "standards/units.h"

namespace coilwright::electric {
namespace {

using standards::Band;
using standards::ConductorPreset;
using standards::Resistivity;

WindingCopper Copper(double coils, double turns, int circuits, double mean_turn_m, double area_mm2) {
  WindingCopper copper;
  copper.coils = coils;
  copper.turns_per_coil = turns;
  copper.circuits = circuits;
  copper.mean_turn_m = Band::Exactly(mean_turn_m);
  copper.strand_area_mm2 = Band::Exactly(area_mm2);
  return copper;
}

WindingResistance At(const WindingCopper& copper, double celsius) {
  const absl::StatusOr<WindingResistance> resistance = PredictResistance(copper, celsius);
  EXPECT_TRUE(resistance.ok()) << resistance.status();
  return resistance.value_or(WindingResistance{});
}

// One turn of one metre in one coil per phase has the resistance of a metre of wire. Ohm per km at 20 C of a public AWG
// table; the diameters are the exact gauge formula 0.005 in x 92^((36 - n)/39), which the table follows to 0.05 %.
TEST(PredictResistance, OfAMetreOfWireIsThatOfTheGaugeTable) {
  for (const auto& [gauge, ohms_per_km] : {std::pair{22, 52.939}, {24, 84.198}, {26, 133.857}, {28, 212.872}}) {
    const double diameter_mm = 0.127 * std::pow(92, (36 - gauge) / 39.0);
    WindingCopper copper = Copper(3, 1, 1, 1, standards::CircleAreaMm2(diameter_mm));
    copper.resistivity = Resistivity::kIacs;
    EXPECT_NEAR(1000 * At(copper, 20).phase_ohms.nominal, ohms_per_km, 5e-4 * ohms_per_km) << gauge;
  }
}

// Books take 0.021 ohm mm2/m for hot copper; the ratio to our resistivity at that temperature carries the rest of the
// formula over: Sawhney, A Course in Electrical Machine Design, Ex 9.12 p9.49 (150 slots x 8 conductors, mean turn 2.5
// m, 25 mm2, 6 paths, 600 A: 21 V) and Theraja, Electrical Technology, Ex 26.17 (220 turns of 0.004 ohm in 4 paths:
// 0.055 ohm).
TEST(PredictResistance, DividesByTheSquareOfTheCircuits) {
  const double at_20 =
      standards::ResistivityOhmMm2PerM(Resistivity::kIecWindingWire, standards::Metal::kCopper).nominal;
  const double sawhney = At(Copper(150 * 3, 4, 6, 2.5, 25), 20).phase_ohms.nominal * 0.021 / at_20;
  EXPECT_NEAR(sawhney * 600, 21, 1e-6);
  const double theraja = At(Copper(220 * 3, 1, 4, 1, at_20 / 0.004), 20).phase_ohms.nominal;
  EXPECT_NEAR(theraja, 0.055, 1e-9);
}

// Langsdorf, Theory of Alternating-Current Machinery, Ex 1-15 p33: 504 W at 20 C are 613 W at 75 C with 234.5.
TEST(PredictResistance, RisesWithTemperature) {
  WindingCopper copper = Copper(36, 34, 1, 0.507, 0.79);
  copper.preset = ConductorPreset::kIeee112;
  const double ratio = At(copper, 75).phase_ohms.nominal / At(copper, 20).phase_ohms.nominal;
  EXPECT_NEAR(504 * ratio, 613, 0.5);
  double before = 0;
  for (double celsius : {-40.0, 0.0, 20.0, 25.0, 75.0, 155.0, 300.0}) {
    const double ohms = At(copper, celsius).phase_ohms.nominal;
    EXPECT_GT(ohms, before);
    before = ohms;
  }
}

TEST(PredictResistance, HalvesWithTwiceTheStrands) {
  const double one = At(Copper(36, 34, 1, 0.507, 0.4), 40).phase_ohms.nominal;
  EXPECT_NEAR(At(Copper(36, 34, 1, 0.507, 0.8), 40).phase_ohms.nominal, one / 2, 1e-12);
  EXPECT_NEAR(At(Copper(36, 34, 2, 0.507, 0.4), 40).phase_ohms.nominal, one / 4, 1e-12);
  EXPECT_NEAR(At(Copper(36, 68, 1, 0.507, 0.4), 40).phase_ohms.nominal, one * 2, 1e-12);
}

// An equal motor in delta has sqrt(3) turns of 1/sqrt(3) area: three times the phase resistance, the same at the lines.
TEST(PredictResistance, IsTheSameAtTheLinesForStarAndDelta) {
  const WindingResistance star = At(Copper(36, 20, 1, 0.5, 1), 20);
  WindingCopper copper = Copper(36, 20 * std::sqrt(3.0), 1, 0.5, 1 / std::sqrt(3.0));
  copper.connection = Connection::kDelta;
  const WindingResistance delta = At(copper, 20);
  EXPECT_NEAR(delta.phase_ohms.nominal, 3 * star.phase_ohms.nominal, 1e-12);
  EXPECT_NEAR(delta.line_to_line_ohms.nominal, star.line_to_line_ohms.nominal, 1e-12);
  EXPECT_NEAR(star.line_to_line_ohms.nominal, 2 * star.phase_ohms.nominal, 1e-12);
}

// Root sum of squares by hand: mean turn +-4 %, wire +-3 % of area and a resistivity taken as exact would give about 5
// %.
TEST(PredictResistance, CombinesTolerancesAsIndependent) {
  WindingCopper copper = Copper(36, 34, 1, 0.5, 1);
  const Band alone = At(copper, 20).phase_ohms;
  copper.mean_turn_m = {0.48, 0.5, 0.52};
  copper.strand_area_mm2 = {0.97, 1, 1.03};
  const Band both = At(copper, 20).phase_ohms;
  const double wire_low = 1 - alone.low / alone.nominal, wire_high = alone.high / alone.nominal - 1;
  EXPECT_NEAR(both.low / both.nominal, 1 - std::sqrt(wire_low * wire_low + 0.04 * 0.04 + std::pow(1 - 1 / 1.03, 2)),
              1e-12);
  EXPECT_NEAR(both.high / both.nominal, 1 + std::sqrt(wire_high * wire_high + 0.04 * 0.04 + std::pow(1 / 0.97 - 1, 2)),
              1e-12);
  EXPECT_DOUBLE_EQ(both.nominal, alone.nominal);
  // IEC 60317-0-1: winding wire between 1/59 and 1/58 around 1/58.5.
  EXPECT_NEAR(alone.low / alone.nominal, 58.5 / 59, 1e-9);
  EXPECT_NEAR(alone.high / alone.nominal, 58.5 / 58, 1e-9);
}

TEST(PredictResistance, RefusesWhatIsNoWinding) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto wrong = [](const WindingCopper& copper) {
    std::vector<std::string> fields;
    for (const auto& error : standards::FieldErrorsOf(PredictResistance(copper, 20).status()))
      fields.push_back(error.field);
    return fields;
  };
  using testing::ElementsAre;
  EXPECT_THAT(wrong(Copper(0, 0, 0, 0, 0)),
              ElementsAre("coils", "turns_per_coil", "mean_turn_m", "circuits", "strand_area_mm2"));
  EXPECT_THAT(wrong(Copper(nan, nan, 121, nan, nan)),
              ElementsAre("coils", "turns_per_coil", "mean_turn_m", "circuits", "strand_area_mm2"));
  EXPECT_THAT(wrong(Copper(1e9, 1e9, -1, 1e9, 1e9)),
              ElementsAre("coils", "turns_per_coil", "mean_turn_m", "circuits", "strand_area_mm2"));
  EXPECT_THAT(wrong(Copper(35, 34, 1, 0.5, 1)), ElementsAre("coils"));
  WindingCopper upside_down = Copper(36, 34, 1, 0.5, 1);
  upside_down.mean_turn_m = {0.52, 0.5, 0.48};
  upside_down.strand_area_mm2 = {nan, 1, 1};
  EXPECT_THAT(wrong(upside_down), ElementsAre("mean_turn_m", "strand_area_mm2"));
  EXPECT_THAT(wrong(Copper(720, 10000, 120, 50, 1e4)), testing::IsEmpty());
  EXPECT_THAT(wrong(Copper(3, 0.5, 1, 0.005, 1e-5)), testing::IsEmpty());
  for (double celsius : {nan, -1e9, 1e9}) {
    EXPECT_EQ(PredictResistance(Copper(36, 34, 1, 0.5, 1), celsius).status().code(),
              absl::StatusCode::kFailedPrecondition);
  }
}

TEST(LineToLine, GoesThereAndBack) {
  for (Connection connection : {Connection::kStar, Connection::kDelta}) {
    EXPECT_DOUBLE_EQ(PhaseFromLineToLine(connection, LineToLineFromPhase(connection, 0.85)), 0.85);
  }
  EXPECT_DOUBLE_EQ(LineToLineFromPhase(Connection::kStar, 1), 2);
  EXPECT_DOUBLE_EQ(LineToLineFromPhase(Connection::kDelta, 3), 2);
}

// By hand: 1.00, 1.02, 1.04 ohm; in delta 1.47151 in parallel with 1.52922 + 1.59163 is 1.0000 again.
TEST(PhaseValues, FromThreeReadings) {
  const auto star = PhaseValues(Connection::kStar, {1.00, 1.02, 1.04});
  ASSERT_TRUE(star.ok());
  EXPECT_THAT(*star, testing::Pointwise(testing::DoubleNear(1e-9), {0.510, 0.490, 0.530}));
  const auto delta = PhaseValues(Connection::kDelta, {1.00, 1.02, 1.04});
  ASSERT_TRUE(delta.ok());
  EXPECT_THAT(*delta, testing::Pointwise(testing::DoubleNear(6e-6), {1.47151, 1.52922, 1.59163}));
}

TEST(PhaseValues, MakeTheReadingsAgain) {
  for (const std::array<double, 3>& readings :
       {std::array<double, 3>{1, 1, 1}, {1.00, 1.02, 1.04}, {0.2, 0.35, 0.5}, {1e-3, 2e-3, 1.5e-3}}) {
    const auto [u, v, w] = *PhaseValues(Connection::kStar, readings);
    EXPECT_NEAR(u + v, readings[0], 1e-12);
    EXPECT_NEAR(v + w, readings[1], 1e-12);
    EXPECT_NEAR(w + u, readings[2], 1e-12);
    const auto [uv, vw, wu] = *PhaseValues(Connection::kDelta, readings);
    EXPECT_NEAR(uv * (vw + wu) / (uv + vw + wu), readings[0], 1e-12);
    EXPECT_NEAR(vw * (wu + uv) / (uv + vw + wu), readings[1], 1e-12);
    EXPECT_NEAR(wu * (uv + vw) / (uv + vw + wu), readings[2], 1e-12);
  }
}

TEST(PhaseValues, RefusesReadingsNoWindingGives) {
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  for (const std::array<double, 3>& readings : {std::array<double, 3>{1, 1, 2},
                                                {1, 1, 2.5},
                                                {0, 0, 0},
                                                {-1, -1, -1},
                                                {nan, 1, 1},
                                                {inf, inf, inf},
                                                {1, inf, 1},
                                                {1e10, 1e10, 1e10}}) {
    for (Connection connection : {Connection::kStar, Connection::kDelta}) {
      const absl::Status status = PhaseValues(connection, readings).status();
      ASSERT_EQ(standards::FieldErrorsOf(status).size(), 1u) << status;
      EXPECT_EQ(standards::FieldErrorsOf(status)[0].field, "line_to_line_ohms");
    }
  }
  EXPECT_TRUE(PhaseValues(Connection::kStar, {1, 1, 1.999}).ok());
}

// A phase 5 % high shows as 1.64 % at the lines of a star, 1.61 % of a delta (by hand).
TEST(Unbalance, IsTheGreatestDeviationFromTheMean) {
  EXPECT_NEAR(UnbalancePercent({2.00, 2.05, 2.05}), 1.64, 5e-3);
  EXPECT_NEAR(UnbalancePercent({0.6721, 0.6721, 0.6885}), 1.61, 1e-2);
  EXPECT_DOUBLE_EQ(UnbalancePercent({1, 1, 1}), 0);
  EXPECT_NEAR(UnbalancePercent({0.98, 1.00, 1.02}), 2, 1e-9);
}

// 8890 x coils x turns x wires x area x mean turn, by hand.
TEST(CopperKg, OfThreeWindings) {
  EXPECT_NEAR(CopperKg(Copper(36, 34, 1, 0.5072, 2 * standards::CircleAreaMm2(0.71))).nominal, 4.370, 5e-4);
  EXPECT_NEAR(CopperKg(Copper(36, 22, 1, 0.330, 3 * standards::CircleAreaMm2(0.50))).nominal, 1.3686, 5e-4);
  EXPECT_NEAR(CopperKg(Copper(12, 60, 1, 0.172, standards::CircleAreaMm2(0.60))).nominal, 0.3113, 5e-5);
}

// Resistance and mass tell the mean turn and the area apart: R m = rho gamma (T C)^2 MLT^2 / (3 a^2).
TEST(CopperKg, TimesResistanceDoesNotKnowTheArea) {
  const auto product = [](double area) {
    const WindingCopper copper = Copper(36, 34, 2, 0.507, area);
    return CopperKg(copper).nominal * At(copper, 20).phase_ohms.nominal;
  };
  EXPECT_NEAR(product(0.4), product(1.7), 1e-12);
}

}  // namespace
}  // namespace coilwright::electric
