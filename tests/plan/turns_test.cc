// Turns for changed data. Expected values: derivation from the emf equation, T2 = T1 (E2/E1)(f1/f2)(a2/a1), unless a
// published example is named.
#include <gmock/gmock.h>

#include <cmath>
#include <random>

#include "plan/machines.h"
#include "standards/errors.h"

namespace coilwright::plan {
namespace {

using electric::Connection;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

Record Induction(int turns, double volts, double hertz, int circuits = 1, Connection connection = Connection::kStar) {
  Record record = InductionMotor();
  record.winding.turns_per_coil = turns;
  record.winding.parallel_circuits = circuits;
  record.winding.connection = connection;
  record.plate.rated_volts = volts;
  record.plate.frequency_hz = hertz;
  record.plate.speed_rpm.reset();
  return record;
}

struct Vector {
  const char* what;
  Record record;
  Change change;
  double exact_turns;
  int turns;
};

std::vector<Vector> Vectors() {
  Change volts_460, volts_440_60, sixty, two, one, delta, star;
  volts_460.rated_volts = 460;
  volts_440_60.rated_volts = 440;
  volts_440_60.frequency_hz = 60;
  sixty.frequency_hz = 60;
  two.parallel_circuits = 2;
  one.parallel_circuits = 1;
  delta.connection = Connection::kDelta;
  star.connection = Connection::kStar;
  Change everything;  // 2Y 380 V 50 Hz to 1 delta 460 V 60 Hz, same throw
  everything.rated_volts = 460;
  everything.frequency_hz = 60;
  everything.connection = Connection::kDelta;
  everything.parallel_circuits = 1;
  return {
      {"230 to 460 V", Induction(24, 230, 50), volts_460, 48, 48},
      {"50 to 60 Hz", Induction(40, 400, 50), sixty, 33.3333333333, 33},
      {"380 V 50 Hz to 440 V 60 Hz", Induction(40, 380, 50), volts_440_60, 38.5964912281, 39},
      {"one to two circuits", Induction(12, 400, 50), two, 24, 24},
      {"four circuits to one", Induction(15, 400, 50, 4), one, 3.75, 4},
      {"star to delta", Induction(20, 400, 50), delta, 34.6410161514, 35},
      {"delta to star", Induction(52, 400, 50, 1, Connection::kDelta), star, 30.0222139979, 30},
      {"everything at once", Induction(15, 380, 50, 2), everything, 15 * (460 / (380 / std::sqrt(3.0))) * 50 / 60 / 2,
       13},
  };
}

TEST(Turns, FollowTheEmfEquation) {
  for (const Vector& v : Vectors()) {
    const TurnsPlan turns = TurnsOf(v.record, v.change);
    EXPECT_NEAR(turns.exact_turns_per_coil, v.exact_turns, 1e-9 * v.exact_turns) << v.what;
    EXPECT_EQ(turns.turns_per_coil, v.turns) << v.what;
    EXPECT_NEAR(turns.rounding_ratio, v.turns / v.exact_turns, 1e-9) << v.what;
  }
}

// The flux of the new winding by E / (sqrt(2) pi f N kw), computed here, against the flux of the old one.
TEST(Turns, RoundingMovesTheFluxOfAnInductionMotorByItsInverse) {
  for (const Vector& v : Vectors()) {
    Record record = v.record;
    record.core.bore_mm.reset();  // other voltages on this core are no sound machine: only the flux is asked for
    const RewindPlan plan = PlanOf(record, v.change);
    const double ratio = plan.loading_planned.flux_webers->nominal / plan.loading_as_recorded.flux_webers->nominal;
    EXPECT_NEAR(ratio, v.exact_turns / v.turns, 1e-9) << v.what;
  }
}

// 2-circuit delta of a 115 V 4-circuit star: 132.8 V (one-equation reconnection).
TEST(Turns, AReconnectionNeedsNoRewind) {
  Change change;
  change.rated_volts = 460;
  change.parallel_circuits = 1;
  const TurnsPlan one_star = TurnsOf(Induction(20, 230, 60, 2), change);
  EXPECT_EQ(one_star.turns_per_coil, 20);
  EXPECT_THAT(one_star.notes, Contains(HasSubstr("joined anew")));
  change.rated_volts = 115 * 2 / std::sqrt(3.0);
  change.parallel_circuits = 2;
  change.connection = Connection::kDelta;
  EXPECT_NEAR(TurnsOf(Induction(20, 115, 60, 4), change).exact_turns_per_coil, 20, 1e-9);
  change.rated_volts = 460 / std::sqrt(3.0);
  change.parallel_circuits = 1;
  EXPECT_NEAR(TurnsOf(Induction(20, 460, 60), change).exact_turns_per_coil, 20, 1e-9);
}

TEST(Turns, ThereAndBackIsTheIdentityOnExactTurns) {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> volts(100, 690), hertz(40, 400);
  for (int i = 0; i < 200; ++i) {
    Record record = Induction(30, volts(random), hertz(random));
    Change there;
    there.rated_volts = volts(random);
    there.frequency_hz = hertz(random);
    there.connection = i % 2 == 0 ? Connection::kDelta : Connection::kStar;
    there.parallel_circuits = i % 3 == 0 ? 4 : 2;
    const TurnsPlan out = TurnsOf(record, there);
    Change back;
    back.rated_volts = record.plate.rated_volts;
    back.frequency_hz = record.plate.frequency_hz;
    back.connection = record.winding.connection;
    back.parallel_circuits = 1;
    Record other =
        Induction(1000, *there.rated_volts, *there.frequency_hz, *there.parallel_circuits, *there.connection);
    const TurnsPlan home = TurnsOf(other, back);
    EXPECT_NEAR(out.exact_turns_per_coil / 30 * home.exact_turns_per_coil / 1000, 1, 1e-9);
  }
}

// Hubert, Electric Machines, ch. 5: a motor that runs at 1770 rpm on 60 Hz runs at 1470 rpm on 50 Hz (slip 30 rpm).
TEST(Turns, SpeedFollowsTheFrequencyWithTheSameSlipInRpm) {
  Record record = Induction(20, 460, 60);
  record.plate.speed_rpm = 1770;
  Change change;
  change.frequency_hz = 50;
  const TurnsPlan turns = TurnsOf(record, change);
  EXPECT_NEAR(*turns.speed_rpm, 1470, 1e-9);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("1470 rpm")));
}

// At the torque of the plate: a doubled voltage halves the current; 60 for 50 Hz at the same volts has 5/6 of the turns
// and needs 6/5 of the current for the same ampere-turns, so that the current density stays.
TEST(Turns, TheCurrentIsThatOfTheSameTorque) {
  Change volts, hertz, circuits;
  volts.rated_volts = 800;
  hertz.frequency_hz = 60;
  circuits.parallel_circuits = 2;
  const Record record = Induction(36, 400, 50);
  EXPECT_NEAR(*TurnsOf(record, volts).line_amps_rms, 3.2, 1e-12);
  EXPECT_NEAR(*TurnsOf(record, hertz).line_amps_rms, 6.4 * 1.2, 1e-12);
  EXPECT_NEAR(*TurnsOf(record, circuits).line_amps_rms, 6.4, 1e-12);
  EXPECT_THAT(TurnsOf(record, hertz).notes, Contains(HasSubstr("output is 1.2 times")));
  for (const Change& change : {volts, hertz, circuits}) {
    const TurnsPlan turns = TurnsOf(record, change);
    // Ampere-turns of a phase: what heats the slot.
    EXPECT_NEAR(*turns.line_amps_rms * turns.series_turns_per_phase, 6.4 * 36 * 12, 1e-6);
  }
}

TEST(Turns, CurrentDensityStaysWhereTurnsComeOutWhole) {
  Change hertz;
  hertz.frequency_hz = 60;
  Record record = Induction(18, 400, 50);
  const RewindPlan plan = PlanOf(record, hertz);
  ASSERT_FALSE(plan.options.empty());
  const double before = *plan.as_recorded.current_density_a_per_mm2;
  const Option& first = plan.options.front();
  EXPECT_NEAR(*first.current_density_a_per_mm2 / before, 1 / (1 + first.area_error_ratio), 1e-9);
}

TEST(Turns, APeakCurrentAloneIsTakenAsPeak) {
  Record record = InductionMotor();
  record.plate.line_amps_rms.reset();
  record.plate.line_amps_peak = 6.4 * std::sqrt(2.0);
  EXPECT_NEAR(*TurnsOf(record, {}).line_amps_rms, 6.4, 1e-12);
  const double with_peak = *PlanOf(record).as_recorded.current_density_a_per_mm2;
  EXPECT_NEAR(with_peak, 6.4 / BareMm2(record), 1e-9);  // star, one circuit
}

TEST(Turns, OnlyMoreCircuitsGiveFinerSteps) {
  Change change;
  change.parallel_circuits = 1;
  EXPECT_THAT(TurnsOf(Induction(15, 400, 50, 4), change).notes, Contains(HasSubstr("(2 or 4)")));
  Change most;
  most.rated_volts = 390;
  most.parallel_circuits = 4;
  EXPECT_THAT(TurnsOf(Induction(2, 690, 50, 4), most).notes, Not(Contains(HasSubstr("finer"))));
}

TEST(Turns, RefuseWhatTheMachineCannotTake) {
  Record servo = ServoMotor();
  const PatternSummary pattern = *SummarisePattern(servo);
  Change change;
  change.frequency_hz = 60;
  change.parallel_circuits = 3;
  const absl::StatusOr<TurnsPlan> refused = PlanTurns(servo, pattern, change);
  std::vector<std::string> fields;
  for (const auto& error : standards::FieldErrorsOf(refused.status())) fields.push_back(error.field);
  EXPECT_THAT(fields, ::testing::UnorderedElementsAre("change.frequency_hz", "change.parallel_circuits"));
  Change far;
  far.rated_volts = 1;
  EXPECT_FALSE(PlanTurns(servo, pattern, far).ok());  // a fifth of a turn
}

// Concentric groups. The group 8/14/17 on spans 4/6/8 in 36 slots, 4 poles is a made-up example; its effective turns
// are 8 sin 40 + 14 sin 60 + 17 sin 80 = 34.008 (derivation: coils of a group share one axis).
Record Concentric() {
  Record record = InductionMotor();
  record.winding.form = winding::CoilForm::kConcentric;
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = {{{{4, 8}, {6, 14}, {8, 17}}, 12}};
  record.resistance.reset();
  record.mass.reset();
  return record;
}

double Effective(const std::vector<CoilGroup>& groups) {
  double sum = 0;
  for (const GroupCoil& coil : groups[0].coils) sum += coil.turns * std::sin(kPi / 2 * coil.span_slots / 9);
  return sum;
}

TEST(Turns, GroupsKeepTheirEffectiveTurns) {
  const Record record = Concentric();
  EXPECT_NEAR(Effective(record.winding.groups), 34.008, 5e-4);
  EXPECT_NEAR(SummarisePattern(record)->winding_factor, 34.008 / 39, 5e-5);
  for (double volts = 90; volts < 900; volts += 7) {
    Change change;
    change.rated_volts = volts;
    const TurnsPlan turns = TurnsOf(record, change);
    const double exact = Effective(record.winding.groups) * volts / 400;
    EXPECT_NEAR(turns.rounding_ratio, Effective(turns.groups) / exact, 1e-9) << volts;
    // Within half the lightest coil's turn, sin 40 / 2, of the exact effect.
    EXPECT_LE(std::abs(Effective(turns.groups) - exact), 0.5 * std::sin(80 * kPi / 180) + 1e-9) << volts;
    EXPECT_NEAR(turns.winding_factor * turns.mean_turns_per_coil * 3, Effective(turns.groups), 1e-9);
  }
}

TEST(Turns, NoCoilOfAGroupMovesByAWholeTurn) {
  Change change;
  for (double volts = 100; volts < 900; volts += 13) {
    change.rated_volts = volts;
    const TurnsPlan turns = TurnsOf(Concentric(), change);
    for (size_t i = 0; i < 3; ++i) {
      const double exact = Concentric().winding.groups[0].coils[i].turns * volts / 400;
      EXPECT_LT(std::abs(turns.groups[0].coils[i].turns - exact), 1) << volts;
    }
  }
}

// By hand for 36/4, spans 4/6/8 with 8/14/17 turns, every slot starting a coil: slots 1, 2, 3 hold the going sides of
// 17, 14, 8 turns; slots 7, 8, 9 take the returns 8, 14, 17 of that group beside the going sides 17, 14, 8 of the
// group three on. Every slot holds 25, 28 or 25 turns, not 2 x 17.
TEST(Turns, TheFullestSlotOfConcentricGroupsIsFoundByTheLayout) {
  EXPECT_EQ(TurnsOf(Concentric(), {}).turns_in_fullest_slot, 28);
  Record odd = Concentric();
  odd.winding.groups = {{{{4, 8}, {6, 14}, {8, 17}}, 6}, {{{4, 9}, {6, 14}, {8, 16}}, 6}};
  EXPECT_EQ(TurnsOf(odd, {}).turns_in_fullest_slot, 34) << "two kinds of group: the largest coil twice";
}

TEST(Turns, TheFullestSlotOfEqualCoils) {
  EXPECT_EQ(TurnsOf(InductionMotor(), {}).turns_in_fullest_slot, 36);
  Record single = InductionMotor();
  single.winding.layers = winding::Layers::kSingle;
  single.winding.coil_pitch = 9;
  EXPECT_EQ(TurnsOf(single, {}).turns_in_fullest_slot, 18);
}

TEST(Turns, UnchangedGroupsStayAsTheyAre) {
  const TurnsPlan turns = TurnsOf(Concentric(), {});
  EXPECT_EQ(turns.rounding_ratio, 1);
  EXPECT_EQ(turns.groups[0].coils[2].turns, 17);
  EXPECT_EQ(turns.turns_per_coil, 0);
}

}  // namespace
}  // namespace coilwright::plan
