// Voltage, torque and motor constant of a rewound magnet machine. Kt = sqrt(3) Ke (line-to-line rms, V s/rad) from the
// power balance 3 E I = T omega; scaling at constant slot copper: derivation, Ke and Kt with turns, R with their
// square.
#include <gmock/gmock.h>

#include <cmath>

#include "plan/machines.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using electric::Connection;
using standards::Band;
using ::testing::Contains;
using ::testing::HasSubstr;

// 30 turns, 60 V per 1000 rpm, 2 ohms line to line.
Record Thirty() {
  Record record = ServoMotor();
  record.winding.turns_per_coil = 30;
  record.measured_ke_ll_rms_v_per_krpm = 60;
  record.plate.line_amps_rms = 10.0767;
  record.plate.rated_torque_nm = 10;
  return record;
}

MachineConstants After(const Record& record, const Change& change, double ohms) {
  const std::optional<MachineConstants> constants =
      ConstantsOf(record, TurnsOf(record, {}), TurnsOf(record, change), Band::Exactly(ohms));
  EXPECT_TRUE(constants.has_value());
  return constants.value_or(MachineConstants{});
}

TEST(Constants, ScaleWithTurnsAndLeaveTheMotorConstant) {
  struct Row {
    double volts, ke, kt, ohms, amps;
  };
  for (const Row& row : {Row{230, 60, 0.992392, 2, 10.0767}, Row{115, 30, 0.496196, 0.5, 20.1533},
                         Row{230 * 2 / 3.0, 40, 0.661595, 0.888889, 15.115}, Row{345, 90, 1.48859, 4.5, 6.71778}}) {
    Change change;
    change.rated_volts = row.volts;
    const MachineConstants c = After(Thirty(), change, row.ohms);
    EXPECT_NEAR(c.ke_ll_rms_v_per_krpm.nominal, row.ke, 1e-9);
    EXPECT_NEAR(c.kt_nm_per_arms.nominal, row.kt, 5e-6);
    EXPECT_NEAR(c.km_nm_per_sqrt_watt.nominal, 0.572958, 1e-6) << "copper, not turns";
    EXPECT_NEAR(*TurnsOf(Thirty(), change).line_amps_rms, row.amps, 5e-4) << "current for 10 Nm";
    EXPECT_NEAR(c.no_load_rpm, 230000 / 60.0, 1e-6) << "volts and constant move together";
  }
}

// The whole plan: same copper in the slot, so R goes with turns squared to within what the wire sizes allow.
TEST(Constants, MotorConstantOfThePlanIsKeptByTheCopper) {
  Record record = ServoMotor();
  Change change;
  change.rated_volts = 115;
  const RewindPlan plan = PlanOf(record, change);
  ASSERT_TRUE(plan.constants_planned && !plan.options.empty());
  const double area = 1 + plan.options.front().area_error_ratio;
  EXPECT_NEAR(
      plan.constants_planned->km_nm_per_sqrt_watt.nominal / plan.constants_as_recorded->km_nm_per_sqrt_watt.nominal,
      std::sqrt(area), 1e-6);
}

// The same coils from star to delta: voltage constant 1/sqrt(3), resistance 1/3, motor constant unchanged.
TEST(Constants, StarToDeltaWithTheSameCoils) {
  Change change;
  change.connection = Connection::kDelta;
  change.rated_volts = 230 / std::sqrt(3.0);
  const TurnsPlan turns = TurnsOf(Thirty(), change);
  EXPECT_EQ(turns.turns_per_coil, 30);
  const MachineConstants star = After(Thirty(), {}, 2.0);
  const MachineConstants delta = After(Thirty(), change, 2.0 / 3);
  EXPECT_NEAR(delta.ke_ll_rms_v_per_krpm.nominal / star.ke_ll_rms_v_per_krpm.nominal, 0.57735, 1e-5);
  EXPECT_NEAR(delta.km_nm_per_sqrt_watt.nominal, star.km_nm_per_sqrt_watt.nominal, 1e-12);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("third-harmonic")));
}

// 325 V to 48 V bus: 60 turns become 8.86; with six circuits 53.2 (derivation). 12 slots, 10 poles permit two: 17.7.
TEST(Constants, LowerBusByTurnsOrByCircuits) {
  Record record = Thirty();
  record.winding.turns_per_coil = 60;
  record.plate.rated_volts = 325;
  Change change;
  change.rated_volts = 48;
  TurnsPlan turns = TurnsOf(record, change);
  EXPECT_NEAR(turns.exact_turns_per_coil, 8.86154, 1e-5);
  EXPECT_EQ(turns.turns_per_coil, 9);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("magnets' flux does not move")));
  change.parallel_circuits = 2;
  turns = TurnsOf(record, change);
  EXPECT_NEAR(turns.exact_turns_per_coil, 2 * 8.86154, 1e-5);
  EXPECT_EQ(turns.turns_per_coil, 18);
  // Rounded turns move the constant, not the flux.
  const MachineConstants c = After(record, change, 1);
  EXPECT_NEAR(c.ke_ll_rms_v_per_krpm.nominal, 60 * (18 / 2.0) / 60, 1e-9);
  const RewindPlan plan = PlanOf(record, change);
  EXPECT_NEAR(plan.loading_planned.flux_webers->nominal / plan.loading_as_recorded.flux_webers->nominal, 1, 1e-9);
}

// Twice the speed on the same volts: half the turns.
TEST(Constants, ASpeedIsBoughtWithTurns) {
  Change change;
  change.speed_rpm = 6000;
  const TurnsPlan turns = TurnsOf(Thirty(), change);
  EXPECT_EQ(turns.turns_per_coil, 15);
  EXPECT_NEAR(*turns.line_amps_rms, 2 * 10.0767, 1e-9) << "the same torque takes twice the current";
  EXPECT_NEAR(After(Thirty(), change, 0.5).no_load_rpm, 2 * 230000 / 60.0, 1e-6);
  Record with_hertz = Thirty();
  with_hertz.plate.frequency_hz = 250;  // 10 poles at 3000 rpm
  EXPECT_NEAR(*TurnsOf(with_hertz, change).frequency_hz, 500, 1e-9) << "10 poles at 6000 rpm";
}

// N = 100, kw = 0.933, 1 mWb, 5 pole pairs: 59.83 V per 1000 rpm (derivation). Here 300 coil turns in three phases.
TEST(Constants, FluxFromTheVoltageConstant) {
  Record record = Thirty();
  record.winding.turns_per_coil = 25;  // 12 coils: N = 100
  record.measured_ke_ll_rms_v_per_krpm = 59.8309 * 0.9330127 / 0.933;
  EXPECT_NEAR(PlanOf(record).loading_as_recorded.flux_webers->nominal, 1e-3, 1e-8);
}

TEST(Constants, SourceDecidesTheBand) {
  Record record = Thirty();
  EXPECT_NEAR(After(record, {}, 2).ke_ll_rms_v_per_krpm.high, 61.2, 1e-9);
  record.measured_ke_ll_rms_v_per_krpm.reset();
  record.plate.ke_ll_rms_v_per_krpm = 60;
  EXPECT_NEAR(After(record, {}, 2).ke_ll_rms_v_per_krpm.high, 66, 1e-9);
  record.plate.ke_ll_rms_v_per_krpm.reset();
  record.plate.kt_nm_per_arms = 0.992392;
  EXPECT_NEAR(After(record, {}, 2).ke_ll_rms_v_per_krpm.nominal, 60, 1e-4);
  record.plate.kt_nm_per_arms.reset();
  EXPECT_FALSE(ConstantsOf(record, TurnsOf(record, {}), TurnsOf(record, {}), Band::Exactly(2)).has_value());
}

// 60 V per 1000 rpm at 20 C reads 56.0 at 80 C with -0.11 %/K (neodymium, from memory) and 52.8 with ferrite at
// -0.2 %/K. The band of the hot reading must hold the cold truth of either, and the nominal is what was read.
TEST(Constants, AHotReadingReachesTheColdTruth) {
  for (const double per_kelvin : {0.0, 0.0004, 0.0011, 0.002}) {
    Record record = Thirty();
    record.measured_ke_ll_rms_v_per_krpm = 60 * (1 - per_kelvin * 60);
    record.magnet_celsius = 80;
    const MachineConstants c = After(record, {}, 2);
    EXPECT_NEAR(c.ke_ll_rms_v_per_krpm.nominal, *record.measured_ke_ll_rms_v_per_krpm, 1e-9);
    EXPECT_LE(c.ke_ll_rms_v_per_krpm.low, 60);
    EXPECT_GE(c.ke_ll_rms_v_per_krpm.high, 60);
    EXPECT_THAT(c.rules, Contains(rules::plan_magnet_temperature));
    EXPECT_THAT(PlanOf(record).notes, Contains(HasSubstr("magnets at 80 C")));
  }
  Record cold = Thirty();
  cold.magnet_celsius = -20;
  EXPECT_LT(After(cold, {}, 2).ke_ll_rms_v_per_krpm.low, 60 * 0.98 - 1);
  cold.magnet_celsius = 24;
  EXPECT_NEAR(After(cold, {}, 2).ke_ll_rms_v_per_krpm.high, 61.2, 1e-9);
}

const testing::Step* StepOf(const RewindPlan& plan, testing::Stage stage, testing::TestKind kind) {
  for (const testing::Programme& programme : plan.programmes) {
    if (programme.stage != stage) continue;
    for (const testing::Step& step : programme.steps) {
      if (step.kind == kind && step.limit.low) return &step;
    }
  }
  return nullptr;
}

// Shop setting, no source: 5 % either way of the planned constant, or the band of a plate value.
TEST(Constants, TheReleaseTestAcceptsWhatABenchCanHold) {
  Record record = ServoMotor();
  RewindPlan plan = PlanOf(record);
  const testing::Step* step = StepOf(plan, testing::Stage::kAssembled, testing::TestKind::kBackEmf);
  ASSERT_NE(step, nullptr);
  const double ke = *record.measured_ke_ll_rms_v_per_krpm;
  EXPECT_NEAR(*step->limit.low, 0.95 * ke, 1e-9);
  EXPECT_NEAR(*step->limit.high, 1.05 * ke, 1e-9);
  EXPECT_THAT(step->rules, Contains(rules::plan_accept_voltage_constant));
  record.plate.ke_ll_rms_v_per_krpm = ke;
  record.measured_ke_ll_rms_v_per_krpm.reset();
  plan = PlanOf(record);
  EXPECT_NEAR(*StepOf(plan, testing::Stage::kAssembled, testing::TestKind::kBackEmf)->limit.low, 0.9 * ke, 1e-9);
}

// A good rewind has joins and leads: 3 % of wire and 20 milliohms more than the coils alone must pass.
TEST(Constants, ResistanceIsAcceptedAtTheTerminals) {
  const Record record = ServoMotor();
  const RewindPlan plan = PlanOf(record);
  const testing::Step* step = StepOf(plan, testing::Stage::kTreated, testing::TestKind::kWindingResistance);
  ASSERT_NE(step, nullptr);
  const Band coils = plan.options.front().resistance.front().line_to_line_ohms;
  EXPECT_EQ(*step->limit.low, coils.low);
  EXPECT_GT(*step->limit.high, coils.nominal * 1.03 + 0.020);
  EXPECT_LT(*step->limit.high, coils.nominal * 1.15) << "one wire in eight missing must not pass";
  EXPECT_THAT(step->rules, Contains(rules::plan_terminal_resistance));
}

// 8 mH at 30 turns become 2 mH at 15 and 18 mH at 45 (derivation: with turns squared).
TEST(Constants, InductanceGoesWithTheSquareOfTheTurns) {
  Record record = Thirty();
  record.inductance = MeasuredInductance{8.0, std::nullopt, 1000.0, true};
  for (const auto& [volts, text] :
       {std::pair<double, const char*>{115, "least about 2 mH"}, {345, "least about 18 mH"}}) {
    Change change;
    change.rated_volts = volts;
    for (const testing::Programme& programme : PlanOf(record, change).programmes) {
      for (const testing::Step& step : programme.steps) {
        if (step.kind != testing::TestKind::kInductance || step.left_out) continue;
        const bool rewound = programme.stage != testing::Stage::kAsReceived;
        EXPECT_EQ(step.limit.text.find(text) != std::string::npos, rewound) << step.limit.text;
      }
    }
  }
}

TEST(Constants, TheVoltageConstantIsKnownWithoutAWireInStock) {
  Record record = ServoMotor();
  WireChoice choice;
  choice.wires = {{Strand("2.5 mm grade 2", 1).wire, {}}};
  Change change;
  change.rated_volts = 115;
  const absl::StatusOr<RewindPlan> plan = MakePlan(record, change, choice, {}, {});
  ASSERT_TRUE(plan.ok()) << plan.status();
  EXPECT_TRUE(plan->options.empty());
  EXPECT_FALSE(plan->left_out.empty());
  ASSERT_TRUE(plan->constants_planned.has_value());
  const double turns = 23 / 45.0;  // 22.5 rounded
  EXPECT_NEAR(plan->constants_planned->ke_ll_rms_v_per_krpm.nominal, turns * *record.measured_ke_ll_rms_v_per_krpm,
              1e-9);
  EXPECT_NEAR(plan->constants_planned->km_nm_per_sqrt_watt.nominal,
              plan->constants_as_recorded->km_nm_per_sqrt_watt.nominal, 1e-9);
}

}  // namespace
}  // namespace coilwright::plan
