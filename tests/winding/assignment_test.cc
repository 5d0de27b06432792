// Brute force over assignments of coils or slots to phases: none that puts three equal phases 120 degrees apart has a
// greater factor of the working wave than the star of slots gives.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <map>
#include <utility>
#include <vector>

#include "standards/units.h"
#include "winding/field.h"

namespace coilwright::winding {
namespace {

using Phasor = std::complex<double>;

using standards::kPi;
constexpr double kSame = 1e-9;

// What one phase may take: members of a mask, each with a sense.
struct Choice {
  unsigned mask;
  Phasor sum;
};

// Every choice of `size` of the phasors, each either way round; with `as_many_back` half of them reversed.
std::vector<Choice> Choices(const std::vector<Phasor>& phasors, int size, bool as_many_back) {
  std::vector<Choice> found;
  const auto pick = [&](const auto& self, size_t from, int left, int reversed, Choice choice) -> void {
    if (left == 0) {
      if (!as_many_back || 2 * reversed == size) found.push_back(choice);
      return;
    }
    for (size_t i = from; i + static_cast<size_t>(left) <= phasors.size(); ++i) {
      const unsigned mask = choice.mask | 1U << i;
      self(self, i + 1, left - 1, reversed, {mask, choice.sum + phasors[i]});
      self(self, i + 1, left - 1, reversed + 1, {mask, choice.sum - phasors[i]});
    }
  };
  pick(pick, 0, size, 0, {0, 0});
  return found;
}

// Equal sums have equal keys; the odd share keeps them off the edges between keys.
std::pair<long, long> Key(const Phasor& sum) {
  return {std::lround(sum.real() * 1e6 + 0.1234), std::lround(sum.imag() * 1e6 + 0.1234)};
}

// The greatest phase emf of three disjoint choices of a third of the phasors each, equal and 120 degrees apart either
// way round.
double GreatestBalanced(const std::vector<Phasor>& phasors, bool as_many_back) {
  std::vector<Choice> choices = Choices(phasors, static_cast<int>(phasors.size()) / 3, as_many_back);
  std::map<std::pair<long, long>, std::vector<unsigned>> masks_of;
  for (const Choice& choice : choices) masks_of[Key(choice.sum)].push_back(choice.mask);
  const auto with = [&](const Phasor& sum) -> const std::vector<unsigned>& {
    static const std::vector<unsigned> none;
    const auto found = masks_of.find(Key(sum));
    return found == masks_of.end() ? none : found->second;
  };
  double greatest = 0;
  for (const Choice& u : choices) {
    if (std::abs(u.sum) < greatest + kSame) continue;
    for (const double way : {1.0, -1.0}) {
      const Phasor turn = std::polar(1.0, way * 2 * kPi / 3);
      const std::vector<unsigned>& third = with(u.sum * turn * turn);
      if (third.empty()) continue;
      for (const unsigned v : with(u.sum * turn)) {
        const unsigned taken = u.mask | v;
        if ((u.mask & v) == 0 &&
            std::any_of(third.begin(), third.end(), [&](unsigned w) { return (w & taken) == 0; })) {
          greatest = std::abs(u.sum);
          break;
        }
      }
      if (greatest > std::abs(u.sum) - kSame) break;
    }
  }
  return greatest;
}

std::vector<Phasor> Star(int slots, int poles, int step) {
  std::vector<Phasor> phasors;
  for (int slot = 0; slot < slots; slot += step) phasors.push_back(std::polar(1.0, kPi * poles * slot / slots));
  return phasors;
}

void ExpectGreatest(const Pattern& pattern, double greatest) {
  const absl::StatusOr<Symmetry> symmetry = CheckSymmetry(pattern);
  ASSERT_TRUE(symmetry.ok() && symmetry->balanced) << symmetry->reason;
  EXPECT_NEAR(*WindingFactor(pattern), greatest, 1e-9);
  const absl::StatusOr<Layout> layout = LaidOut({pattern});
  ASSERT_TRUE(layout.ok());
  for (const double factor : FieldOf(*layout).winding_factors) EXPECT_NEAR(factor, greatest, 1e-9);
}

// Two layers: a coil of any pitch starts in every slot. Tooth coils are those of one slot.
TEST(Assignment, OfTwoLayersHasTheGreatestFactor) {
  int compared = 0, never = 0;
  for (int slots = 3; slots <= 15; slots += 3) {
    for (int poles = 2; poles <= 2 * slots + 2; poles += 2) {
      const double greatest = GreatestBalanced(Star(slots, poles, 1), false) / (slots / 3.0);
      for (int pitch = 1; pitch < slots; ++pitch) {
        const Pattern pattern = {slots, poles, pitch};
        const double factor = std::abs(PitchFactor(slots, poles, pitch));
        SCOPED_TRACE(testing::Message() << slots << "/" << poles << " pitch " << pitch);
        if (greatest < kSame || factor < kSame) {
          EXPECT_FALSE(CheckSymmetry(pattern)->balanced);
          ++never;
          continue;
        }
        ExpectGreatest(pattern, greatest * factor);
        if (pitch == 1) ExpectGreatest({slots, poles, 1, Layers::kDouble, CoilForm::kToothCoil}, greatest * factor);
        ++compared;
      }
    }
  }
  EXPECT_GT(compared, 300);
  EXPECT_GT(never, 100);
}

// One layer of equal coils in every second slot.
TEST(Assignment, OfEqualCoilsInOneLayerHasTheGreatestFactor) {
  int compared = 0;
  for (int slots = 6; slots <= 24; slots += 6) {
    for (int poles = 2; poles <= slots + 4; poles += 2) {
      double greatest = -1;
      for (int pitch = 1; pitch < slots; pitch += 2) {
        const Pattern pattern = {slots, poles, pitch, Layers::kSingle};
        const double factor = std::abs(PitchFactor(slots, poles, pitch));
        if (factor < kSame || !CheckSymmetry(pattern)->balanced) continue;
        if (greatest < 0) greatest = GreatestBalanced(Star(slots, poles, 2), false) / (slots / 6.0);
        SCOPED_TRACE(testing::Message() << slots << "/" << poles << " pitch " << pitch);
        ExpectGreatest(pattern, greatest * factor);
        ++compared;
      }
    }
  }
  EXPECT_GT(compared, 100);
}

// One layer whose sides lie in whole belts: whichever slots a phase takes and however its coils join them, half of its
// sides go and half return.
TEST(Assignment, OfWholeBeltsHasTheGreatestFactorOfAnySlots) {
  int compared = 0;
  for (int slots = 6; slots <= 18; slots += 6) {
    for (int poles = 2; 3 * poles <= slots; poles += 2) {
      if (slots % (3 * poles) != 0) continue;
      const double greatest = GreatestBalanced(Star(slots, poles, 1), true) / (slots / 3.0);
      for (const CoilForm form : {CoilForm::kLap, CoilForm::kConcentric, CoilForm::kChain}) {
        SCOPED_TRACE(testing::Message() << slots << "/" << poles << " form " << static_cast<int>(form));
        const Pattern pattern = {slots, poles, slots / poles, Layers::kSingle, form};
        if (!CheckSymmetry(pattern)->balanced) continue;
        const double factor = *WindingFactor(pattern);
        // Equal coils of an odd pitch may be asked for in every second slot instead, where they fill no belts.
        if (form == CoilForm::kLap && pattern.coil_pitch % 2 != 0) {
          EXPECT_LE(factor, greatest + kSame);
        } else {
          EXPECT_NEAR(factor, greatest, 1e-9);
        }
        ++compared;
      }
    }
  }
  EXPECT_GT(compared, 8);
}

}  // namespace
}  // namespace coilwright::winding
