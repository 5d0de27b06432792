#include "winding/compare.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cctype>
#include <cmath>

#include "standards/errors.h"
#include "winding/field.h"
#include "winding/short_names.h"

namespace coilwright::winding {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

Layout LaidBy(const Placement& placement) {
  const absl::StatusOr<Layout> layout = LaidOut(placement);
  EXPECT_TRUE(layout.ok()) << layout.status();
  return layout.value_or(Layout{});
}

// Coils of one pitch in every `step`-th slot, a letter each, small where reversed.
Layout FromLetters(int slots, int poles, int pitch, int step, const std::string& letters) {
  std::vector<Coil> coils;
  for (size_t i = 0; i < letters.size(); ++i) {
    const int go = static_cast<int>(i) * step + 1;
    const int phase = std::toupper(letters[i]) - 'A';
    coils.push_back({phase, go, (go + pitch - 1) % slots + 1, std::isupper(letters[i]) != 0 ? 1 : -1});
  }
  const absl::StatusOr<Layout> layout = Traced(slots, poles, MachineEnd::kNonDrive, coils);
  EXPECT_TRUE(layout.ok()) << layout.status();
  return layout.value_or(Layout{});
}

struct Printed {
  const char* source;
  Pattern pattern;
  int step;
  const char* letters;
};

// Layouts in print or, for tooth coils, recalled from the literature (Cros and Viarouge 2002; Bianchi 2006).
TEST(Compare, FindsEveryPrintedLayoutInTheComputedOne) {
  for (const Printed& printed : {
           Printed{
               "T. Singh, Electrical Machines II, Ex 1.1 p24", {24, 4, 5, kOne, CoilForm::kChain}, 2, "AcBaCbAcBaCb"},
           Printed{"T. Singh, Ex 1.2 p28", {24, 4, 5}, 1, "AAccBBaaCCbbAAccBBaaCCbb"},
           Printed{"memory", {3, 2, 1, kTwo, kTooth}, 1, "ABC"},
           Printed{"memory", {3, 4, 1, kTwo, kTooth}, 1, "ABC"},
           Printed{"memory", {12, 8, 1, kTwo, kTooth}, 1, "ABCABCABCABC"},
           Printed{"memory", {9, 8, 1, kTwo, kTooth}, 1, "AaABbBCcC"},
           Printed{"memory", {9, 10, 1, kTwo, kTooth}, 1, "AaABbBCcC"},
           Printed{"memory", {12, 10, 1, kTwo, kTooth}, 1, "AabBCcaABbcC"},
           Printed{"memory", {12, 14, 1, kTwo, kTooth}, 1, "AacCBbaACcbB"},
           Printed{"memory", {15, 14, 1, kTwo, kTooth}, 1, "AaAaABbBbBCcCcC"},
           Printed{"memory", {18, 16, 1, kTwo, kTooth}, 1, "AaABbBCcCAaABbBCcC"},
           Printed{"memory", {24, 22, 1, kTwo, kTooth}, 1, "AaAabBbBCcCcaAaABbBbcCcC"},
       }) {
    const Layout in_print = FromLetters(printed.pattern.slots, printed.pattern.poles, printed.pattern.coil_pitch,
                                        printed.step, printed.letters);
    const Comparison comparison = CompareLayouts(in_print, LaidBy({printed.pattern}));
    EXPECT_TRUE(comparison.electrically_equivalent) << printed.source << " " << printed.letters;
    EXPECT_TRUE(comparison.same_coils) << printed.letters;
    EXPECT_EQ(comparison.turns_ratio, 1);
  }
}

// The same coils serve 9/8 and 9/10 and turn the other way: the poles decide.
TEST(Compare, SeesTheSenseTurnWithThePoles) {
  const Field eight = FieldOf(FromLetters(9, 8, 1, 1, "AaABbBCcC"));
  const Field ten = FieldOf(FromLetters(9, 10, 1, 1, "AaABbBCcC"));
  EXPECT_NE(eight.clockwise_from_drive_end, ten.clockwise_from_drive_end);
  const Comparison comparison =
      CompareLayouts(FromLetters(9, 8, 1, 1, "AaABbBCcC"), FromLetters(9, 10, 1, 1, "AaABbBCcC"));
  EXPECT_FALSE(comparison.electrically_equivalent);
  EXPECT_THAT(comparison.differences, ElementsAre(HasSubstr("9 slots and 8 poles")));
}

TEST(Compare, OfALayoutWithItselfIsNoChange) {
  for (const Pattern& pattern : {Pattern{36, 4, 8}, Pattern{27, 6, 4}, Pattern{12, 10, 1, kTwo, kTooth},
                                 Pattern{24, 4, 5, kOne, CoilForm::kChain}, Pattern{720, 120, 2}}) {
    const Comparison same = CompareLayouts(LaidBy({pattern}), LaidBy({pattern}));
    EXPECT_TRUE(same.electrically_equivalent && same.drop_in && same.same_coils && same.same_sense);
    EXPECT_FALSE(same.transform.mirrored);
    EXPECT_EQ(same.transform.slots, 0);
    EXPECT_THAT(same.transform.signs, ElementsAre(1, 1, 1));
    EXPECT_THAT(same.differences, IsEmpty());
    EXPECT_THAT(same.axis_shift_electrical_degrees, ElementsAre(0, 0, 0));
  }
}

// One slot of a 24-slot four-pole machine is 30 electrical degrees: the winding is the same and the drive's angle is
// not. A pole pair, twelve slots, moves no axis; nor does a pole with every phase reversed.
TEST(Compare, TurnedBySlotsIsADropInOnlyOnTheSamePoles) {
  const Placement here = {{24, 4, 5}};
  Placement there = here;
  there.first_slot = 2;
  const Comparison one_slot = CompareLayouts(LaidBy(here), LaidBy(there));
  EXPECT_TRUE(one_slot.electrically_equivalent && one_slot.same_sense);
  EXPECT_FALSE(one_slot.drop_in);
  EXPECT_EQ(one_slot.transform.slots, 1);
  EXPECT_NEAR(one_slot.axis_shift_electrical_degrees[0], 30, 1e-9);
  EXPECT_THAT(one_slot.differences, Contains(HasSubstr("axis of U moves by 30")));
  there.first_slot = 13;
  EXPECT_TRUE(CompareLayouts(LaidBy(here), LaidBy(there)).drop_in);
  there.first_slot = 7;
  const Comparison reversed = CompareLayouts(LaidBy(here), LaidBy(there));
  EXPECT_FALSE(reversed.drop_in);
  EXPECT_NEAR(std::abs(reversed.axis_shift_electrical_degrees[0]), 180, 1e-9);
}

// By hand, 9/8 from slot 1: U is 1-2, 8-9 and 9-1 reversed. Numbered in a mirror (k to 2 - k) those are 9-1, 2-3 and
// 1-2 reversed, axis 360 - 100 = 260; it turns the other way, and no renaming makes it a drop-in.
TEST(Compare, MirroredIsNeverADropIn) {
  const Layout straight = LaidBy({{9, 8, 1, kTwo, kTooth}});
  Layout mirror = FromOtherEnd(straight);
  mirror.connection_end = straight.connection_end;
  std::vector<std::string> u;
  for (const Coil& coil : mirror.coils) {
    if (coil.phase == 0) u.push_back(absl::StrCat(coil.go_slot, "-", coil.return_slot, coil.sign > 0 ? "+" : "-"));
  }
  EXPECT_THAT(u, testing::UnorderedElementsAre("9-1+", "2-3+", "1-2-"));
  EXPECT_NEAR(FieldOf(mirror).axis_electrical_degrees[0], 260, 1e-9);
  const Comparison comparison = CompareLayouts(straight, mirror);
  EXPECT_TRUE(comparison.electrically_equivalent && comparison.same_coils);
  EXPECT_FALSE(comparison.drop_in);
  EXPECT_FALSE(comparison.same_sense);
  // The same stator numbered from the other end is itself.
  EXPECT_TRUE(CompareLayouts(straight, FromOtherEnd(straight)).drop_in);
  EXPECT_TRUE(CompareLayouts(FromOtherEnd(straight), straight).drop_in);
  EXPECT_EQ(FieldOf(FromOtherEnd(straight)).clockwise_from_drive_end, FieldOf(straight).clockwise_from_drive_end);
}

// By hand, 36 slots and 6 poles: U spans 6, 4 and 2 slots about slots 4, 16 and 28, one a pole pair, which no turn
// makes 6, 2 and 4. V and W lie on the same electrical axis, the one case in which a mirror about slot 4 moves none.
TEST(Compare, MirroredIsNeverADropInEvenWhereNoAxisMoves) {
  const MachineEnd end = MachineEnd::kNonDrive;
  const Layout first =
      *Traced(36, 6, end, {{0, 1, 7, 1}, {0, 14, 18, 1}, {0, 27, 29, 1}, {1, 2, 6, 1}, {2, 13, 19, 1}});
  const Layout mirror =
      *Traced(36, 6, end, {{0, 1, 7, 1}, {0, 26, 30, 1}, {0, 15, 17, 1}, {1, 2, 6, 1}, {2, 25, 31, 1}});
  const Comparison comparison = CompareLayouts(first, mirror);
  EXPECT_TRUE(comparison.electrically_equivalent && comparison.transform.mirrored);
  EXPECT_THAT(comparison.axis_shift_electrical_degrees, ElementsAre(0, 0, 0));
  EXPECT_FALSE(comparison.drop_in);
}

TEST(Compare, RenamedPhasesAreNeverADropIn) {
  Placement against = {{36, 4, 8}};
  against.phase_order = PhaseOrder::kAgainstSlots;
  const Comparison comparison = CompareLayouts(LaidBy({{36, 4, 8}}), LaidBy(against));
  EXPECT_TRUE(comparison.electrically_equivalent && comparison.same_coils);
  EXPECT_FALSE(comparison.drop_in);
  EXPECT_FALSE(comparison.same_sense);
  EXPECT_THAT(comparison.transform.phase_of, ElementsAre(0, 2, 1));
  EXPECT_EQ(comparison.transform.slots, 0);
  EXPECT_THAT(comparison.differences, Contains(HasSubstr("turns the other way")));
  // U to V to W to U keeps the sense and moves every axis by 120.
  Layout cyclic = LaidBy({{36, 4, 8}});
  for (Coil& coil : cyclic.coils) coil.phase = (coil.phase + 1) % 3;
  const Comparison turned = CompareLayouts(LaidBy({{36, 4, 8}}), cyclic);
  EXPECT_TRUE(turned.electrically_equivalent && turned.same_sense);
  EXPECT_FALSE(turned.drop_in);
  EXPECT_NEAR(turned.axis_shift_electrical_degrees[0], -120, 1e-9);
}

// By hand, 12 slots and 2 poles, one coil a phase about slots 4, 8 and 12, 120 degrees apart: the long coil, which U
// has in the first, V has in the second. Turned by four slots and renamed they are one winding, no axis moves and no
// phase is reversed, yet a drive that knew U by its coil finds it in V.
TEST(Compare, UnlikePhasesThatChangedPlacesAreNeverADropIn) {
  const Layout first = *Traced(12, 2, MachineEnd::kNonDrive, {{0, 1, 7, 1}, {1, 6, 10, 1}, {2, 10, 2, 1}});
  const Layout second = *Traced(12, 2, MachineEnd::kNonDrive, {{0, 2, 6, 1}, {1, 5, 11, 1}, {2, 10, 2, 1}});
  const Comparison comparison = CompareLayouts(first, second);
  EXPECT_TRUE(comparison.electrically_equivalent && comparison.same_coils && comparison.same_sense);
  EXPECT_THAT(comparison.axis_shift_electrical_degrees, ElementsAre(0, 0, 0));
  EXPECT_THAT(comparison.transform.phase_of, ElementsAre(1, 2, 0));
  EXPECT_THAT(comparison.transform.signs, ElementsAre(1, 1, 1));
  EXPECT_EQ(comparison.transform.slots, 4);
  EXPECT_FALSE(comparison.drop_in);
}

// Full belts of one layer: concentric coils 1-8 round 2-7 and lap coils 1-7, 2-8 put the same currents in the same
// slots with other spans. Two layers of the full pitch hold two sides a slot: half the turns a coil.
TEST(Compare, LooksAtCurrentsAndSaysWhereCoilsDiffer) {
  const Layout concentric = LaidBy({{24, 4, 6, kOne, CoilForm::kConcentric}});
  const Comparison joined = CompareLayouts(concentric, LaidBy({{24, 4, 6, kOne, CoilForm::kLap}}));
  EXPECT_TRUE(joined.electrically_equivalent && joined.drop_in);
  EXPECT_FALSE(joined.same_coils);
  EXPECT_THAT(joined.differences, ElementsAre(HasSubstr("span other slots")));
  const Comparison layers = CompareLayouts(LaidBy({{24, 4, 6}}), concentric);
  EXPECT_TRUE(layers.electrically_equivalent && layers.drop_in);
  EXPECT_EQ(layers.turns_ratio, 2);
  EXPECT_EQ(CompareLayouts(concentric, LaidBy({{24, 4, 6}})).turns_ratio, 0.5);
  EXPECT_FALSE(CompareLayouts(LaidBy({{24, 4, 5}}), LaidBy({{24, 4, 6}})).electrically_equivalent);
}

// One coil of 36 reversed or one of another phase is another winding.
TEST(Compare, SeesOneWrongCoil) {
  for (size_t i = 0; i < 36; i += 5) {
    Layout wrong = LaidBy({{36, 4, 8}});
    wrong.coils[i].sign = -wrong.coils[i].sign;
    EXPECT_FALSE(CompareLayouts(LaidBy({{36, 4, 8}}), wrong).electrically_equivalent);
    wrong = LaidBy({{36, 4, 8}});
    wrong.coils[i].phase = (wrong.coils[i].phase + 1) % 3;
    EXPECT_FALSE(CompareLayouts(LaidBy({{36, 4, 8}}), wrong).electrically_equivalent);
  }
}

// A transform that is found, applied by hand to the first, gives the second; and any turned, mirrored, renamed and
// reversed copy is found.
TEST(Compare, FindsEveryDisguise) {
  int found = 0;
  for (const Pattern& pattern : {Pattern{27, 6, 4}, Pattern{12, 14, 1, kTwo, kTooth}, Pattern{18, 4, 4},
                                 Pattern{24, 4, 5, kOne, CoilForm::kChain}}) {
    const Layout original = LaidBy({pattern});
    for (int turned = 0; turned < pattern.slots; turned += 5) {
      for (const bool mirrored : {false, true}) {
        for (const int shift : {0, 1, 2}) {
          Layout disguised = mirrored ? FromOtherEnd(original) : original;
          disguised.connection_end = original.connection_end;
          for (Coil& coil : disguised.coils) {
            coil.go_slot = (coil.go_slot + turned - 1) % pattern.slots + 1;
            coil.return_slot = (coil.return_slot + turned - 1) % pattern.slots + 1;
            coil.phase = (coil.phase + shift) % 3;
            if (coil.phase == 1) coil.sign = -coil.sign;
          }
          const Comparison comparison = CompareLayouts(original, disguised);
          ASSERT_TRUE(comparison.electrically_equivalent && comparison.same_coils);
          ASSERT_FALSE(comparison.drop_in);
          ++found;
        }
      }
    }
  }
  EXPECT_GT(found, 90);
}

TEST(Traced, RefusesWhatCannotBeInACore) {
  const auto fields = [](const std::vector<Coil>& coils) {
    std::vector<std::string> wrong;
    for (const auto& error : standards::FieldErrorsOf(Traced(6, 2, MachineEnd::kDrive, coils).status())) {
      wrong.push_back(error.field);
    }
    return wrong;
  };
  EXPECT_THAT(fields({{0, 1, 4, 1}, {1, 3, 6, 1}, {2, 5, 2, 1}}), IsEmpty());
  EXPECT_THAT(fields({{0, 1, 4, 1}, {1, 3, 6, 1}}), ElementsAre("coils"));
  EXPECT_THAT(fields({{0, 1, 1, 1}, {3, 3, 7, 1}, {2, 0, 2, 1}}),
              ElementsAre("coils[0].return_slot", "coils[1].return_slot", "coils[1].phase", "coils[2].go_slot"));
  EXPECT_THAT(fields({{0, 1, 4, 1}, {1, 4, 6, 1}, {2, 5, 4, 1}}), ElementsAre("coils[2]"));
  EXPECT_THAT(fields(std::vector<Coil>(7, Coil{0, 1, 2, 1})), ElementsAre("coils"));
  EXPECT_EQ(Traced(2, 3, MachineEnd::kDrive, {}).status().code(), absl::StatusCode::kInvalidArgument);
  // Coils that cancel in every slot carry nothing to compare.
  const Layout nothing = *Traced(6, 2, MachineEnd::kDrive,
                                 {{0, 1, 2, 1}, {0, 2, 1, 1}, {1, 3, 4, 1}, {1, 4, 3, 1}, {2, 5, 6, 1}, {2, 6, 5, 1}});
  EXPECT_FALSE(CompareLayouts(nothing, nothing).electrically_equivalent);
  EXPECT_EQ(FieldOf(nothing).differential_leakage, 0);
  EXPECT_TRUE(WavesOf(nothing, 10).empty());
}

TEST(Neighbours, OfAnUnbalancedPairAreTheNextThatBalance) {
  const Neighbours near = BalancedNeighbours({42, 6, 7});
  EXPECT_THAT(near.slots, ElementsAre(36, 45));
  EXPECT_THAT(near.poles, ElementsAre(4, 8));
  EXPECT_THAT(near.pitches, IsEmpty());
  EXPECT_THAT(BalancedNeighbours({24, 4, 4, kOne}).pitches, ElementsAre(3, 5));
  EXPECT_THAT(BalancedNeighbours({36, 4, 8, kOne, CoilForm::kConcentric}).pitches, ElementsAre(9));
  EXPECT_THAT(BalancedNeighbours({32, 4, 8}).poles, IsEmpty());
}

TEST(Compare, HoldsTheAxesOfTheLeadsAgainstEachOther) {
  const auto star = LaidOut({{24, 4, 5}, 1});
  const Comparison joined = CompareLayouts(*star, *star, PhaseEnds::kStar, PhaseEnds::kDelta);
  EXPECT_TRUE(joined.electrically_equivalent);
  EXPECT_FALSE(joined.drop_in);
  EXPECT_NEAR(joined.axis_shift_electrical_degrees[0], 30, 1e-9);
  EXPECT_NEAR(joined.turns_ratio, std::sqrt(3.0), 1e-12);
  EXPECT_TRUE(CompareLayouts(*star, *star, PhaseEnds::kDelta, PhaseEnds::kDelta).drop_in);
  // One slot of 24 at four poles is 30 electrical degrees: a delta that starts one slot before lies on the star.
  EXPECT_TRUE(CompareLayouts(*star, *LaidOut({{24, 4, 5}, 24}), PhaseEnds::kStar, PhaseEnds::kDelta).drop_in);
  EXPECT_NEAR(CompareLayouts(*star, *star, PhaseEnds::kDelta, PhaseEnds::kStar).turns_ratio, 1 / std::sqrt(3.0), 1e-12);
}

// The three coils of two poles in six slots lie at 60 degrees; W the other way round lies at 240.
TEST(Compare, SaysWhichPhaseIsBackwards) {
  const auto wrong = Traced(6, 2, MachineEnd::kNonDrive, {{0, 1, 4, 1}, {2, 2, 5, 1}, {1, 3, 6, 1}});
  const auto right = Traced(6, 2, MachineEnd::kNonDrive, {{0, 1, 4, 1}, {2, 5, 2, 1}, {1, 3, 6, 1}});
  ASSERT_TRUE(wrong.ok() && right.ok());
  const Comparison comparison = CompareLayouts(*right, *wrong);
  ASSERT_FALSE(comparison.differences.empty());
  EXPECT_THAT(comparison.differences.front(),
              testing::AllOf(testing::HasSubstr("second layout"), testing::HasSubstr("with W reversed")));
  EXPECT_EQ(WhyUneven(*right, FieldOf(*right)), "");
  EXPECT_THAT(CheckTraced(*wrong).reason, testing::HasSubstr("with W reversed"));
}

TEST(Compare, CountsCoilsOfTheSameSpan) {
  const auto twelve = LaidOut({{24, 4, 6, Layers::kSingle}}), all = LaidOut({{24, 4, 6}});
  ASSERT_TRUE(twelve.ok() && all.ok());
  const Comparison comparison = CompareLayouts(*all, *twelve);
  EXPECT_TRUE(comparison.electrically_equivalent);
  EXPECT_THAT(comparison.differences,
              testing::Contains(testing::HasSubstr("24 coils, the second 12 of the same span")));
}

}  // namespace
}  // namespace coilwright::winding
