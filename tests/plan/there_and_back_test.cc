// A change and its way back give the same exact turns, on machines drawn at random and any balanced coils their core
// takes.
#include <gtest/gtest.h>

#include "plan/machines.h"
#include "plan/random_machine.h"

namespace coilwright::plan {
namespace {

using electric::Connection;
using winding::CoilForm;
using winding::Layers;

class ThereAndBack : public ::testing::Test {
 protected:
  double Within(double low, double high) { return std::uniform_real_distribution<double>(low, high)(random_); }
  int Whole(int low, int high) { return std::uniform_int_distribution<int>(low, high)(random_); }
  bool Toss() { return Whole(0, 1) == 0; }

  // A balanced pattern in the same core: other poles too for an induction motor.
  winding::Pattern OtherPattern(const Record& record) {
    while (true) {
      winding::Pattern pattern;
      pattern.slots = record.core.slots;
      pattern.poles = record.kind == MachineKind::kInduction ? 2 * Whole(1, 6) : record.plate.poles;
      const int pole_pitch = std::max(1, pattern.slots / pattern.poles);
      pattern.coil_pitch = Whole((pole_pitch + 1) / 2, pole_pitch + 1);
      pattern.layers = Toss() ? Layers::kSingle : Layers::kDouble;
      pattern.form = static_cast<CoilForm>(Whole(0, 3));
      const absl::StatusOr<winding::Symmetry> symmetry = winding::CheckSymmetry(pattern);
      if (symmetry.ok() && symmetry->balanced && *winding::WindingFactor(pattern) > 0.3) return pattern;
    }
  }

  int Circuits(const winding::Pattern& pattern) {
    const std::vector<int> permitted = winding::CheckSymmetry(pattern)->permitted_circuits;
    return permitted[static_cast<size_t>(Whole(0, static_cast<int>(permitted.size()) - 1))];
  }

  std::mt19937 random_{64};
};

winding::Pattern PatternOf(const Record& record) {
  return {record.core.slots, record.plate.poles, *record.winding.coil_pitch, record.winding.layers,
          record.winding.form};
}

void Wind(const winding::Pattern& pattern, Record& record) {
  record.plate.poles = pattern.poles;
  record.winding.coil_pitch = pattern.coil_pitch;
  record.winding.layers = pattern.layers;
  record.winding.form = pattern.form;
}

Change To(const winding::Pattern& pattern, const Record& record) {
  Change change;
  if (record.kind == MachineKind::kInduction) change.poles = pattern.poles;
  change.coil_pitch = pattern.coil_pitch;
  change.layers = pattern.layers;
  change.form = pattern.form;
  return change;
}

// Turns go in proportion to the turns recorded, so that the ratio of both ways multiplies to one whatever whole turns
// the changed machine is recorded with.
TEST_F(ThereAndBack, IsTheIdentityOnRandomMachines) {
  int servos = 0, fractional = 0, single = 0;
  for (int i = 0; i < 1500; ++i) {
    Record record = RandomMachine(random_);
    const bool servo = record.kind == MachineKind::kPermanentMagnet;
    if (servo) record.plate.speed_rpm = Within(1000, 6000);
    record.winding.turns_per_coil = Whole(60, 120);
    record.winding.parallel_circuits = Circuits(PatternOf(record));
    const winding::Pattern other = Toss() ? OtherPattern(record) : PatternOf(record);
    Record changed = record;
    Wind(other, changed);
    changed.winding.turns_per_coil = Whole(60, 120);
    changed.winding.parallel_circuits = Circuits(other);
    changed.winding.connection = Toss() ? Connection::kStar : Connection::kDelta;
    changed.plate.rated_volts = record.plate.rated_volts * Within(0.6, 1.7);

    Change there = To(other, record), back = To(PatternOf(record), record);
    there.poles_hold = back.poles_hold = servo    ? std::optional<PolesHold>()
                                         : Toss() ? PolesHold::kAirGap
                                                  : PolesHold::kBackIron;
    there.rated_volts = changed.plate.rated_volts;
    back.rated_volts = record.plate.rated_volts;
    there.connection = changed.winding.connection;
    back.connection = record.winding.connection;
    there.parallel_circuits = changed.winding.parallel_circuits;
    back.parallel_circuits = record.winding.parallel_circuits;
    if (servo) {
      changed.plate.speed_rpm = there.speed_rpm = *record.plate.speed_rpm * Within(0.6, 1.7);
      back.speed_rpm = record.plate.speed_rpm;
    } else {
      changed.plate.frequency_hz = there.frequency_hz = Within(40, 100);
      back.frequency_hz = record.plate.frequency_hz;
      changed.plate.rated_kw = there.rated_kw = *record.plate.rated_kw * Within(0.6, 1.7);
      back.rated_kw = record.plate.rated_kw;
    }
    const TurnsPlan out = TurnsOf(record, there), home = TurnsOf(changed, back);
    ASSERT_NEAR(out.exact_turns_per_coil / *record.winding.turns_per_coil * home.exact_turns_per_coil /
                    *changed.winding.turns_per_coil,
                1, 1e-9)
        << i;
    servos += servo;
    single += other.layers == Layers::kSingle;
    fractional += other.slots % (3 * other.poles) != 0;
  }
  EXPECT_GT(servos, 500);
  EXPECT_GT(single, 200);
  EXPECT_GT(fractional, 200);
}

// Unequal concentric turns: another pitch and back, the groups made up both ways keep the ratio and the way back gives
// the turns of the start.
TEST_F(ThereAndBack, KeepsUnequalGroupsWhereTheyKeepTheirCoils) {
  struct Core {
    int slots, poles;
  };
  for (int i = 0; i < 300; ++i) {
    const Core core = std::vector<Core>{{36, 4}, {24, 4}, {48, 4}, {36, 6}, {36, 2}}[static_cast<size_t>(Whole(0, 4))];
    const int q = core.slots / (3 * core.poles), pole_pitch = 3 * q;
    Record record = InductionMotor();
    record.core.slots = core.slots;
    record.plate.poles = core.poles;
    record.plate.speed_rpm.reset();
    record.winding.form = CoilForm::kConcentric;
    const int pitch = Whole(pole_pitch - q / 2 - 1, pole_pitch), other = Whole(pole_pitch - q / 2 - 1, pole_pitch);
    const auto nested = [&](int mean, const std::vector<int>& turns) {
      CoilGroup group{{}, 3 * core.poles};
      for (int k = 0; k < q; ++k) group.coils.push_back({mean - q + 1 + 2 * k, turns[static_cast<size_t>(k)]});
      return std::vector<CoilGroup>{group};
    };
    std::vector<int> turns;
    for (int k = 0; k < q; ++k) turns.push_back(Whole(20, 200));
    record.winding.coil_pitch.reset();
    record.winding.turns_per_coil.reset();
    record.winding.groups = nested(pitch, turns);
    Record changed = record;
    changed.winding.groups = nested(other, turns);
    Change there, back;
    there.coil_pitch = other;
    back.coil_pitch = pitch;
    const TurnsPlan out = TurnsOf(record, there), home = TurnsOf(changed, back);
    ASSERT_EQ(out.groups.size(), 1U);
    for (int k = 0; k < q; ++k) {
      const GroupCoil& coil = out.groups[0].coils[static_cast<size_t>(k)];
      EXPECT_EQ(coil.span_slots, other - q + 1 + 2 * k);
      const double exact = turns[static_cast<size_t>(k)] * out.exact_turns_per_coil / out.original_turns_per_coil;
      EXPECT_LT(std::abs(coil.turns - exact), 1);
    }
    EXPECT_NEAR(out.exact_turns_per_coil / out.original_turns_per_coil * home.exact_turns_per_coil /
                    home.original_turns_per_coil,
                1, 1e-9);
  }
}

}  // namespace
}  // namespace coilwright::plan
