// The whole plan: what must hold of every answer, and of machines at the edge of what is planned.
#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "absl/strings/match.h"
#include "plan/machines.h"
#include "plan/steps.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"
#include "standards/rules.h"
#include "standards/tables.h"

namespace coilwright::plan {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsSupersetOf;
using ::testing::Not;

std::vector<std::string> FieldsOf(const absl::Status& status) {
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
  return fields;
}

TEST(Plan, EveryRuleIsInTheRegistryOnceAndInOrder) {
  Change change;
  change.rated_volts = 460;
  Record concentric = InductionMotor();
  concentric.winding.form = winding::CoilForm::kConcentric;
  concentric.winding.coil_pitch.reset();
  concentric.winding.turns_per_coil.reset();
  concentric.winding.groups = {{{{6, 18}, {8, 18}, {10, 18}}, 12}};
  for (const Record& record : {InductionMotor(), ServoMotor(), concentric}) {
    const RewindPlan plan = PlanOf(record, change);
    EXPECT_TRUE(std::is_sorted(plan.rules.begin(), plan.rules.end()));
    EXPECT_EQ(std::set<absl::string_view>(plan.rules.begin(), plan.rules.end()).size(), plan.rules.size());
    for (const absl::string_view rule : plan.rules) EXPECT_NE(standards::FindRule(rule), nullptr) << rule;
  }
}

TEST(Plan, NamesTheRulesOfWhatItSays) {
  EXPECT_THAT(PlanOf(InductionMotor()).rules,
              IsSupersetOf({rules::density_copper, rules::density_film, rules::iec60085_thermal_class,
                            rules::iec60034_1_rise_resistance, rules::resistivity_iec_winding_wire,
                            rules::iec60034_1_temperature_copper, rules::slot_opening, rules::plan_power_check}));
  Record aluminium = ServoMotor();
  aluminium.winding.metal = standards::Metal::kAluminium;
  aluminium.plate.thermal_class = standards::FindThermalClass("200").value();
  const RewindPlan plan = PlanOf(aluminium);
  EXPECT_THAT(plan.rules, IsSupersetOf({rules::density_aluminium, rules::iec60085_thermal_class_letters_above_180}));
  EXPECT_THAT(plan.rules, Not(Contains(rules::density_copper)));
  EXPECT_THAT(plan.notes, Contains(HasSubstr("aluminium")));
}

// 1/58.5 to 61 % IACS: the same winding in aluminium has 0.028264 x 58.5 = 1.6534 of the resistance and 2703/8890 of
// the mass (IEC 60889 against IEC 60317-0-1).
TEST(Plan, AluminiumByResistivityAndDensity) {
  Record record = InductionMotor();
  const RewindPlan copper = PlanOf(record);
  record.winding.metal = standards::Metal::kAluminium;
  const RewindPlan aluminium = PlanOf(record);
  EXPECT_NEAR(
      aluminium.as_recorded.resistance[0].phase_ohms.nominal / copper.as_recorded.resistance[0].phase_ohms.nominal,
      0.028264 * 58.5, 1e-4);
  EXPECT_NEAR(aluminium.as_recorded.bare_copper_kg.nominal / copper.as_recorded.bare_copper_kg.nominal, 2703.0 / 8890,
              1e-9);
}

TEST(Plan, SaysTheSameTwice) {
  const RewindPlan one = PlanOf(ServoMotor()), two = PlanOf(ServoMotor());
  EXPECT_EQ(one.notes, two.notes);
  EXPECT_EQ(one.rules, two.rules);
  ASSERT_EQ(one.options.size(), two.options.size());
  for (size_t i = 0; i < one.options.size(); ++i) EXPECT_EQ(one.options[i].area_mm2, two.options[i].area_mm2);
}

TEST(Plan, TheFirstOptionOfAnUnchangedRecordHoldsItsArea) {
  for (const Record& record : {InductionMotor(), ServoMotor()}) {
    const RewindPlan plan = PlanOf(record);
    ASSERT_FALSE(plan.options.empty());
    EXPECT_LE(std::abs(plan.options.front().area_error_ratio), 0.01);
    EXPECT_NEAR(plan.target_area_mm2, BareMm2(record), 1e-3 * BareMm2(record));
  }
}

TEST(Plan, TheCopperInTheSlotStays) {
  Change change;
  change.rated_volts = 690;
  const Record record = InductionMotor();
  const RewindPlan plan = PlanOf(record, change);
  EXPECT_NEAR(plan.target_area_mm2 * plan.turns.turns_per_coil, 18 * plan.as_recorded.area_mm2, 1e-9);
}

TEST(Plan, EveryOptionFitsTheSlotAndPassesItsOpening) {
  const Record record = InductionMotor();
  const RewindPlan plan = PlanOf(record);
  for (const Option& option : plan.options) {
    EXPECT_LE(option.fill->fill.fullness_ratio, 0.80 + 1e-9);
    double sum = 0;
    for (const RecordedStrand& s : option.strands) {
      EXPECT_LE(s.wire.overall_mm.high, 2.6 - 2 * 0.25 - 0.2 + 1e-9);
      sum += s.wires_in_hand * s.wire.overall_mm.nominal * s.wire.overall_mm.nominal;
    }
    EXPECT_NEAR(option.fill->fill.fullness_ratio, 36 * sum / option.fill->area.net_mm2, 1e-9);
  }
}

// Wire to order: turns x coils x mean turn, 4 % leads and 8 % waste, the film at 1350 kg/m3.
TEST(Plan, OrdersByHand) {
  const Record record = InductionMotor();
  const Option& option = PlanOf(record).as_recorded;
  const wire::Wire& wire = record.winding.strands[0].wire;
  const double bare = wire.bare_mm.nominal, over = wire.overall_mm.nominal;
  const double metres = 36 * 18 * 2 * 0.52 * 1.04 * 1.08;
  ASSERT_EQ(option.orders.size(), 1u);
  EXPECT_NEAR(option.orders[0].length_m, metres, 1e-9 * metres);
  EXPECT_NEAR(option.orders[0].order_kg,
              metres * kPi / 4 * (8890 * bare * bare + 1350 * (over * over - bare * bare)) * 1e-6, 1e-9);
  EXPECT_NEAR(option.orders[0].bare_kg, BareKg(record), 1e-6);
}

// Every class in use and every voltage up to 1000 V has a material for every place; every row is the first for some
// machine, or it would be a promise that nobody ever sees.
TEST(Plan, MaterialsForEveryPlaceUpTo1000Volts) {
  const standards::Table table(standards::EmbeddedTable("materials"));
  std::set<std::string> places, used;
  for (int row = 0; row < table.rows(); ++row) places.insert(std::string(table.Text(row, "place")));
  Record record = InductionMotor();
  for (const char* name : {"90", "105", "120", "130", "155", "180", "200", "220"}) {
    record.plate.thermal_class = standards::FindThermalClass(name).value();
    for (const double volts : {1.0, 24.0, 250.0, 250.1, 600.0, 600.1, 1000.0}) {
      const std::vector<Material> materials = Materials(record, volts);
      EXPECT_EQ(materials.size(), places.size()) << name << " " << volts;
      for (const Material& m : materials) used.insert(m.place + ": " + m.material);
    }
    EXPECT_TRUE(Materials(record, 1000.1).empty());
  }
  for (int row = 0; row < table.rows(); ++row) {
    const std::string text = std::string(table.Text(row, "place")) + ": " + std::string(table.Text(row, "material"));
    EXPECT_EQ(used.count(text), 1u) << text;
  }
  record.plate.thermal_class = standards::FindThermalClass("250").value();
  EXPECT_THAT(PlanOf(record).notes, Contains(HasSubstr("No material practice")));
}

// IEC 60034-1, class F: 105 K by resistance, 110 K for small, fanless or encapsulated machines (from memory).
TEST(Plan, TheClassSetsTheRise) {
  EXPECT_THAT(PlanOf(ServoMotor()).notes, Contains(HasSubstr("at most 105 K at 40 C of ambient (110 K")));
  Record record = ServoMotor();
  record.plate.thermal_class.reset();
  EXPECT_THAT(PlanOf(record).notes, Contains(HasSubstr("class 155 (F)")));
}

TEST(Plan, MediumVoltageGetsLevelsAndIsToldWhatItIsNot) {
  Record record = InductionMotor();
  record.plate.rated_volts = 3300;
  record.winding.turns_per_coil = 148;
  record.winding.strands = {Strand("0.4 mm grade 2", 1)};
  record.plate.line_amps_rms = 0.78;
  record.resistance.reset();
  record.mass.reset();
  const RewindPlan plan = PlanOf(record);
  EXPECT_THAT(plan.notes, Contains(HasSubstr("formed coils")));
  EXPECT_THAT(plan.notes, Contains(HasSubstr("No material practice")));
  EXPECT_EQ(plan.programmes.size(), 6u);
  EXPECT_THAT(PlanOf(InductionMotor()).notes, Not(Contains(HasSubstr("formed coils"))));
}

TEST(Plan, LevelsFollowTheNewVoltageOnlyOnceRewound) {
  Change change;
  change.rated_volts = 690;
  const RewindPlan plan = PlanOf(InductionMotor(), change);
  for (const testing::Programme& programme : plan.programmes) {
    for (const testing::Step& step : programme.steps) {
      if (step.kind != testing::TestKind::kWithstandAc || step.left_out || !step.volts) continue;
      const double full = 2 * 690 + 1000;  // IEC 60034-1, 9.2, item 2: 2 U + 1000 V
      EXPECT_NEAR(*step.volts, (programme.stage == testing::Stage::kAssembled ? 1.0 : 0.8) * full, 1e-6);
    }
  }
  EXPECT_THAT(plan.turns.notes, Contains(HasSubstr("Higher voltage")));
}

TEST(Plan, IsTestedAndJudgedByTheWayThatIsWound) {
  WireChoice wires;
  wires.way = 2;
  const absl::StatusOr<RewindPlan> plan = MakePlan(ServoMotor(), {}, wires, {}, {});
  ASSERT_TRUE(plan.ok()) << plan.status();
  const ExpectedResistance& second = plan->options.at(1).resistance.at(0);
  ASSERT_NE(second.at_terminals_ohms.high, plan->options[0].resistance[0].at_terminals_ohms.high);
  EXPECT_GT(second.at_terminals_ohms.high, second.line_to_line_ohms.high);
  int held = 0;
  for (const testing::Programme& programme : plan->programmes) {
    for (const testing::Step& step : programme.steps) {
      if (step.limit.unit != "ohms") continue;
      const double share = programme.stage == testing::Stage::kWoundStarOpen ? 0.5 : 1;
      EXPECT_DOUBLE_EQ(*step.limit.low, share * second.at_terminals_ohms.low);
      EXPECT_DOUBLE_EQ(*step.limit.high, share * second.at_terminals_ohms.high);
      ++held;
    }
  }
  EXPECT_EQ(held, 4) << "wound, joined, treated and assembled";
  wires.way = static_cast<int>(plan->options.size()) + 1;
  EXPECT_THAT(FieldsOf(MakePlan(ServoMotor(), {}, wires, {}, {}).status()), Contains("way"));
}

// Flux moves by exact over whole turns (derivation): 1.6 T in the teeth become 1.9 where 2.38 turns are rounded to 2.
FindingLevel Planned(const RewindPlan& plan, absl::string_view what) {
  for (const Finding& finding : plan.findings_planned) {
    if (finding.what == what) return finding.level;
  }
  ADD_FAILURE() << "no finding on what is planned: " << what;
  return FindingLevel::kNotChecked;
}

TEST(Plan, AFluxThatLeavesTheUsualRangeIsSaid) {
  Record record = InductionMotor();
  Change change;
  EXPECT_TRUE(PlanOf(record, change).findings_planned.empty()) << "nothing is planned anew";
  change.frequency_hz = 60;  // 15 turns: whole, nothing moves
  for (const Finding& finding : PlanOf(record, change).findings_planned) {
    EXPECT_EQ(finding.level, FindingLevel::kOk) << finding.what;
  }
  record.winding.turns_per_coil = 3;
  record.plate.rated_volts = 400.0 * 3 / 18;
  record.plate.line_amps_rms = 38;
  record.winding.strands = {Strand("1 mm grade 2", 8)};
  record.resistance.reset();
  record.mass.reset();
  change.frequency_hz = 72;  // 2.08 turns: 2 take 4 % more flux
  EXPECT_EQ(Planned(PlanOf(record, change), "tooth flux density"), FindingLevel::kOk);
  change.frequency_hz = 63;  // 2.38 turns: 2 take 19 % more
  EXPECT_EQ(Planned(PlanOf(record, change), "tooth flux density"), FindingLevel::kWatch);
}

// The motor has 1.6 T in the teeth, 1.4 T in the back iron and 0.82 T in the gap by its making.
TEST(Plan, AShopSetsItsOwnFluxLevels) {
  const Record record = InductionMotor();
  Change change;
  change.rated_volts = 385;  // 17.3 turns: 17 take 2 % more flux
  EXPECT_EQ(Planned(PlanOf(record, change), "back-iron flux density"), FindingLevel::kOk);
  Settings shop;
  shop.tooth_watch_teslas = 1.55;
  shop.back_iron_watch_teslas = 1.3;
  shop.air_gap_watch_teslas = 0.8;
  const RewindPlan plan = PlanOf(record, change, shop);
  for (const char* what : {"tooth flux density", "back-iron flux density", "air-gap flux density, peak"}) {
    EXPECT_EQ(Planned(plan, what), FindingLevel::kWatch) << what;
  }
  shop.back_iron_watch_teslas = 1.0;
  EXPECT_EQ(FindingOf(PlanOf(record, {}, shop), "back-iron flux density").level, FindingLevel::kWatch);
  EXPECT_EQ(Planned(PlanOf(record, change, shop), "back-iron flux density"), FindingLevel::kAct);
}

TEST(Plan, CautionsGoWithTheMachine) {
  Record record = ServoMotor();
  EXPECT_THAT(PlanOf(record).cautions, Contains(HasSubstr("Magnet rotor")));
  EXPECT_THAT(PlanOf(record).cautions, Contains(HasSubstr("Burn-out")));
  record.potted = true;
  EXPECT_THAT(PlanOf(record).cautions, Contains(HasSubstr("no burn-out oven")));
  EXPECT_THAT(PlanOf(record).cautions, Not(Contains(HasSubstr("Burn-out:"))));
  EXPECT_THAT(PlanOf(InductionMotor()).cautions, Not(Contains(HasSubstr("Magnet rotor"))));
  EXPECT_THAT(PlanOf(InductionMotor()).cautions, Contains(HasSubstr("Keep one whole coil group")));
}

TEST(Plan, TheOpeningLimitsWhatPassesIt) {
  Record record = InductionMotor();
  record.core.opening_mm = 1.2;  // less two liners and 0.2 mm: 0.5 mm
  const RewindPlan narrow = PlanOf(record);
  for (const Option& option : narrow.options) {
    for (const RecordedStrand& s : option.strands) EXPECT_LE(s.wire.overall_mm.high, 0.5);
  }
  EXPECT_FALSE(narrow.left_out.empty());
  record.core.opening_mm = 0.6;
  EXPECT_TRUE(PlanOf(record).options.empty()) << "nothing passes, so nothing is offered";
  record.construction = Construction::kSegmented;
  EXPECT_FALSE(PlanOf(record).options.empty());
  record.construction = Construction::kNeedleWound;
  EXPECT_THAT(PlanOf(record).notes, Contains(HasSubstr("nozzle")));
}

TEST(Plan, ADriveAsksForMore) {
  Record record = ServoMotor();
  EXPECT_THAT(PlanOf(record).notes, Not(Contains(HasSubstr("Fed by a drive"))));
  record.plate.drive_fed = true;
  EXPECT_THAT(PlanOf(record).notes, Contains(HasSubstr("twice the DC bus")));
}

// IEC 60851-5 converts from 15 to 25 C only: a bench at 32 C gets no third figure, and the plan still comes.
TEST(Plan, AConversionThatDoesNotReachTheBenchLeavesItOut) {
  Settings settings;
  settings.preset = standards::ConductorPreset::kIec60851;
  settings.bench_celsius = 32;
  Record record = ServoMotor();
  EXPECT_EQ(PlanOf(record, {}, settings).as_recorded.resistance.size(), 2u);
  settings.bench_celsius = 18;
  EXPECT_EQ(PlanOf(record, {}, settings).as_recorded.resistance.size(), 3u);
}

TEST(Plan, ContradictionsComeAllAtOnce) {
  Record record = ServoMotor();
  record.plate.pole_pairs = 4;
  record.core.outer_mm = 40;
  record.winding.coil_pitch = 2;
  record.plate.kt_nm_per_arms = 1e-9;
  const absl::StatusOr<RewindPlan> plan = MakePlan(record, {}, {}, {}, {});
  EXPECT_EQ(plan.status().code(), absl::StatusCode::kInvalidArgument);
  EXPECT_THAT(
      FieldsOf(plan.status()),
      IsSupersetOf({"record.machine.nameplate.pole_pairs", "record.machine.core.outer_diameter",
                    "record.winding.coil_pitch_slots", "record.machine.nameplate.torque_constant_nm_per_arms"}));
}

// Best first: what the shop marks as tight stands after what it does not, however few its wires; a way no fuller than
// the original was is no worse than that.
TEST(Plan, TightWaysRankAfterThoseThatFit) {
  Record record = InductionMotor();
  int mixed = 0;
  const double was = PlanOf(record).as_recorded.fill->fill.fullness_ratio;
  for (const double watch : {was + 0.012, was + 0.02, was + 0.03, was + 0.04}) {
    Settings settings;
    settings.fill_levels.watch_ratio = watch;
    const RewindPlan plan = PlanOf(record, {}, settings);
    bool tight = false;
    for (const Option& option : plan.options) {
      EXPECT_FALSE(tight && option.fill->verdict == slot::FillVerdict::kOk) << watch;
      tight = tight || option.fill->verdict != slot::FillVerdict::kOk;
    }
    mixed += tight && plan.options.front().fill->verdict == slot::FillVerdict::kOk;
  }
  EXPECT_GT(mixed, 0);
  Settings strict;
  strict.fill_levels.watch_ratio = was - 0.01;
  EXPECT_EQ(PlanOf(record, {}, strict).options.front().strands.size(), record.winding.strands.size());
}

// Two coils in three of a crossed chain go 1-9, the third 1-8.
TEST(Plan, TheCoilsOfACrossedChainHaveTwoThrows) {
  Record record = InductionMotor();
  record.core.slots = 36;
  record.plate.poles = 4;
  record.winding.layers = winding::Layers::kSingle;
  record.winding.form = winding::CoilForm::kChain;
  record.winding.coil_pitch = 8;
  const absl::StatusOr<PatternSummary> pattern = SummarisePattern(record);
  ASSERT_TRUE(pattern.ok()) << pattern.status();
  EXPECT_NEAR(pattern->mean_pitch, 23.0 / 3, 1e-12);
  EXPECT_EQ(pattern->throws, "1-9, 1-8");
  EXPECT_NEAR(pattern->winding_factor, 0.9598, 5e-5);
}

// What lies beside each other is given together, and what would agree is offered with the field to leave out.
TEST(Plan, PlateValuesThatContradictSayWhatWouldAgree) {
  Record record = ServoMotor();
  record.plate.rated_torque_nm = 6.2;
  record.plate.speed_rpm = 3000;
  record.plate.rated_kw = 9;
  const double hertz = *record.plate.speed_rpm * record.plate.poles / 120;
  record.plate.frequency_hz = 2 * hertz;
  std::string text(MakePlan(record, {}, {}, {}, {}).status().message());
  EXPECT_THAT(text, HasSubstr("rated_power: got 9 kW beside 6.2 Nm at 3000 rpm, accepted: about 1.95 kW (torque times "
                              "speed), or only two of the three fields"));
  EXPECT_THAT(text, HasSubstr("accepted: about 6000 rpm (synchronous), or only one of the two fields"));
  record = InductionMotor();
  record.plate.frequency_hz = 50;
  record.plate.poles = 14;
  record.plate.speed_rpm = 1400;
  text = std::string(MakePlan(record, {}, {}, {}, {}).status().message());
  EXPECT_THAT(text, HasSubstr("accepted: 300 rpm to less than the synchronous 428.57 rpm"));
}

TEST(Plan, ConstantsOutOfThisWorldAreRefusedNotOverflowed) {
  for (const double ke : {1e-320, 1e-4, 1e6, 1e300}) {
    Record record = ServoMotor();
    record.measured_ke_ll_rms_v_per_krpm = ke;
    EXPECT_THAT(FieldsOf(MakePlan(record, {}, {}, {}, {}).status()), Contains("record.measured.voltage_constant"))
        << ke;
  }
}

// Three equal phases: every kind of group stands a multiple of three times, in whatever order it is written down.
TEST(Plan, GroupsMustServeThreePhases) {
  Record record = InductionMotor();
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = {{{{8, 18}, {8, 18}, {8, 18}}, 11}, {{{8, 18}, {8, 18}, {8, 19}}, 1}};
  EXPECT_THAT(FieldsOf(MakePlan(record, {}, {}, {}, {}).status()), Contains("record.winding.groups"));
  record.winding.groups = {{{{8, 18}, {8, 18}, {8, 18}}, 4}, {{{8, 18}, {8, 18}, {8, 18}}, 8}};
  EXPECT_TRUE(MakePlan(record, {}, {}, {}, {}).ok());
}

TEST(Plan, NoBalancedWindingNoPlan) {
  Record record = InductionMotor();
  record.plate.poles = 18;  // 36 slots, 2/3 slot per pole and phase: 36 / (3 x gcd(36, 9)) is not whole
  record.plate.frequency_hz.reset();
  record.plate.speed_rpm.reset();
  record.winding.coil_pitch = 2;
  EXPECT_EQ(MakePlan(record, {}, {}, {}, {}).status().code(), absl::StatusCode::kFailedPrecondition);
}

TEST(Plan, WithoutMeanTurnItIsEstimatedAndItsBandReachesTheResistance) {
  Record record = InductionMotor();
  record.winding.mean_turn_m.reset();
  const RewindPlan plan = PlanOf(record);
  const standards::Band& turn = plan.mean_turn.metres;
  EXPECT_LT(turn.low, turn.nominal);
  const standards::Band& ohms = plan.as_recorded.resistance[0].phase_ohms;
  EXPECT_GE(ohms.high / ohms.nominal, turn.high / turn.nominal);
  EXPECT_NEAR(ohms.nominal, turn.nominal * 216 / (58.5 * BareMm2(record)), 1e-6);
}

// 1/58.5 at 20 C, star 2 R; 25 C by (235 + 25)/255; doubling the wires in hand halves it, two circuits quarter it.
TEST(Plan, ResistanceByHandAndItsProperties) {
  Record record = InductionMotor();
  const Option one = PlanOf(record).as_recorded;
  EXPECT_NEAR(one.resistance[0].line_to_line_ohms.nominal, LineOhms(record, 20), 1e-6);
  EXPECT_NEAR(one.resistance[1].line_to_line_ohms.nominal, LineOhms(record, 25), 1e-6);
  record.winding.strands[0].wires_in_hand = 4;
  record.core.shape.reset();
  EXPECT_NEAR(PlanOf(record).as_recorded.resistance[0].phase_ohms.nominal, one.resistance[0].phase_ohms.nominal / 2,
              1e-9);
  record.winding.strands[0].wires_in_hand = 2;
  record.winding.parallel_circuits = 2;
  EXPECT_NEAR(PlanOf(record).as_recorded.resistance[0].phase_ohms.nominal, one.resistance[0].phase_ohms.nominal / 4,
              1e-9);
}

TEST(Plan, TorqueAndSpeedGiveThePowerThatThePlateLeavesOut) {
  Record record = ServoMotor();
  record.plate.rated_volts = 48;
  record.plate.rated_kw.reset();
  record.plate.rated_torque_nm = 1.0;
  record.plate.speed_rpm = 3000;
  EXPECT_NEAR(*RatedKw(record.plate), 0.3142, 1e-4);  // 1 Nm x 314.16 rad/s
  record.plate.ke_ll_rms_v_per_krpm.reset();
  record.measured_ke_ll_rms_v_per_krpm.reset();
  const RewindPlan plan = PlanOf(record);
  double release = 0;
  for (const testing::Step& step : plan.programmes.back().steps) {
    if (step.kind == testing::TestKind::kWithstandAc && !step.left_out) release = *step.volts;
  }
  EXPECT_EQ(release, 596);  // IEC 60034-1:2004 table 16 item 1: 500 V + 2 x 48 V below 1 kW and 100 V
}

TEST(Plan, ARecordThatPhysicsContradictsIsStoppedFirst) {
  Record record = InductionMotor();
  EXPECT_THAT(PlanOf(record).cautions.front(), Not(HasSubstr("STOP")));
  *record.winding.turns_per_coil *= 2;
  EXPECT_THAT(PlanOf(record).cautions.front(), HasSubstr("STOP"));
}

TEST(Plan, NestedCoilsAreToldByTheirThrows) {
  Record record = InductionMotor();
  EXPECT_EQ(PlanOf(record).pattern.throws, absl::StrCat("1-", *record.winding.coil_pitch + 1));
  record.winding.form = winding::CoilForm::kConcentric;
  record.winding.coil_pitch.reset();
  record.winding.turns_per_coil.reset();
  record.winding.groups = {{{{6, 18}, {8, 18}, {10, 18}}, 12}};
  EXPECT_EQ(PlanOf(record).pattern.throws, "1-11, 2-10, 3-9");
}

TEST(Plan, AMeanTurnPassesTheStackTwice) {
  Record record = InductionMotor();
  record.winding.mean_turn_m = 1.9e-3 * *record.core.stack_length_mm;
  EXPECT_THAT(FieldsOf(MakePlan(record, {}, {}, {}, {}).status()), Contains("record.winding.mean_turn"));
}

TEST(Plan, AHigherSpeedOfAMagnetRotorIsSaid) {
  Change change;
  change.speed_rpm = 2.0 * *ServoMotor().plate.speed_rpm;
  EXPECT_THAT(PlanOf(ServoMotor(), change).turns.notes, Contains(HasSubstr("magnets may come off")));
}

TEST(Plan, AfterAChangeBothVoltagesAreNamed) {
  Change change;
  change.rated_volts = 1.15 * InductionMotor().plate.rated_volts;
  EXPECT_THAT(PlanOf(InductionMotor(), change).notes, Contains(HasSubstr("once rewound")));
}

}  // namespace
}  // namespace coilwright::plan
