// What physics says of plans, seen through the API: closed forms, no tables.
#include <gtest/gtest.h>

#include <cmath>

#include "calls/samples.h"

namespace coilwright::calls {
namespace {

v1::PlanRewindResponse Plan(const v1::PlanRewindRequest& request) {
  v1::PlanRewindResponse plan;
  const grpc::Status status = Named("PlanRewind").body(request, &plan);
  EXPECT_TRUE(status.ok()) << status.error_message();
  return plan;
}

v1::PlanRewindRequest Induction() { return Parse<v1::PlanRewindRequest>(kInduction); }

double Ohms(const v1::WindingOption& option) { return option.resistance(0).line_to_line_ohms().nominal(); }

TEST(Physics, TwiceTheWiresInHandHalveTheResistanceAndDoubleTheCopper) {
  v1::PlanRewindRequest request = Induction();
  const auto one = Plan(request);
  request.mutable_record()->mutable_winding()->mutable_strands(0)->set_wires_in_hand(2);
  const auto two = Plan(request);
  EXPECT_NEAR(Ohms(two.as_recorded()), Ohms(one.as_recorded()) / 2, 1e-12 * Ohms(one.as_recorded()));
  EXPECT_NEAR(two.as_recorded().bare_copper_kg().nominal(), 2 * one.as_recorded().bare_copper_kg().nominal(), 1e-9);
  EXPECT_NEAR(two.as_recorded().current_density_a_per_mm2(), one.as_recorded().current_density_a_per_mm2() / 2, 1e-9);
}

// Two circuits: half the turns in series and twice the wires side by side, a quarter of the resistance.
TEST(Physics, TwoCircuitsHaveAQuarterOfTheResistance) {
  v1::PlanRewindRequest request = Induction();
  const auto one = Plan(request);
  request.mutable_record()->mutable_winding()->set_parallel_circuits(2);
  const auto two = Plan(request);
  EXPECT_NEAR(Ohms(two.as_recorded()), Ohms(one.as_recorded()) / 4, 1e-12);
  EXPECT_NEAR(two.turns().series_turns_per_phase(), one.turns().series_turns_per_phase() / 2, 1e-12);
}

// The same coils in star have two phases in series between the leads, in delta one beside two: 2 against 2/3.
TEST(Physics, DeltaHasAThirdOfTheLineToLineResistanceOfStar) {
  v1::PlanRewindRequest request = Induction();
  const auto star = Plan(request);
  request.mutable_record()->mutable_winding()->set_connection(v1::CONNECTION_DELTA);
  const auto delta = Plan(request);
  EXPECT_NEAR(Ohms(delta.as_recorded()), Ohms(star.as_recorded()) / 3, 1e-12);
}

// Turns follow the phase voltage and the inverse of the frequency, whatever the way taken.
TEST(Physics, ThereAndBackGivesTheSameExactTurns) {
  struct Change {
    double volts, hz;
    v1::Connection connection;
    int circuits;
  };
  for (const Change& there : {Change{690, 50, v1::CONNECTION_STAR, 1},
                              {400, 60, v1::CONNECTION_STAR, 1},
                              {400, 50, v1::CONNECTION_DELTA, 1},
                              {400, 50, v1::CONNECTION_STAR, 2},
                              {230, 87, v1::CONNECTION_DELTA, 4}}) {
    // Turns in the hundreds, so that rounding to whole turns between the two ways stays small.
    v1::PlanRewindRequest request = Induction();
    request.mutable_record()->mutable_winding()->set_turns_per_coil(240);
    request.mutable_record()->mutable_machine()->mutable_nameplate()->clear_speed_rpm();
    v1::WindingChange* change = request.mutable_change();
    change->set_rated_volts(there.volts);
    change->set_frequency_hz(there.hz);
    change->set_connection(there.connection);
    change->set_parallel_circuits(there.circuits);
    const auto out = Plan(request);
    const double phase = there.connection == v1::CONNECTION_STAR ? 1 : std::sqrt(3.0);
    EXPECT_NEAR(out.turns().exact_turns_per_coil(), 240 * there.volts / 400 * 50 / there.hz * phase * there.circuits,
                1e-9);
    EXPECT_EQ(out.turns().turns_per_coil(), std::lround(out.turns().exact_turns_per_coil()));

    v1::PlanRewindRequest back = request;
    v1::Nameplate* plate = back.mutable_record()->mutable_machine()->mutable_nameplate();
    plate->set_rated_volts(there.volts);
    plate->set_frequency_hz(there.hz);
    v1::Winding* winding = back.mutable_record()->mutable_winding();
    winding->set_connection(there.connection);
    winding->set_parallel_circuits(there.circuits);
    winding->set_turns_per_coil(out.turns().turns_per_coil());
    back.mutable_change()->set_rated_volts(400);
    back.mutable_change()->set_frequency_hz(50);
    back.mutable_change()->set_connection(v1::CONNECTION_STAR);
    back.mutable_change()->set_parallel_circuits(1);
    EXPECT_NEAR(Plan(back).turns().exact_turns_per_coil() / out.turns().rounding_ratio(), 240, 1e-9);
  }
}

// More turns of the same wire: resistance with turns, flux at the same voltage with the inverse.
TEST(Physics, TurnsMoveResistanceUpAndFluxDown) {
  v1::PlanRewindRequest request = Induction();
  const auto before = Plan(request);
  request.mutable_record()->mutable_winding()->set_turns_per_coil(38);
  const auto after = Plan(request);
  EXPECT_NEAR(Ohms(after.as_recorded()), 2 * Ohms(before.as_recorded()), 1e-9);
  EXPECT_NEAR(after.loading_as_recorded().flux_webers().nominal(),
              before.loading_as_recorded().flux_webers().nominal() / 2, 1e-9);
  EXPECT_NEAR(after.as_recorded().fill().fullness_ratio(), 2 * before.as_recorded().fill().fullness_ratio(), 1e-9);
}

}  // namespace
}  // namespace coilwright::calls
