// What the physics promises of every change of every machine (derivations; the machines are made in random_machine.h).
#include <gmock/gmock.h>

#include <cmath>
#include <random>

#include "plan/machines.h"
#include "plan/random_machine.h"
#include "standards/rules.h"
#include "winding/winding.h"

namespace coilwright::plan {
namespace {

using electric::Connection;

Change RandomChange(const Record& record, const std::vector<int>& permitted, std::mt19937& random) {
  std::uniform_real_distribution<double> ratio(0.6, 1.8);
  Change change;
  if (random() % 2 == 0) change.rated_volts = record.plate.rated_volts * ratio(random);
  if (random() % 2 == 0 && record.plate.frequency_hz) change.frequency_hz = 50 * ratio(random);
  if (random() % 3 == 0) change.connection = random() % 2 == 0 ? Connection::kStar : Connection::kDelta;
  if (random() % 3 == 0) change.parallel_circuits = permitted[random() % permitted.size()];
  return change;
}

void ExpectBand(const standards::Band& band, const char* what) {
  EXPECT_TRUE(std::isfinite(band.low) && std::isfinite(band.high) && band.low > 0) << what;
  EXPECT_LE(band.low, band.nominal) << what;
  EXPECT_LE(band.nominal, band.high) << what;
}

// Line turns of a phase: series turns times winding factor, sqrt(3) for star.
double LineTurns(double coils, double turns, int circuits, double kw, Connection connection) {
  return coils * turns / 3 / circuits * kw * (connection == Connection::kStar ? std::sqrt(3.0) : 1);
}

TEST(Properties, OfEveryChange) {
  std::mt19937 random(31);
  int planned = 0;
  for (int i = 0; i < 400; ++i) {
    const Record record = RandomMachine(random);
    const std::vector<int> permitted = SummarisePattern(record)->symmetry.permitted_circuits;
    const Change change = RandomChange(record, permitted, random);
    const absl::StatusOr<RewindPlan> plan = MakePlan(record, change, OneWire(), {}, {});
    ASSERT_TRUE(plan.ok()) << plan.status();
    ++planned;
    const TurnsPlan& turns = plan->turns;
    const double coils = plan->pattern.coils, kw = plan->pattern.winding_factor;
    const double before = LineTurns(coils, *record.winding.turns_per_coil, 1, kw, record.winding.connection);
    const double after = LineTurns(coils, turns.turns_per_coil, turns.parallel_circuits, kw, turns.connection);
    EXPECT_LE(std::abs(turns.turns_per_coil - turns.exact_turns_per_coil), 0.5);
    // Copper of the slot: area times turns.
    EXPECT_NEAR(
        plan->target_area_mm2 * turns.turns_per_coil / (plan->as_recorded.area_mm2 * *record.winding.turns_per_coil), 1,
        1e-9);
    ExpectBand(plan->as_recorded.resistance[0].line_to_line_ohms, "resistance");
    ExpectBand(plan->as_recorded.bare_copper_kg, "copper");
    ExpectBand(*plan->loading_planned.flux_webers, "flux");
    const double flux = plan->loading_planned.flux_webers->nominal / plan->loading_as_recorded.flux_webers->nominal;
    if (record.kind == MachineKind::kPermanentMagnet) {
      ExpectBand(plan->constants_planned->km_nm_per_sqrt_watt, "motor constant");
      EXPECT_NEAR(flux, 1, 1e-9) << "the magnets' flux does not move";
      EXPECT_NEAR(plan->constants_planned->ke_ll_rms_v_per_krpm.nominal /
                      plan->constants_as_recorded->ke_ll_rms_v_per_krpm.nominal,
                  after / before, 1e-9);
      // Torque constant times current: the torque of the plate.
      EXPECT_NEAR(*turns.line_amps_rms * plan->constants_planned->kt_nm_per_arms.nominal /
                      (*record.plate.line_amps_rms * plan->constants_as_recorded->kt_nm_per_arms.nominal),
                  1, 1e-9);
    } else {
      EXPECT_NEAR(flux, 1 / turns.rounding_ratio, 1e-9);
      const double hertz = change.frequency_hz.value_or(50);
      // Power over speed: volts times amperes over frequency.
      EXPECT_NEAR(turns.rated_volts * *turns.line_amps_rms / hertz,
                  record.plate.rated_volts * *record.plate.line_amps_rms / 50, 1e-9 * record.plate.rated_volts * 100);
    }
    for (const absl::string_view rule : plan->rules) EXPECT_NE(standards::FindRule(rule), nullptr) << rule;
  }
  EXPECT_EQ(planned, 400);
}

// Single layer, whole belts, 24 slots, 4 poles, groups of spans 5 and 7: the distribution factor of q = 2 in every
// handbook, 0.966.
TEST(Properties, ConcentricGroupsOfASingleLayer) {
  Record record = InductionMotor();
  record.core.slots = 24;
  record.core.shape.reset();
  record.winding.form = winding::CoilForm::kConcentric;
  record.winding.layers = winding::Layers::kSingle;
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = {{{{5, 30}, {7, 30}}, 6}};
  const PatternSummary pattern = *SummarisePattern(record);
  EXPECT_NEAR(pattern.winding_factor, 0.966, 5e-4);
  EXPECT_EQ(pattern.coils, 12);
  EXPECT_EQ(TurnsOf(record, {}).turns_in_fullest_slot, 30);
}

// 27 slots, 6 poles: groups of two and one coil in turn. The groups of a phase do not lie 180 degrees apart, so their
// factor is that of the star of slots: sin 30 / (3 sin 10) of q = 3/2 times sin 80 of a mean pitch of 4 in 4.5.
TEST(Properties, ConcentricGroupsOfAFractionalWinding) {
  Record record = InductionMotor();
  record.core.slots = 27;
  record.plate.poles = 6;
  record.plate.speed_rpm.reset();
  record.core.shape.reset();
  record.winding.form = winding::CoilForm::kConcentric;
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = {{{{3, 20}, {5, 20}}, 9}, {{{4, 20}}, 9}};
  const PatternSummary pattern = *SummarisePattern(record);
  const double z = 3;  // numerator of q = 3/2
  const double kd = std::sin(kPi / 6) / (z * std::sin(kPi / 6 / z)), kp = std::sin(kPi / 2 * 4 / 4.5);
  EXPECT_NEAR(pattern.winding_factor, kd * kp, 1e-9);
  EXPECT_THAT(pattern.rules, ::testing::Contains(rules::winding_factor));
}

}  // namespace
}  // namespace coilwright::plan
