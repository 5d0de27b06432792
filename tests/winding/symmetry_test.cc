#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>

#include "standards/errors.h"
#include "standards/units.h"
#include "winding/winding.h"

namespace coilwright::winding {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr CoilForm kForms[] = {CoilForm::kLap, CoilForm::kConcentric, CoilForm::kChain, CoilForm::kToothCoil};

Symmetry Check(const Pattern& pattern) {
  const absl::StatusOr<Symmetry> symmetry = CheckSymmetry(pattern);
  EXPECT_TRUE(symmetry.ok()) << symmetry.status();
  return symmetry.value_or(Symmetry{});
}

// R. K. Srivastava, Electrical Machines, Ex 5.2 p201: 54/8 and 30/4 balance, 32/4 gives 8, 12 and 12 slots to the
// phases.
TEST(Symmetry, OfThePrintedFractionalWindings) {
  EXPECT_TRUE(Check({54, 8, 6}).balanced);
  EXPECT_TRUE(Check({30, 4, 7}).balanced);
  const Symmetry uneven = Check({32, 4, 8});
  EXPECT_FALSE(uneven.balanced);
  EXPECT_THAT(uneven.reason, HasSubstr("not a multiple of 3"));
  EXPECT_THAT(uneven.nearest_slots, ElementsAre(30, 33));
  EXPECT_EQ(uneven.greatest_circuits, 0);
  EXPECT_THAT(uneven.permitted_circuits, IsEmpty());
}

TEST(Symmetry, NamesTheFractionInThirds) {
  const Symmetry symmetry = Check({48, 6, 7});
  EXPECT_FALSE(symmetry.balanced);
  EXPECT_THAT(symmetry.reason, HasSubstr("2 2/3 slots per pole and phase"));
  EXPECT_THAT(symmetry.nearest_slots, ElementsAre(45, 54));
  EXPECT_EQ(symmetry.slots_per_pole_phase_num, 8);
  EXPECT_EQ(symmetry.slots_per_pole_phase_den, 3);
  EXPECT_FALSE(Check({36, 18, 2}).balanced);
  EXPECT_FALSE(Check({24, 6, 4}).balanced);
  EXPECT_FALSE(Check({42, 6, 7}).balanced);  // q = 7/3, used as an example in print all the same
}

TEST(Symmetry, ExplainsSingleLayers) {
  EXPECT_THAT(Check({27, 6, 3, Layers::kSingle}).reason, HasSubstr("27 is odd"));
  EXPECT_THAT(Check({27, 6, 3, Layers::kSingle}).nearest_slots, ElementsAre(18, 36));
  EXPECT_THAT(Check({24, 4, 4, Layers::kSingle}).reason, HasSubstr("pitch must be odd"));
  EXPECT_THAT(Check({24, 4, 4, Layers::kSingle}).nearest_slots, IsEmpty());
  const Symmetry concentric = Check({36, 4, 8, Layers::kSingle, CoilForm::kConcentric});
  EXPECT_THAT(concentric.reason, HasSubstr("mean pitch of 9 slots"));
  EXPECT_TRUE(Check({36, 4, 9, Layers::kSingle, CoilForm::kConcentric}).balanced);
  EXPECT_THAT(Check({30, 4, 7, Layers::kSingle, CoilForm::kConcentric}).reason, HasSubstr("2 1/2"));
  EXPECT_THAT(Check({24, 4, 12}).reason, HasSubstr("links no flux"));
}

// Balanced slot numbers at 720 pairs of slots (in threes) and poles: 540, counted by building each star.
TEST(Symmetry, AgreesWithTheStarOfSlotsBuiltByHand) {
  int balanced = 0;
  for (int slots = 3; slots <= 72; slots += 3) {
    for (int poles = 2; poles <= 60; poles += 2) {
      std::map<int, int> spokes;
      for (int slot = 0; slot < slots; ++slot) ++spokes[slot * (poles / 2) % slots];
      // Three equal phases need the star to look the same after a turn of 120 degrees.
      const bool even_thirds = spokes.count(slots / 3) > 0;
      const int pitch = poles % (2 * slots) == 0 ? 2 : 1;  // one that links flux
      EXPECT_EQ(Check({slots, poles, pitch}).balanced, even_thirds) << slots << "/" << poles;
      balanced += even_thirds;
    }
  }
  EXPECT_EQ(balanced, 540);
}

struct CircuitCase {
  int slots, poles, pitch;
  Layers layers;
  CoilForm form;
  int greatest;
};

// NAVEDTRA 14344 ch. 7 figs 7-60 to 7-63: 4 poles in series or in two parallel circuits. Singh Ex 1.1: four like
// groups. The rest by the closed rule poles / denominator of q and by the star of the coils.
TEST(Symmetry, FindsTheParallelCircuits) {
  const Layers one = Layers::kSingle, two = Layers::kDouble;
  const CoilForm lap = CoilForm::kLap, tooth = CoilForm::kToothCoil;
  for (const CircuitCase& c : {CircuitCase{24, 4, 5, two, lap, 4},
                               {36, 6, 5, two, lap, 6},
                               {27, 6, 4, two, lap, 3},
                               {45, 6, 7, two, lap, 3},
                               {54, 8, 6, two, lap, 2},
                               {30, 4, 7, two, lap, 2},
                               {36, 8, 4, two, lap, 4},
                               {9, 8, 1, two, tooth, 1},
                               {12, 10, 1, two, tooth, 2},
                               {12, 8, 1, two, tooth, 4},
                               {24, 22, 1, two, tooth, 2},
                               {48, 40, 1, two, tooth, 8},
                               {12, 10, 1, one, tooth, 2},
                               {18, 16, 1, one, tooth, 1},
                               {24, 20, 1, one, tooth, 4},
                               {36, 30, 1, one, tooth, 6},
                               {18, 12, 1, one, tooth, 3},
                               {6, 4, 1, one, tooth, 1},
                               {24, 4, 5, one, CoilForm::kChain, 4},
                               {36, 4, 9, one, CoilForm::kConcentric, 2},
                               {24, 4, 6, one, CoilForm::kConcentric, 2},
                               {24, 4, 5, one, CoilForm::kConcentric, 4},
                               {48, 4, 10, one, CoilForm::kLap, 4}}) {
    EXPECT_EQ(Check({c.slots, c.poles, c.pitch, c.layers, c.form}).greatest_circuits, c.greatest)
        << c.slots << "/" << c.poles << " pitch " << c.pitch;
  }
  EXPECT_THAT(Check({36, 6, 5}).permitted_circuits, ElementsAre(1, 2, 3, 6));
  EXPECT_THAT(Check({27, 6, 4}).permitted_circuits, ElementsAre(1, 3));
}

TEST(Symmetry, CountsCoggingPeriods) {
  EXPECT_EQ(Check({12, 10, 1}).cogging_periods_per_rev, 60);
  EXPECT_EQ(Check({9, 8, 1}).cogging_periods_per_rev, 72);
  EXPECT_EQ(Check({18, 8, 2}).cogging_periods_per_rev, 72);
  EXPECT_EQ(Check({36, 4, 9}).cogging_periods_per_rev, 36);
}

// The emf of a coil, rounded so that equal emfs compare equal.
std::pair<long, long> RoundedEmf(const Pattern& pattern, const Coil& coil) {
  const auto side = [&](int slot) {
    return std::polar(1.0, 2 * standards::kPi * (pattern.poles / 2) * slot / pattern.slots);
  };
  const std::complex<double> emf = static_cast<double>(coil.sign) * (side(coil.go_slot) - side(coil.return_slot));
  return {std::lround(emf.real() * 1e6), std::lround(emf.imag() * 1e6)};
}

void ExpectSoundLayout(const Pattern& pattern, const Symmetry& symmetry) {
  const std::vector<Coil> coils = *Coils(pattern);
  ASSERT_EQ(static_cast<int>(coils.size()), CoilCount(pattern));
  ASSERT_EQ(coils.front().phase, 0);
  ASSERT_EQ(coils.front().go_slot, 1);
  ASSERT_EQ(coils.front().sign, 1);
  std::vector<int> sides(static_cast<size_t>(pattern.slots) + 1);
  std::complex<double> emf[3];
  int count[3] = {};
  std::map<std::tuple<long, long, int>, int> alike;
  for (const Coil& coil : coils) {
    ++sides.at(static_cast<size_t>(coil.go_slot));
    ++sides.at(static_cast<size_t>(coil.return_slot));
    ++count[coil.phase];
    const auto [real, imaginary] = RoundedEmf(pattern, coil);
    emf[coil.phase] += std::complex<double>(static_cast<double>(real), static_cast<double>(imaginary)) * 1e-6;
    const int span = (coil.return_slot - coil.go_slot + pattern.slots) % pattern.slots;
    if (coil.phase == 0) ++alike[{real, imaginary, span}];
  }
  const int per_slot = pattern.layers == Layers::kDouble ? 2 : 1;
  for (int slot = 1; slot <= pattern.slots; ++slot) ASSERT_EQ(sides[static_cast<size_t>(slot)], per_slot) << slot;
  ASSERT_EQ(count[0], count[1]);
  ASSERT_EQ(count[0], count[2]);
  const std::complex<double> third = std::polar(1.0, 2 * standards::kPi / 3);
  ASSERT_LT(std::abs(emf[1] - emf[0] * third), 1e-3);
  ASSERT_LT(std::abs(emf[2] - emf[1] * third), 1e-3);
  ASSERT_GT(std::abs(emf[0]), 1e-3);
  // Equal circuits take like coils alike, equal in emf and in length: their number divides how often each coil occurs.
  int circuits = 0;
  for (const auto& [value, times] : alike) circuits = std::gcd(circuits, times);
  ASSERT_EQ(symmetry.greatest_circuits, circuits);
}

TEST(Coils, FillEverySlotAndBalanceInEveryForm) {
  int laid_out = 0;
  for (int slots = 3; slots <= 72; slots += 3) {
    for (int poles = 2; poles <= 28; poles += 2) {
      for (Layers layers : {Layers::kSingle, Layers::kDouble}) {
        for (CoilForm form : kForms) {
          for (int pitch : {1, 2, 5, slots / poles - slots / poles / 6, slots / poles - 1, slots / poles}) {
            const Pattern pattern = {slots, poles, pitch, layers, form};
            const absl::StatusOr<Symmetry> symmetry = CheckSymmetry(pattern);
            if (!symmetry.ok()) continue;
            ASSERT_EQ(symmetry->balanced, symmetry->reason.empty());
            ASSERT_EQ(symmetry->balanced, Coils(pattern).ok());
            if (!symmetry->balanced) continue;
            SCOPED_TRACE(testing::Message() << slots << "/" << poles << " pitch " << pitch << " layers "
                                            << static_cast<int>(layers) << " form " << static_cast<int>(form));
            ExpectSoundLayout(pattern, *symmetry);
            if (HasFatalFailure()) return;
            ++laid_out;
          }
        }
      }
    }
  }
  EXPECT_GT(laid_out, 2000);
}

std::vector<std::string> WrongFields(const Pattern& pattern) {
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(CheckSymmetry(pattern).status())) {
    fields.push_back(error.field);
  }
  return fields;
}

TEST(Pattern, IsRefusedOutsideItsRangesWithEveryWrongField) {
  EXPECT_THAT(WrongFields({0, 0, 0}), ElementsAre("slots", "poles", "coil_pitch"));
  EXPECT_THAT(WrongFields({-36, 5, 8}), ElementsAre("slots", "poles"));
  EXPECT_THAT(WrongFields({1000000000, 1000000000, 1000000000}), ElementsAre("slots", "poles", "coil_pitch"));
  EXPECT_THAT(WrongFields({2, 2, 1}), ElementsAre("slots"));
  EXPECT_THAT(WrongFields({721, 4, 8}), ElementsAre("slots"));
  EXPECT_THAT(WrongFields({36, 3, 8}), ElementsAre("poles"));
  EXPECT_THAT(WrongFields({36, 122, 8}), ElementsAre("poles"));
  EXPECT_THAT(WrongFields({36, 4, 0}), ElementsAre("coil_pitch"));
  EXPECT_THAT(WrongFields({36, 4, 36}), ElementsAre("coil_pitch"));
  EXPECT_THAT(WrongFields({12, 10, 2, Layers::kDouble, CoilForm::kToothCoil}), ElementsAre("coil_pitch"));
  EXPECT_THAT(WrongFields({24, 4, 5, Layers::kDouble, CoilForm::kChain}), ElementsAre("form"));
  for (const Pattern& edge : {Pattern{3, 2, 1}, Pattern{720, 120, 2}, Pattern{720, 2, 719}, Pattern{36, 4, 35}}) {
    EXPECT_THAT(WrongFields(edge), IsEmpty()) << edge.slots;
  }
}

// What the form means: one side of every coil in an odd and one in an even slot, so that coils start in every second.
TEST(Symmetry, AChainStartsInEverySecondSlotAndALapFillsItsBelts) {
  const auto chain = Coils({36, 4, 9, Layers::kSingle, CoilForm::kChain});
  const auto lap = Coils({36, 4, 9, Layers::kSingle, CoilForm::kLap});
  ASSERT_TRUE(chain.ok() && lap.ok());
  for (const Coil& coil : *chain) EXPECT_EQ(coil.go_slot % 2, 1) << coil.go_slot;
  for (size_t i = 0; i < 3; ++i) EXPECT_EQ((*lap)[i].go_slot, static_cast<int>(i) + 1);
  EXPECT_THAT(Check({24, 4, 6, Layers::kSingle, CoilForm::kChain}).reason, testing::HasSubstr("form lap"));
}

}  // namespace
}  // namespace coilwright::winding
