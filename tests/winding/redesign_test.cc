#include "winding/redesign.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "electric/magnetics.h"
#include "standards/errors.h"
#include "winding/winding.h"

namespace coilwright::winding {
namespace {

using electric::Connection;

// 36 slots, 4 poles, throw 1-9, 400 V 50 Hz star, one circuit: what a case does not change.
Side Usual() { return {400, 50, Connection::kStar, 1, 0.945214, 36, 1}; }

Rescaled From(double turns, const Side& from, const Side& to) {
  const absl::StatusOr<Rescaled> rescaled = RescaledTurns(turns, from, to);
  EXPECT_TRUE(rescaled.ok()) << rescaled.status();
  return rescaled.value_or(Rescaled{});
}

// Each line of the trade's table of changes, by hand from E = sqrt(2) pi f N kw phi.
TEST(RescaledTurns, FollowVoltageAndFrequency) {
  Side from = Usual(), to = Usual();
  from.line_volts = 230;
  to.line_volts = 460;
  EXPECT_DOUBLE_EQ(From(24, from, to).exact_turns, 48);
  EXPECT_DOUBLE_EQ(From(24, from, to).strand_area_ratio, 0.5);

  from = to = Usual();
  to.frequency_hz = 60;
  EXPECT_NEAR(From(40, from, to).exact_turns, 33.3333, 5e-5);

  from.line_volts = 380;
  to.line_volts = 440;
  EXPECT_NEAR(From(40, from, to).exact_turns, 38.5965, 5e-5);

  from = to = Usual();
  to.line_volts = 480;
  to.frequency_hz = 60;
  EXPECT_DOUBLE_EQ(From(40, from, to).exact_turns, 40);  // volts and hertz in proportion: same winding
}

TEST(RescaledTurns, FollowCircuitsAndConnection) {
  Side from = Usual(), to = Usual();
  to.circuits = 2;
  EXPECT_DOUBLE_EQ(From(12, from, to).exact_turns, 24);

  from.circuits = 4;
  to.circuits = 1;
  const Rescaled rounded = From(15, from, to);
  EXPECT_DOUBLE_EQ(rounded.exact_turns, 3.75);
  EXPECT_EQ(rounded.whole_turns, 4);
  EXPECT_DOUBLE_EQ(rounded.rounding_flux_ratio, 0.9375);
  EXPECT_DOUBLE_EQ(rounded.achieved_flux_ratio, 0.9375);

  from = to = Usual();
  to.connection = Connection::kDelta;
  EXPECT_NEAR(From(20, from, to).exact_turns, 34.641, 5e-4);
  EXPECT_NEAR(From(52, to, from).exact_turns, 30.0222, 5e-5);
}

TEST(RescaledTurns, FollowPitchPolesAndLayers) {
  Side from = Usual(), to = Usual();
  from.winding_factor = *WindingFactor({36, 4, 8});
  to.winding_factor = *WindingFactor({36, 4, 7});
  EXPECT_NEAR(From(18, from, to).exact_turns, 18.8642, 5e-5);

  // 4 to 6 poles at the same air-gap density: the flux per pole falls to 4/6.
  to.winding_factor = *WindingFactor({36, 6, 5});
  to.flux_ratio = 4.0 / 6;
  EXPECT_NEAR(From(10, from, to).exact_turns, 15.1962, 5e-5);

  from = to = Usual();
  from.coils = 24;
  from.winding_factor = *WindingFactor({24, 4, 5});
  to.coils = 12;
  to.winding_factor = *WindingFactor({24, 4, 5, Layers::kSingle, CoilForm::kChain});
  const Rescaled single = From(22, from, to);
  EXPECT_NEAR(single.exact_turns, 42.50, 5e-3);
  EXPECT_THAT(single.whole_turns, testing::AnyOf(42, 43));
}

// Everything at once, by hand: 2 star, 15 turns, throw 1-9, 380 V 50 Hz to 1 delta, throw 1-8, 460 V 60 Hz.
TEST(RescaledTurns, FollowSeveralChangesAtOnce) {
  const Side from = {380, 50, Connection::kStar, 2, 0.945214, 36, 1};
  const Side to = {460, 60, Connection::kDelta, 1, 0.901912, 36, 1};
  const Rescaled rescaled = From(15, from, to);
  EXPECT_NEAR(rescaled.exact_turns, 13.73, 5e-3);
  EXPECT_EQ(rescaled.whole_turns, 14);
  EXPECT_NEAR(rescaled.achieved_flux_ratio, 0.981, 5e-4);
}

// A servo motor for another bus: 325 V to 48 V, 60 turns; with six circuits instead of one.
TEST(RescaledTurns, FollowALowerBus) {
  Side from = Usual(), to = Usual();
  from.line_volts = 325;
  to.line_volts = 48;
  EXPECT_NEAR(From(60, from, to).exact_turns, 8.86154, 5e-6);
  to.circuits = 6;
  EXPECT_NEAR(From(60, from, to).exact_turns, 53.1692, 5e-5);
}

TEST(RescaledTurns, ThereAndBackAreTheIdentity) {
  const Side one = {380, 50, Connection::kStar, 2, 0.945214, 36, 1};
  for (const Side& other :
       {Side{460, 60, Connection::kDelta, 1, 0.901912, 36, 0.9}, Side{48, 400, Connection::kStar, 4, 0.933, 18, 1.1},
        Side{1, 1, Connection::kDelta, 120, 1e-3, 720, 10}}) {
    for (double turns : {0.5, 1.0, 15.0, 217.0}) {
      const absl::StatusOr<Rescaled> there = RescaledTurns(turns, one, other);
      ASSERT_TRUE(there.ok()) << there.status();
      if (there->exact_turns > 10000) continue;
      EXPECT_NEAR(From(there->exact_turns, other, one).exact_turns, turns, 1e-9 * turns);
    }
  }
}

// The exact turns give the flux that was asked for, by the emf equation taken separately.
TEST(RescaledTurns, GiveTheFluxAskedFor) {
  const Side from = {380, 50, Connection::kStar, 2, 0.945214, 36, 1};
  const Side to = {460, 60, Connection::kDelta, 1, 0.901912, 18, 0.85};
  const auto flux = [](const Side& side, double turns) {
    const double volts = side.connection == Connection::kStar ? side.line_volts / std::sqrt(3.0) : side.line_volts;
    return electric::FluxWebers(volts, side.frequency_hz, SeriesTurnsPerPhase(side.coils, turns, side.circuits),
                                side.winding_factor);
  };
  const Rescaled rescaled = From(15, from, to);
  EXPECT_NEAR(flux(to, rescaled.exact_turns) / flux(from, 15), 0.85, 1e-12);
  EXPECT_NEAR(flux(to, rescaled.whole_turns) / flux(from, 15), rescaled.achieved_flux_ratio, 1e-12);
}

TEST(RescaledTurns, RiseWithTheVoltageAndNeverReachZero) {
  const Side from = Usual();
  double before = 0;
  for (double volts : {1.0, 2.0, 48.0, 400.0, 15000.0, 50000.0}) {
    Side to = Usual();
    to.line_volts = volts;
    const Rescaled rescaled = From(20, from, to);
    EXPECT_GT(rescaled.exact_turns, before);
    EXPECT_GE(rescaled.whole_turns, 1);
    before = rescaled.exact_turns;
  }
}

TEST(RescaledTurns, RefuseWhatNoWindingHas) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  Side wrong = {nan, -50, Connection::kStar, 0, 1.01, 35, 0};
  const absl::Status status = RescaledTurns(-3, Usual(), wrong).status();
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
  EXPECT_THAT(fields, testing::ElementsAre("turns_per_coil", "to.line_volts", "to.frequency_hz", "to.circuits",
                                           "to.winding_factor", "to.coils", "to.flux_ratio"));
  for (double turns : {0.0, nan, -1.0, 10000.1, 1e9, std::numeric_limits<double>::infinity()}) {
    EXPECT_FALSE(RescaledTurns(turns, Usual(), Usual()).ok()) << turns;
  }
  EXPECT_TRUE(RescaledTurns(10000, Usual(), Usual()).ok());
  const Side greatest = {50000, 1, Connection::kDelta, 120, 1e-6, 3, 0.001};
  EXPECT_FALSE(RescaledTurns(10000, Usual(), greatest).ok());
}

}  // namespace
}  // namespace coilwright::winding
