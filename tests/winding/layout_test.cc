#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <string>
#include <vector>

#include "winding/winding.h"

namespace coilwright::winding {
namespace {

std::vector<Coil> CoilsOf(const Pattern& pattern) {
  const absl::StatusOr<std::vector<Coil>> coils = Coils(pattern);
  EXPECT_TRUE(coils.ok()) << coils.status();
  return coils.value_or(std::vector<Coil>{});
}

// One letter per coil in the order of the start slots, small for a coil connected the other way round.
std::string Sequence(const Pattern& pattern) {
  std::string letters;
  for (const Coil& coil : CoilsOf(pattern)) {
    const char letter = "ABC"[coil.phase];
    letters += coil.sign > 0 ? letter : static_cast<char>(std::tolower(letter));
  }
  return letters;
}

// Two sequences of equally spaced coils are the same winding if they differ by rotation, by the names of the phases, by
// all coils of a phase reversed, or by mirroring.
bool SameWinding(const std::string& given, const std::string& other) {
  if (given.size() != other.size()) return false;
  std::string names = "ABC";
  do {
    for (int reversed = 0; reversed < 8; ++reversed) {
      std::string renamed;
      for (char c : other) {
        const int phase = std::toupper(c) - 'A';
        const char letter = names[static_cast<size_t>(phase)];
        const bool small = (std::islower(c) != 0) != ((reversed >> phase & 1) != 0);
        renamed += small ? static_cast<char>(std::tolower(letter)) : letter;
      }
      const std::string mirrored(renamed.rbegin(), renamed.rend());
      for (const std::string& variant : {renamed, mirrored}) {
        if ((variant + variant).find(given) != std::string::npos) return true;
      }
    }
  } while (std::next_permutation(names.begin(), names.end()));
  return false;
}

TEST(SameWinding, TellsDifferentWindingsApart) {
  EXPECT_TRUE(SameWinding("AabBbcCca", "AaABbBCcC"));
  EXPECT_FALSE(SameWinding("AabBbcCca", "ABCABCABC"));
  EXPECT_FALSE(SameWinding("AAccBBaaCCbb", "AAccBBaaCCbB"));
}

// T. Singh, Electrical Machines II, Ex 1.2 p28: 24 slots, 4 poles, two layers, throw 1-6. Groups of two coils in the
// order A1 C4 B1 A2 C1 B2 A3 C2 B3 A4 C3 B4; groups of a phase alternate in polarity in the order of their numbers.
TEST(Layout, OfTheTwoLayerExampleIsTheOnePrinted) {
  EXPECT_TRUE(SameWinding(Sequence({24, 4, 5}), "AAccBBaaCCbbAAccBBaaCCbb"));
  for (const Coil& coil : CoilsOf({24, 4, 5})) EXPECT_EQ(coil.return_slot, (coil.go_slot + 4) % 24 + 1);
}

// The crossed chain of small 36/4 motors, laid by hand: belts of three slots, two coils 1-9 of each belt to the next
// and one 1-8 on from there (common practice, no source). Whole belts: the distribution factor 0.9598 of q = 3.
TEST(Layout, OfTheCrossedChainIsTheOneLaidByHand) {
  const Pattern crossed = {36, 4, 8, Layers::kSingle, CoilForm::kChain};
  const int by_hand[][4] = {{1, 9, 0, 1},    {2, 10, 0, 1},   {5, 12, 2, -1}, {7, 15, 1, 1},   {8, 16, 1, 1},
                            {11, 18, 0, -1}, {13, 21, 2, 1},  {14, 22, 2, 1}, {17, 24, 1, -1}, {19, 27, 0, 1},
                            {20, 28, 0, 1},  {23, 30, 2, -1}, {25, 33, 1, 1}, {26, 34, 1, 1},  {29, 36, 0, -1},
                            {31, 3, 2, 1},   {32, 4, 2, 1},   {35, 6, 1, -1}};
  const std::vector<Coil> coils = CoilsOf(crossed);
  ASSERT_EQ(coils.size(), 18u);
  for (size_t i = 0; i < coils.size(); ++i) {
    EXPECT_EQ(coils[i].go_slot, by_hand[i][0]);
    EXPECT_EQ(coils[i].return_slot, by_hand[i][1]) << i;
    EXPECT_EQ(coils[i].phase, by_hand[i][2]) << i;
    EXPECT_EQ(coils[i].sign, by_hand[i][3]) << i;
  }
  EXPECT_NEAR(*WindingFactor(crossed), 0.9598, 5e-5);
  EXPECT_EQ(CheckSymmetry(crossed)->permitted_circuits, (std::vector<int>{1, 2}));
  // Seven slots to the belt: four coils over 18 slots and three over 17.
  const double kd = 0.5 / (7 * std::sin(std::acos(-1.0) / 42));
  EXPECT_NEAR(*WindingFactor({84, 4, 18, Layers::kSingle, CoilForm::kChain}), kd, 1e-12);
  EXPECT_FALSE(CheckSymmetry({36, 4, 6, Layers::kSingle, CoilForm::kChain})->balanced);
}

// The same book, Ex 1.1 p24: one layer, throw 1-6, coils 1-6 3-8 5-10 ... 23-4 in the phases A C B A C B ...
TEST(Layout, OfTheOneLayerExampleIsTheOnePrinted) {
  const Pattern chain = {24, 4, 5, Layers::kSingle, CoilForm::kChain};
  EXPECT_TRUE(SameWinding(Sequence(chain), "AcBaCbAcBaCb"));
  const std::vector<Coil> coils = CoilsOf(chain);
  for (size_t i = 0; i < coils.size(); ++i) {
    const int printed_go = static_cast<int>(2 * i + 1);
    EXPECT_EQ(coils[i].go_slot, printed_go);
    EXPECT_EQ((coils[i].return_slot - coils[i].go_slot + 24) % 24, 5);
  }
}

// NAVEDTRA 14344, chapter 7: four poles, twelve pole-phase groups; phase A has groups 1, 4, 7 and 10, every other group
// of a phase reversed.
TEST(Layout, HasTwelveAlternatingGroupsAtFourPoles) {
  const std::string coils = Sequence({36, 4, 8});
  std::string groups;
  for (size_t i = 0; i < coils.size(); i += 3) {
    EXPECT_EQ(coils[i], coils[i + 1]);
    EXPECT_EQ(coils[i], coils[i + 2]);
    groups += coils[i];
  }
  EXPECT_EQ(groups, "AcBaCbAcBaCb");
}

// R. K. Srivastava, Electrical Machines, Ex 5.2 p201: groups of 2, 2, 2, 3 coils for 54/8 and of 2, 3, 2, 3 for 30/4.
std::string GroupSizes(const Pattern& pattern) {
  const std::string coils = Sequence(pattern);
  std::string sizes;
  size_t start = 0;
  while (coils[start] == coils.back()) ++start;
  const std::string turned = coils.substr(start) + coils.substr(0, start);
  for (size_t i = 0; i < turned.size();) {
    const size_t end = turned.find_first_not_of(turned[i], i);
    const size_t next = end == std::string::npos ? turned.size() : end;
    sizes += std::to_string(next - i);
    i = next;
  }
  return sizes;
}

TEST(Layout, GroupsFractionalWindingsAsPrinted) {
  const auto repeats = [](const std::string& text, const std::string& cycle) {
    std::string all;
    while (all.size() < text.size()) all += cycle;
    return all.size() == text.size() && (all + all).find(text) != std::string::npos;
  };
  EXPECT_TRUE(repeats(GroupSizes({54, 8, 6}), "2223")) << GroupSizes({54, 8, 6});
  EXPECT_TRUE(repeats(GroupSizes({30, 4, 7}), "23")) << GroupSizes({30, 4, 7});
  EXPECT_TRUE(repeats(GroupSizes({27, 6, 4}), "12")) << GroupSizes({27, 6, 4});
}

struct ToothCase {
  int slots, poles;
  const char* sequence;
};

// Tooth-coil sequences of the literature (Cros and Viarouge 2002; Bianchi 2006), from memory.
TEST(Layout, OfToothCoilsIsThatOfTheLiterature) {
  for (const ToothCase& c : {ToothCase{3, 2, "ABC"},
                             {3, 4, "ABC"},
                             {6, 4, "ABCABC"},
                             {9, 6, "ABCABCABC"},
                             {12, 8, "ABCABCABCABC"},
                             {9, 8, "AaABbBCcC"},
                             {9, 10, "AaABbBCcC"},
                             {12, 10, "AabBCcaABbcC"},
                             {12, 14, "AacCBbaACcbB"},
                             {15, 14, "AaAaABbBbBCcCcC"},
                             {18, 16, "AaABbBCcCAaABbBCcC"},
                             {24, 22, "AaAabBbBCcCcaAaABbBbcCcC"}}) {
    const std::string ours = Sequence({c.slots, c.poles, 1, Layers::kDouble, CoilForm::kToothCoil});
    EXPECT_TRUE(SameWinding(ours, c.sequence)) << c.slots << "/" << c.poles << " " << ours;
  }
}

TEST(Layout, StartsPhaseAInSlotOneAndRunsAThenBThenC) {
  for (const Pattern& pattern : {Pattern{36, 4, 8}, Pattern{48, 8, 5}, Pattern{27, 6, 4}}) {
    const std::vector<Coil> coils = CoilsOf(pattern);
    EXPECT_EQ(coils.front().phase, 0);
    EXPECT_EQ(coils.front().go_slot, 1);
    EXPECT_EQ(coils.front().sign, 1);
    const int third_of_pole_pair = 2 * pattern.slots / (3 * pattern.poles);
    EXPECT_EQ(coils[static_cast<size_t>(third_of_pole_pair)].phase, 1);
    EXPECT_EQ(coils[static_cast<size_t>(third_of_pole_pair)].sign, 1);
  }
}

// One layer, concentric: 24 slots, 4 poles has spans 5 and 7 in pole-pair groups; 48 slots, 4 poles in groups per pole
// has spans 9 and 11 (outer coil one slot short of the pole pitch).
TEST(Layout, NestsConcentricCoils) {
  const auto spans = [](const Pattern& pattern) {
    std::vector<int> all;
    for (const Coil& coil : CoilsOf(pattern)) {
      all.push_back((coil.return_slot - coil.go_slot + pattern.slots) % pattern.slots);
    }
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end()), all.end());
    return all;
  };
  EXPECT_EQ(spans({24, 4, 6, Layers::kSingle, CoilForm::kConcentric}), (std::vector<int>{5, 7}));
  EXPECT_EQ(spans({48, 4, 10, Layers::kSingle, CoilForm::kConcentric}), (std::vector<int>{9, 11}));
  EXPECT_EQ(spans({36, 4, 8, Layers::kDouble, CoilForm::kConcentric}), (std::vector<int>{6, 8, 10}));
  EXPECT_EQ(spans({36, 4, 9, Layers::kSingle, CoilForm::kConcentric}), (std::vector<int>{7, 9, 11}));
}

}  // namespace
}  // namespace coilwright::winding
