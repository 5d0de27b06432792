// Turns that differ by one within every group: counted coil by coil here, with emfs by phasors written here.
#include "winding/alternating.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numeric>

#include "standards/units.h"

namespace coilwright::winding {
namespace {

using standards::kPi;

using Phasor = std::complex<double>;

std::optional<AlternatingTurns> Of(const Pattern& pattern, int circuits, double exact, bool keep_axis = false) {
  auto found = Alternate(pattern, circuits, exact, keep_axis);
  EXPECT_TRUE(found.ok()) << found.status();
  return found.ok() ? *found : std::nullopt;
}

// Turns of every coil, each group taking the places in its own order.
std::vector<int> TurnsOfCoils(const std::vector<Coil>& coils, const AlternatingTurns& turns) {
  std::vector<int> of_coil(coils.size());
  for (const std::vector<int>& group : CoilGroups(coils)) {
    EXPECT_EQ(group.size(), turns.turns_by_place.size());
    for (size_t place = 0; place < group.size(); ++place) {
      of_coil[static_cast<size_t>(group[place])] = turns.turns_by_place[place];
    }
  }
  return of_coil;
}

Phasor Emf(const Pattern& pattern, const Coil& coil) {
  const double electrical = 2 * kPi * (pattern.poles / 2) / pattern.slots;
  return static_cast<double>(coil.sign) *
         (std::polar(1.0, electrical * coil.go_slot) - std::polar(1.0, electrical * coil.return_slot)) / 2.0;
}

struct Case {
  Pattern pattern;
  int circuits;
};

std::vector<Case> Cases() {
  return {{{36, 4, 8}, 1},
          {{36, 4, 8}, 4},
          {{36, 4, 7}, 2},
          {{24, 4, 5}, 2},
          {{48, 4, 10}, 4},
          {{36, 2, 14}, 2},
          {{72, 6, 10}, 3},
          {{48, 4, 12, Layers::kSingle, CoilForm::kConcentric}, 2},
          {{48, 4, 11, Layers::kSingle, CoilForm::kLap}, 1},
          {{12, 10, 1, Layers::kDouble, CoilForm::kToothCoil}, 2},
          {{9, 8, 1, Layers::kDouble, CoilForm::kToothCoil}, 1},
          {{24, 22, 1, Layers::kDouble, CoilForm::kToothCoil}, 2}};
}

// The rule of the trade: every circuit and every phase the same total, and the coils of one group position the same in
// every group. Circuits are tried with the groups of a phase dealt out one by one and in blocks.
TEST(Alternating, EveryPhaseAndEveryCircuitHoldsTheSame) {
  int found = 0;
  for (const Case& c : Cases()) {
    const std::vector<Coil> coils = *Coils(c.pattern);
    const std::vector<std::vector<int>> groups = CoilGroups(coils);
    for (double exact = 3.03; exact < 30; exact += 0.37) {
      const std::optional<AlternatingTurns> turns = Of(c.pattern, c.circuits, exact);
      if (!turns) continue;
      ++found;
      const std::vector<int> of_coil = TurnsOfCoils(coils, *turns);
      EXPECT_EQ(turns->groups, static_cast<int>(groups.size()));
      std::vector<int> phase_turns(3);
      std::vector<Phasor> phase_emf(3);
      for (size_t i = 0; i < coils.size(); ++i) {
        phase_turns[static_cast<size_t>(coils[i].phase)] += of_coil[i];
        phase_emf[static_cast<size_t>(coils[i].phase)] += Emf(c.pattern, coils[i]) * static_cast<double>(of_coil[i]);
      }
      EXPECT_EQ(phase_turns[0], phase_turns[1]);
      EXPECT_EQ(phase_turns[0], phase_turns[2]);
      EXPECT_NEAR(phase_turns[0], turns->mean_turns * static_cast<double>(coils.size()) / 3, 1e-9);
      for (size_t phase : {1U, 2U}) {
        EXPECT_NEAR(std::abs(phase_emf[phase]), std::abs(phase_emf[0]), 1e-9 * std::abs(phase_emf[0]));
        EXPECT_NEAR(std::abs(std::arg(phase_emf[phase] / phase_emf[0])), 2 * kPi / 3, 1e-9);
      }
      EXPECT_NEAR(std::abs(phase_emf[0]) / phase_turns[0], turns->winding_factor, 1e-9);
      for (const bool in_blocks : {false, true}) {
        std::vector<Phasor> circuit_emf(static_cast<size_t>(c.circuits));
        int nth = 0;
        const int per_circuit = static_cast<int>(groups.size()) / 3 / c.circuits;
        for (const std::vector<int>& group : groups) {
          if (coils[static_cast<size_t>(group[0])].phase != 0) continue;
          const int circuit = in_blocks ? nth / per_circuit : nth % c.circuits;
          ++nth;
          for (const int i : group) {
            const auto at = static_cast<size_t>(i);
            circuit_emf[static_cast<size_t>(circuit)] += Emf(c.pattern, coils[at]) * static_cast<double>(of_coil[at]);
          }
        }
        for (const Phasor& emf : circuit_emf) {
          EXPECT_NEAR(std::abs(emf - circuit_emf[0]), 0, 1e-9 * std::abs(circuit_emf[0]));
        }
      }
    }
  }
  EXPECT_GE(found, 500);
}

// Twice the slots: brute force over the slots for what lies where.
TEST(Alternating, CountsTheFullestSlot) {
  for (const Case& c : Cases()) {
    const std::vector<Coil> coils = *Coils(c.pattern);
    const std::optional<AlternatingTurns> turns = Of(c.pattern, c.circuits, 7.6);
    if (!turns) continue;
    const std::vector<int> of_coil = TurnsOfCoils(coils, *turns);
    int fullest = 0;
    for (int slot = 1; slot <= c.pattern.slots; ++slot) {
      int in_slot = 0;
      for (size_t i = 0; i < coils.size(); ++i) {
        if (coils[i].go_slot == slot || coils[i].return_slot == slot) in_slot += of_coil[i];
      }
      fullest = std::max(fullest, in_slot);
    }
    EXPECT_EQ(turns->turns_in_fullest_slot, fullest);
  }
}

// 36/4, q = 3: 12 1/3 exact turns are 12/13/12, 12 2/3 are 13/12/13 by hand; the factor of the distribution is
// (12 cos 20 x 2 + 13) / 37 and so on, times the pitch factor sin 80.
TEST(Alternating, ByHandForThreeCoilsToAGroup) {
  const double kp = std::sin(80 * kPi / 180), cos20 = std::cos(20 * kPi / 180);
  const auto third = Of({36, 4, 8}, 2, 12.3333);
  ASSERT_TRUE(third.has_value());
  EXPECT_THAT(third->turns_by_place, testing::ElementsAre(12, 13, 12));
  EXPECT_THAT(third->span_by_place, testing::ElementsAre(8, 8, 8));
  EXPECT_NEAR(third->winding_factor, (24 * cos20 + 13) / 37 * kp, 1e-12);
  EXPECT_EQ(third->axis_shift_electrical_degrees, 0);
  const auto two_thirds = Of({36, 4, 8}, 2, 12.6667);
  ASSERT_TRUE(two_thirds.has_value());
  EXPECT_THAT(two_thirds->turns_by_place, testing::ElementsAre(13, 12, 13));
  EXPECT_NEAR(two_thirds->winding_factor, (26 * cos20 + 12) / 38 * kp, 1e-12);
}

// Two coils to a group, 12/13: the emf of 12 e^(-j15) + 13 e^(+j15) leans by atan(tan 15 / 25) away from the middle.
TEST(Alternating, ALopsidedGroupMovesTheAxisAndIsRefusedWhereItMustStay) {
  const auto free = Of({24, 4, 5}, 2, 12.5);
  ASSERT_TRUE(free.has_value());
  EXPECT_THAT(free->turns_by_place, testing::UnorderedElementsAre(12, 13));
  const double lean = std::atan(std::tan(15 * kPi / 180) / 25) * 180 / kPi;
  EXPECT_NEAR(std::abs(free->axis_shift_electrical_degrees), lean, 1e-9);
  EXPECT_FALSE(Of({24, 4, 5}, 2, 12.5, true).has_value());
  EXPECT_FALSE(Of({12, 10, 1, Layers::kDouble, CoilForm::kToothCoil}, 1, 12.5, true).has_value());
  EXPECT_TRUE(Of({36, 4, 8}, 2, 12.4, true).has_value()) << "the middle coil of three keeps the axis";
}

TEST(Alternating, IsNotThereWithoutTheSymmetry) {
  EXPECT_FALSE(Of({12, 4, 3}, 1, 12.5).has_value()) << "one coil to a group";
  EXPECT_FALSE(Of({27, 6, 4}, 1, 12.5).has_value()) << "groups of two and of one";
  EXPECT_FALSE(Of({36, 4, 8}, 3, 12.4).has_value()) << "four groups of a phase in three circuits";
  EXPECT_FALSE(Of({36, 4, 8}, 1, 12.0).has_value()) << "whole turns are exact";
  EXPECT_FALSE(Of({36, 4, 8}, 1, 12.1).has_value()) << "12 is nearer than 12 1/3";
  EXPECT_FALSE(Alternate({48, 6, 7}, 1, 12.5, false).ok()) << "no balanced winding";
}

TEST(Alternating, NeverLandsFartherThanWholeTurns) {
  for (const Case& c : Cases()) {
    const double equal = *WindingFactor(c.pattern);
    for (double exact = 0.6; exact < 20; exact += 0.21) {
      const auto turns = Of(c.pattern, c.circuits, exact);
      if (!turns) continue;
      const double off = std::abs(turns->mean_turns * turns->winding_factor / (exact * equal) - 1);
      EXPECT_LT(off, std::abs(std::max(1.0, std::round(exact)) / exact - 1));
      const auto [low, high] = std::minmax_element(turns->turns_by_place.begin(), turns->turns_by_place.end());
      EXPECT_EQ(*high - *low, 1);
      EXPECT_GE(*low, 1);
    }
  }
}

// Groups hold every coil once, and their coils lie side by side: three phases of poles groups for whole q.
TEST(CoilGroups, HoldEveryCoilOnce) {
  for (const Case& c : Cases()) {
    const std::vector<Coil> coils = *Coils(c.pattern);
    std::vector<int> seen;
    for (const std::vector<int>& group : CoilGroups(coils)) seen.insert(seen.end(), group.begin(), group.end());
    std::sort(seen.begin(), seen.end());
    std::vector<int> all(coils.size());
    std::iota(all.begin(), all.end(), 0);
    EXPECT_EQ(seen, all);
  }
  EXPECT_EQ(CoilGroups(*Coils({36, 4, 8})).size(), 12U);
  EXPECT_EQ(CoilGroups(*Coils({48, 4, 12, Layers::kSingle, CoilForm::kConcentric})).size(), 6U);
}

}  // namespace
}  // namespace coilwright::winding
