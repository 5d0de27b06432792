// Changed pitch, poles, form, layers and power. Expected values: derivation from the emf equation E = sqrt(2) pi f N kw
// phi with N = T C / (3 a), unless a published example is named.
#include <gmock/gmock.h>

#include <cmath>

#include "absl/strings/str_cat.h"
#include "plan/machines.h"
#include "plan/random_machine.h"
#include "standards/errors.h"

namespace coilwright::plan {
namespace {

using electric::Connection;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;
using winding::CoilForm;
using winding::Layers;

Record Machine(int slots, int poles, int pitch, int turns, Layers layers = Layers::kDouble,
               CoilForm form = CoilForm::kLap) {
  Record record = OnAnotherStator(slots, poles);
  record.winding.coil_pitch = pitch;
  record.winding.turns_per_coil = turns;
  record.winding.layers = layers;
  record.winding.form = form;
  return record;
}

double Exact(const Record& record, const Change& change) { return TurnsOf(record, change).exact_turns_per_coil; }

std::vector<std::string> WrongFields(const absl::Status& status) {
  std::vector<std::string> fields;
  for (const auto& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
  return fields;
}

absl::Status Refused(const Record& record, const Change& change) {
  return MakePlan(record, change, OneWire(), {}, {}).status();
}

TEST(Redesign, Pitch) {
  Change change;
  change.coil_pitch = 7;  // throw 1-8 for 1-9 in 36/4: chord factors 0.984808 and 0.939693
  EXPECT_NEAR(Exact(Machine(36, 4, 8, 18), change), 18.8642, 5e-5);
  // Sawhney, A Course in Electrical Machine Design, Ex 11.20: chording by a third leaves 0.866 of the emf (the book
  // rounds 2147/2480).
  change.coil_pitch = 6;
  EXPECT_NEAR(36 / Exact(Machine(36, 4, 9, 36), change), 2147.0 / 2480, 5e-4);
}

TEST(Redesign, PolesAtTheSameAirGapDensity) {
  Change change;
  change.poles = 6;
  change.coil_pitch = 5;
  const Record record = Machine(36, 4, 8, 10);
  EXPECT_NEAR(Exact(record, change), 15.1962, 5e-5);
  change.poles_hold = PolesHold::kAirGap;
  EXPECT_NEAR(Exact(record, change), 15.1962, 5e-5) << "also what is held where nobody says";
  const double kw4 = 0.9452136, kw6 = std::cos(15 * kPi / 180) * std::sin(75 * kPi / 180);  // closed forms
  change.poles_hold = PolesHold::kBackIron;
  EXPECT_NEAR(Exact(record, change), 10 * kw4 / kw6, 1e-4);
}

// Gap and back iron by phi = B tau L: what is held stays, the other goes with the poles.
TEST(Redesign, DensitiesAtOtherPoles) {
  for (const bool more : {true, false}) {
    for (const PolesHold hold : {PolesHold::kAirGap, PolesHold::kBackIron}) {
      Change change;
      change.poles = more ? 6 : 2;
      change.coil_pitch = more ? 5 : 15;
      change.poles_hold = hold;
      Record record = InductionMotor();
      record.plate.speed_rpm.reset();
      const RewindPlan plan = PlanOf(record, change);
      const double poles = more ? 6.0 / 4 : 2.0 / 4;
      const double rounding = plan.turns.rounding_ratio;
      const electric::FluxDensities &was = *plan.loading_as_recorded.densities, &is = *plan.loading_planned.densities;
      const bool gap = hold == PolesHold::kAirGap;
      EXPECT_NEAR(is.air_gap_peak_teslas / was.air_gap_peak_teslas * rounding, gap ? 1 : poles, 1e-9);
      EXPECT_NEAR(is.tooth_teslas / was.tooth_teslas * rounding, gap ? 1 : poles, 1e-9);
      EXPECT_NEAR(is.back_iron_teslas / was.back_iron_teslas * rounding, gap ? 1 / poles : 1, 1e-9);
      EXPECT_NEAR(plan.turns.flux_ratio * rounding, gap ? 1 / poles : 1, 1e-9);
    }
  }
}

// Two poles less at the same gap drive 2.8 T through the back iron: nobody may miss that.
TEST(Redesign, SaturatedBackIronIsSaid) {
  Record record = InductionMotor();
  record.plate.speed_rpm.reset();
  Change change;
  change.poles = 2;
  change.coil_pitch = 15;
  change.poles_hold = PolesHold::kAirGap;
  bool said = false;
  for (const Finding& finding : PlanOf(record, change).findings_planned) {
    said = said || (finding.what == "back-iron flux density" && finding.level == FindingLevel::kAct);
  }
  EXPECT_TRUE(said);
  change.poles_hold.reset();
  for (const Finding& finding : PlanOf(record, change).findings_planned) {
    EXPECT_NE(finding.what == "back-iron flux density" ? finding.level : FindingLevel::kOk, FindingLevel::kAct);
  }
}

// 1420 rpm of 1500 at 4 poles, 50 Hz: slip frequency 2.667 Hz. At 6 poles 20 (50 - 2.667) = 946.7 rpm, and the same
// torque is 2/3 of output and of current.
TEST(Redesign, SpeedOutputAndCurrentFollowThePoles) {
  Change change;
  change.poles = 6;
  change.coil_pitch = 5;
  const TurnsPlan turns = TurnsOf(InductionMotor(), change);
  EXPECT_NEAR(*turns.speed_rpm, 946.667, 1e-3);
  EXPECT_NEAR(*turns.rated_kw, 2, 1e-12);
  EXPECT_NEAR(*turns.line_amps_rms, 6.4 * 2 / 3, 1e-12);
}

TEST(Redesign, LapToConcentricOfTheSameSlotsKeepsTheTurns) {
  struct Pair {
    int pitch, inner;
    double factor;
  };
  // Sum of sin(90 y / 9) over spans 6, 8, 10 and 7, 9, 11, over three.
  for (const Pair& pair : {Pair{8, 6, 0.945214}, Pair{9, 7, 0.959795}}) {
    Change change;
    change.form = CoilForm::kConcentric;
    const RewindPlan plan = PlanOf(Machine(36, 4, pair.pitch, 18), change);
    EXPECT_NEAR(plan.pattern_planned.winding_factor, pair.factor, 5e-7);
    EXPECT_NEAR(plan.turns.exact_turns_per_coil, 18, 1e-9);
    ASSERT_EQ(plan.turns.groups.size(), 1U);
    EXPECT_EQ(plan.turns.groups[0].count, 12);
    std::vector<int> spans, turns;
    for (const GroupCoil& coil : plan.turns.groups[0].coils) {
      spans.push_back(coil.span_slots);
      turns.push_back(coil.turns);
    }
    EXPECT_THAT(spans, ElementsAre(pair.inner, pair.inner + 2, pair.inner + 4));
    EXPECT_THAT(turns, ElementsAre(18, 18, 18));
    EXPECT_EQ(plan.turns.turns_in_fullest_slot, 36);
  }
}

// The group 8/14/17 on spans 4/6/8 is made up; 8 sin 40 + 14 sin 60 + 17 sin 80 = 34.008 effective turns make
// 34.008 / (3 x 0.945214) = 11.99 turns of a lap winding of throw 1-9, and back.
TEST(Redesign, UnequalConcentricTurnsToLapAndBack) {
  Record record = Machine(36, 4, 8, 1, Layers::kDouble, CoilForm::kConcentric);
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = {{{{4, 8}, {6, 14}, {8, 17}}, 12}};
  Change lap;
  lap.form = CoilForm::kLap;
  lap.coil_pitch = 8;
  const TurnsPlan there = TurnsOf(record, lap);
  EXPECT_NEAR(there.exact_turns_per_coil, 11.99, 5e-3);
  EXPECT_EQ(there.turns_per_coil, 12);
  EXPECT_TRUE(there.groups.empty());
  Change back;
  back.form = CoilForm::kConcentric;
  back.groups = record.winding.groups;
  const TurnsPlan home = TurnsOf(Machine(36, 4, 8, 12), back);
  ASSERT_EQ(home.groups.size(), 1U);
  EXPECT_NEAR(home.exact_turns_per_coil, 13.0 * 12 / there.exact_turns_per_coil, 1e-9);
  std::vector<int> turns;
  for (const GroupCoil& coil : home.groups[0].coils) turns.push_back(coil.turns);
  EXPECT_THAT(turns, ElementsAre(8, 14, 17));
}

// 24/4 throw 1-6: 24 coils of 22 turns become 12 of 22 x 2 x 0.933013/0.965926 = 42.50; 43 move the flux by -1.2 %.
TEST(Redesign, DoubleToSingleLayerAndBack) {
  Change single;
  single.layers = Layers::kSingle;
  single.form = CoilForm::kConcentric;
  single.coil_pitch = 6;
  const RewindPlan plan = PlanOf(Machine(24, 4, 5, 22), single);
  EXPECT_NEAR(plan.turns.exact_turns_per_coil, 42.50, 5e-3);
  EXPECT_EQ(plan.pattern_planned.coils, 12);
  EXPECT_NEAR(plan.target_area_mm2 * 12 * plan.turns.mean_turns_per_coil, plan.as_recorded.area_mm2 * 24 * 22,
              1e-9 * 1000);
  single.form = CoilForm::kChain;
  single.coil_pitch = 5;
  const TurnsPlan chain = TurnsOf(Machine(24, 4, 5, 22), single);
  EXPECT_NEAR(chain.exact_turns_per_coil, 42.50, 5e-3);
  EXPECT_NEAR(chain.flux_ratio, 42.5008 / chain.turns_per_coil, 1e-5);
  Change twofold;
  twofold.layers = Layers::kDouble;
  twofold.form = CoilForm::kLap;
  twofold.coil_pitch = 5;
  EXPECT_NEAR(Exact(Machine(24, 4, 5, 85, Layers::kSingle, CoilForm::kChain), twofold), 85 / 42.5008 * 22, 1e-3);
}

// 5 to 7.5 hp at the same volts, poles and frequency: T sqrt(5/7.5), flux up 22.5 %.
TEST(Redesign, PowerOfTheSameFrame) {
  Record record = Machine(36, 4, 8, 30);
  record.plate.rated_kw = 5 * 0.7457;
  Change change;
  change.rated_kw = 7.5 * 0.7457;
  const TurnsPlan turns = TurnsOf(record, change);
  EXPECT_NEAR(turns.exact_turns_per_coil, 24.4949, 5e-5);
  EXPECT_NEAR(turns.flux_ratio * turns.turns_per_coil / turns.exact_turns_per_coil, 1.2247449, 1e-6);
  EXPECT_NEAR(*turns.line_amps_rms, 6.4 * 1.5, 1e-9);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("same frame")));
  // Breakdown torque over rated torque: (flux)^2 over output.
  EXPECT_NEAR(std::pow(turns.flux_ratio * turns.rounding_ratio, 2) / 1.5, 1, 1e-9);
  change.frequency_hz = 75;  // the same torque at 1.5 times the speed
  EXPECT_NEAR(Exact(record, change), 30 / 1.5, 1e-9);
}

// Everything at once: 2 star, 15 turns, throw 1-9, 380 V 50 Hz, to 1 delta, throw 1-8, 460 V 60 Hz.
TEST(Redesign, EverythingAtOnce) {
  Record record = Machine(36, 4, 8, 15);
  record.winding.parallel_circuits = 2;
  record.plate.rated_volts = 380;
  Change change;
  change.connection = Connection::kDelta;
  change.parallel_circuits = 1;
  change.coil_pitch = 7;
  change.rated_volts = 460;
  change.frequency_hz = 60;
  const TurnsPlan turns = TurnsOf(record, change);
  EXPECT_NEAR(turns.exact_turns_per_coil, 13.73, 5e-3);
  EXPECT_EQ(turns.turns_per_coil, 14);
  EXPECT_NEAR(turns.flux_ratio, 0.981, 5e-4);
  ASSERT_TRUE(turns.alternating.has_value()) << "13 2/3 land closer than 14";
  EXPECT_NEAR(turns.alternating->mean_turns_per_coil, 13 + 2.0 / 3, 1e-12);
  change.alternating_turns = true;
  const RewindPlan plan = PlanOf(record, change);
  EXPECT_EQ(plan.turns.turns_per_coil, 0);
  ASSERT_EQ(plan.turns.groups.size(), 1U);
  EXPECT_EQ(plan.turns.groups[0].count, 12);
  EXPECT_LT(std::abs(plan.turns.rounding_ratio - 1), std::abs(turns.rounding_ratio - 1));
  EXPECT_NEAR(plan.turns.flux_ratio, 1 / plan.turns.rounding_ratio, 1e-12);
  EXPECT_THAT(plan.turns.notes, Contains(HasSubstr("Alternating turns")));
}

// A servo from 325 V to 48 V: 60 turns become 8.86, and 53.17 with six circuits.
TEST(Redesign, AServoForAnotherBus) {
  Record record = ServoMotor();
  record.core.slots = 36;
  record.plate.poles = 12;
  record.winding.form = CoilForm::kLap;
  record.winding.coil_pitch = 3;
  record.winding.turns_per_coil = 60;
  record.plate.rated_volts = 325;
  record.plate.speed_rpm.reset();
  record.plate.frequency_hz.reset();
  Change change;
  change.rated_volts = 48;
  EXPECT_NEAR(Exact(record, change), 8.86154, 5e-6);
  change.parallel_circuits = 6;
  EXPECT_NEAR(Exact(record, change), 53.1692, 5e-5);
}

TEST(Redesign, MagnetsKeepTheirPolesAndAreWarnedOfTheAxis) {
  Record record = ServoMotor();
  Change change;
  change.poles = 8;
  change.rated_kw = 2;
  EXPECT_THAT(WrongFields(Refused(record, change)), ElementsAre("change.poles", "change.rated_power"));
  EXPECT_THAT(std::string(Refused(record, change).message()), HasSubstr("magnets"));
  record.core.slots = 36;
  record.core.shape.reset();
  record.core.tooth_width_mm.reset();
  record.core.bore_mm = 60;
  record.core.stack_length_mm = 50;
  record.core.slot_depth_mm = 12;
  record.plate.poles = 6;
  record.plate.frequency_hz.reset();
  record.winding.form = CoilForm::kLap;
  record.winding.coil_pitch = 6;
  Change pitch;
  pitch.coil_pitch = 5;
  const TurnsPlan turns = TurnsOf(record, pitch);
  EXPECT_THAT(turns.notes, Contains(HasSubstr("axis of U must not move")));
  EXPECT_EQ(turns.flux_ratio, 1) << "the magnets' flux does not move";
}

TEST(Redesign, RefusesWhatCannotBeWound) {
  const Record record = Machine(36, 4, 8, 18);
  Change change;
  change.poles = 18;  // two thirds of a slot per pole and phase
  change.coil_pitch = 2;
  EXPECT_EQ(Refused(record, change).code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(Refused(record, change).message()), HasSubstr("as changed"));
  change = {};
  change.poles = 5;
  EXPECT_THAT(WrongFields(Refused(record, change)), ElementsAre("change.poles", "change.coil_pitch_slots"));
  change = {};
  change.layers = Layers::kSingle;  // an even pitch of equal coils
  EXPECT_EQ(Refused(record, change).code(), absl::StatusCode::kFailedPrecondition);
  change = {};
  change.form = CoilForm::kChain;
  EXPECT_THAT(WrongFields(Refused(record, change)), ElementsAre("change.layers"));
  change = {};
  change.coil_pitch = 36;
  EXPECT_THAT(WrongFields(Refused(record, change)), ElementsAre("change.coil_pitch_slots"));
  change = {};
  change.groups = {{{{6, 8}, {8, 8}}, 18}};
  EXPECT_THAT(WrongFields(Refused(record, change)), ElementsAre("change.groups"));
  change.form = CoilForm::kConcentric;
  change.groups[0].count = 17;
  EXPECT_THAT(WrongFields(Refused(record, change)), Contains("change.groups"));
  change = {};
  change.poles_hold = PolesHold::kAirGap;
  EXPECT_THAT(WrongFields(Refused(record, change)), ElementsAre("change.poles_hold"));
  change = {};
  change.coil_pitch = 7;
  change.parallel_circuits = 3;
  EXPECT_THAT(WrongFields(Refused(record, change)), ElementsAre("change.parallel_circuits"));
  // Circuits that the old pattern permits and the new one does not: four of 36/4, of which whole belts leave two.
  Record four = record;
  four.winding.parallel_circuits = 4;
  change = {};
  change.layers = Layers::kSingle;
  change.form = CoilForm::kConcentric;
  change.coil_pitch = 9;
  EXPECT_THAT(WrongFields(Refused(four, change)), ElementsAre("change.layers")) << "the field that was given";
  EXPECT_THAT(std::string(Refused(four, change).message()), HasSubstr("parallel_circuits beside it: 1, 2"));
  change.parallel_circuits = 4;
  EXPECT_THAT(WrongFields(Refused(four, change)), ElementsAre("change.parallel_circuits"));
  Record no_power = record;
  no_power.plate.rated_kw.reset();
  change = {};
  change.rated_kw = 4;
  EXPECT_THAT(WrongFields(Refused(no_power, change)), ElementsAre("change.rated_power"));
}

// A measured mean turn goes with the estimates: longer for a longer pitch, exact for none, its band wider than before.
TEST(Redesign, AMeasuredMeanTurnMovesWithTheEstimates) {
  const Record record = InductionMotor();
  double before = 0;
  for (const int pitch : {6, 7, 8, 9}) {
    Change change;
    change.coil_pitch = pitch;
    const RewindPlan plan = PlanOf(record, change);
    const standards::Band &was = plan.mean_turn.metres, &is = plan.mean_turn_planned.metres;
    EXPECT_GT(is.nominal, before);
    before = is.nominal;
    if (pitch == 8) {
      EXPECT_EQ(is.nominal, was.nominal);
      EXPECT_EQ(plan.mean_turn_planned.method, plan.mean_turn.method);
      continue;
    }
    EXPECT_GT((is.high - is.low) / is.nominal, (was.high - was.low) / was.nominal);
    // The slot part stays; the heads go with the span at most: 2 L of 0.52 m is 0.24 m.
    EXPECT_NEAR(is.nominal, 0.24 + 0.28 * pitch / 8, 0.03);
    EXPECT_LT(is.low, 0.24 + 0.28 * pitch / 8);
    EXPECT_GT(is.high, 0.24 + 0.28 * pitch / 8);
    EXPECT_THAT(std::string(plan.mean_turn_planned.method), HasSubstr("measured"));
    EXPECT_THAT(plan.rules, Contains("plan.mean_turn_moved"));
  }
  Record bare = record;
  bare.core.bore_mm.reset();
  bare.core.slot_depth_mm.reset();
  bare.core.shape.reset();
  Change change;
  change.coil_pitch = 7;
  EXPECT_THAT(WrongFields(Refused(bare, change)),
              ElementsAre("record.machine.core.bore_diameter", "record.machine.slot.depth"));
}

// One layer needs no separator: its room goes to the wire.
TEST(Redesign, TheSlotOfASingleLayerHasNoSeparator) {
  Record record = InductionMotor();
  Change change;
  change.layers = Layers::kSingle;
  change.form = CoilForm::kConcentric;
  change.coil_pitch = 9;
  const RewindPlan plan = PlanOf(record, change);
  ASSERT_FALSE(plan.options.empty());
  const slot::Area &was = plan.as_recorded.fill->area, &is = plan.options[0].fill->area;
  EXPECT_GT(was.separator_mm2, 0);
  EXPECT_EQ(is.separator_mm2, 0);
  EXPECT_NEAR(is.net_mm2, was.net_mm2 + was.separator_mm2, 1e-9);
}

// There and back over random machines and random mixes of changes: the identity on exact turns.
TEST(Redesign, ThereAndBackIsTheIdentityOnExactTurns) {
  std::mt19937 random(47);
  struct Build {
    int poles, pitch;
    Layers layers;
    CoilForm form;
  };
  const std::vector<Build> builds = {
      {4, 8, Layers::kDouble, CoilForm::kLap},        {4, 9, Layers::kDouble, CoilForm::kConcentric},
      {4, 7, Layers::kDouble, CoilForm::kConcentric}, {4, 9, Layers::kSingle, CoilForm::kConcentric},
      {6, 5, Layers::kDouble, CoilForm::kLap},        {6, 6, Layers::kSingle, CoilForm::kConcentric},
      {2, 15, Layers::kDouble, CoilForm::kLap},       {2, 18, Layers::kSingle, CoilForm::kConcentric},
      {6, 5, Layers::kSingle, CoilForm::kLap},        {12, 3, Layers::kDouble, CoilForm::kLap}};
  const auto within = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  const auto to = [&](const Build& build, Change change) {
    change.poles = build.poles;
    change.coil_pitch = build.pitch;
    change.layers = build.layers;
    change.form = build.form;
    return change;
  };
  int done = 0;
  for (int i = 0; i < 600; ++i) {
    const Build &from = builds[random() % builds.size()], &other = builds[random() % builds.size()];
    Record record = Machine(36, from.poles, from.pitch, 60, from.layers, from.form);
    record.plate.rated_volts = within(200, 480);
    record.plate.frequency_hz = within(40, 100);
    record.plate.rated_kw = within(1, 10);
    Change there, back;
    there.poles_hold = back.poles_hold = random() % 2 == 0 ? PolesHold::kAirGap : PolesHold::kBackIron;
    there.parallel_circuits = random() % 2 == 0 ? 1 : (other.layers == Layers::kDouble ? other.poles : 1);
    if (random() % 2 == 0) there.rated_volts = within(200, 480);
    if (random() % 2 == 0) there.frequency_hz = within(40, 100);
    if (random() % 2 == 0) there.connection = Connection::kDelta;
    if (random() % 2 == 0) there.rated_kw = within(1, 10);
    there = to(other, there);
    const TurnsPlan out = TurnsOf(record, there);
    back.rated_volts = record.plate.rated_volts;
    back.frequency_hz = record.plate.frequency_hz;
    back.connection = Connection::kStar;
    back.parallel_circuits = 1;
    if (there.rated_kw) back.rated_kw = record.plate.rated_kw;
    back = to(from, back);
    Record changed = Machine(36, other.poles, other.pitch, 60, other.layers, other.form);
    changed.plate.rated_volts = out.rated_volts;
    changed.plate.frequency_hz = out.frequency_hz;
    changed.plate.rated_kw = out.rated_kw;
    changed.winding.connection = out.connection;
    changed.winding.parallel_circuits = out.parallel_circuits;
    const TurnsPlan home = TurnsOf(changed, back);
    EXPECT_NEAR(out.exact_turns_per_coil / 60 * home.exact_turns_per_coil / 60, 1, 1e-9) << i;
    EXPECT_NEAR(*home.rated_kw / *record.plate.rated_kw, 1, 1e-9);
    ++done;
  }
  EXPECT_EQ(done, 600);
}

// Whatever the change, the flux by E / (sqrt(2) pi f N kw) of the plan's own figures, computed here, is the flux ratio
// it states, and the copper in the slots stays.
TEST(Redesign, TheFluxStatedIsThatOfTheNewWinding) {
  Change poles, form, layers, power, mix;
  poles.poles = 6;
  poles.coil_pitch = 5;
  form.form = CoilForm::kConcentric;
  form.rated_volts = 415;
  layers.layers = Layers::kSingle;
  layers.form = CoilForm::kConcentric;
  layers.coil_pitch = 9;
  power.rated_kw = 3.6;
  mix = poles;
  mix.rated_volts = 230;
  mix.connection = Connection::kDelta;
  mix.parallel_circuits = 2;
  mix.frequency_hz = 60;
  mix.alternating_turns = true;
  const Record record = InductionMotor();
  const auto flux = [](double line_volts, Connection connection, double hertz, double series_turns, double kw) {
    return (connection == Connection::kStar ? line_volts / std::sqrt(3.0) : line_volts) / (hertz * series_turns * kw);
  };
  for (const Change& change : {poles, form, layers, power, mix}) {
    const RewindPlan plan = PlanOf(record, change);
    const TurnsPlan& t = plan.turns;
    const double was = flux(400, Connection::kStar, 50, 36 * 18 / 3.0, plan.pattern.winding_factor);
    const double is = flux(t.rated_volts, t.connection, *t.frequency_hz, t.series_turns_per_phase,
                           plan.pattern_planned.winding_factor);
    EXPECT_NEAR(is / was, t.flux_ratio, 1e-9);
    EXPECT_NEAR(plan.loading_planned.flux_webers->nominal / plan.loading_as_recorded.flux_webers->nominal, t.flux_ratio,
                1e-9);
    EXPECT_NEAR(plan.target_area_mm2 * t.mean_turns_per_coil * plan.pattern_planned.coils,
                plan.as_recorded.area_mm2 * 18 * 36, 1e-6);
  }
}

// The flux density goes with the root of the output. Teeth of 1.6 T come to the 1.8 T of plausible_ranges.csv at
// 3 kW (1.8/1.6)^2 = 3.8 kW; the back iron, 1.4 T, to its 1.6 T at 3.9 kW; the gap, 0.82 T, to its 0.9 T at 3.6 kW.
TEST(Redesign, StopsAtMorePowerThanTheIronCarries) {
  const auto finding = [](const RewindPlan& plan, absl::string_view what) {
    for (const Finding& f : plan.findings_planned) {
      if (f.what == what) return f;
    }
    return Finding{FindingLevel::kNotChecked, "", {}, {}, "", "", ""};
  };
  const Record record = InductionMotor();
  Change change;
  change.rated_kw = 3.3;
  for (const Finding& f : PlanOf(record, change).findings_planned) EXPECT_NE(f.level, FindingLevel::kAct) << f.what;
  change.rated_kw = 9;
  const RewindPlan plan = PlanOf(record, change);
  EXPECT_EQ(finding(plan, "tooth flux density").level, FindingLevel::kAct);
  EXPECT_THAT(finding(plan, "air-gap flux density, peak").text,
              HasSubstr("This frame gives about 3.6 kW, where the air-gap flux density, peak comes to 0.9 T"));
  EXPECT_THAT(plan.cautions.front(), HasSubstr("STOP: the winding as changed is not to be wound (air-gap"));
  for (const double kw : {75.0, 7500.0}) {
    change.rated_kw = kw;
    const absl::Status refused = MakePlan(record, change, {}, {}, {}).status();
    EXPECT_THAT(WrongFields(refused), ElementsAre("change.rated_power"));
    EXPECT_THAT(std::string(refused.message()), HasSubstr("this frame can give: about 3.6 kW"));
  }
  // A core that was not measured may have teeth of 1.4 T: 3 kW (1.8/1.4)^2 = 5 kW.
  Record unmeasured = record;
  unmeasured.core.bore_mm.reset();
  unmeasured.core.shape.reset();
  EXPECT_THAT(std::string(MakePlan(unmeasured, change, {}, {}, {}).status().message()), HasSubstr("about 5 kW"));
  change.rated_kw = 9;  // 18 / root 3 is 10.4 turns, whole 10: 1.8 times the flux
  const Finding against = finding(PlanOf(unmeasured, change), "flux density against the original");
  EXPECT_EQ(against.level, FindingLevel::kAct);
  EXPECT_NEAR(against.found.value_or(0), 1.8, 1e-9);
  // A slip in the record is not laid at the door of the power.
  Record wrong = record;
  *wrong.winding.turns_per_coil /= 2;
  change.rated_kw = 3.1;
  EXPECT_TRUE(MakePlan(wrong, change, {}, {}, {}).ok());
}

TEST(Redesign, SaysOfASpeedInItsOwnUnitWhatIsTooMuch) {
  Change change;
  change.speed_rpm = 60000;  // 5000 Hz with ten poles
  EXPECT_THAT(std::string(Refused(ServoMotor(), change).message()), HasSubstr("at most 24000 rpm"));
  change = {};
  change.rated_volts = 6600;
  EXPECT_THAT(PlanOf(InductionMotor(), change).cautions, Contains(HasSubstr("random windings are not made for")));
}

// A record in metric wire is planned in metric wire, one in AWG in AWG; a shelf is what it is.
TEST(Wires, KeepToTheSystemOfTheRecord) {
  for (const auto& [record, awg] : {std::pair{InductionMotor(), false}, std::pair{ServoMotor(), true}}) {
    const auto plan = MakePlan(record, {}, {}, {}, {});
    ASSERT_TRUE(plan.ok()) << plan.status();
    ASSERT_FALSE(plan->options.empty());
    for (const Option& option : plan->options) {
      for (const RecordedStrand& strand : option.strands) {
        EXPECT_EQ(strand.wire.system == standards::WireSystem::kAwg, awg) << strand.wire.designation;
      }
    }
  }
}

TEST(Alter, WarnsOfAWeakWindingFactor) {
  Change change;
  change.form = CoilForm::kToothCoil;
  change.coil_pitch = 1;
  const auto plan = MakePlan(InductionMotor(), change, {}, {}, {});
  ASSERT_TRUE(plan.ok()) << plan.status();
  ASSERT_FALSE(plan->findings_planned.empty());
  EXPECT_EQ(plan->findings_planned.front().what, "winding factor");
  EXPECT_EQ(plan->findings_planned.front().level, FindingLevel::kAct);
}

// 24 slots, 4 poles: a slot is 30 electrical degrees, and coils from the same slots lie half a slot pitch further for
// every slot they span more.
TEST(Redesign, SaysHowFarTheAxisMovesAndWhereItStays) {
  Record record = Machine(24, 4, 5, 22);
  record.kind = MachineKind::kPermanentMagnet;
  record.plate.frequency_hz.reset();
  const auto notes = [&](const Change& change) { return TurnsOf(record, change).notes; };
  Change change;
  change.coil_pitch = 6;
  EXPECT_THAT(notes(change), Contains(HasSubstr("moves by 15 electrical degrees towards rising slot numbers; no other "
                                                "first slot comes nearer")));
  change.coil_pitch = 7;
  EXPECT_THAT(notes(change), Contains(HasSubstr("moves by 30 electrical degrees towards rising slot numbers; starting "
                                                "it 1 slot earlier keeps it")));
  change = {};
  change.connection = electric::Connection::kDelta;
  EXPECT_THAT(notes(change), Contains(HasSubstr("Between star and delta")));
}

}  // namespace
}  // namespace coilwright::plan
