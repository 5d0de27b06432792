#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <string>
#include <vector>

#include "winding/winding.h"

namespace coilwright::winding {
namespace {

std::vector<Coil> LaidOut(const Pattern& pattern) {
  const absl::StatusOr<std::vector<Coil>> coils = Coils(pattern);
  EXPECT_TRUE(coils.ok()) << coils.status();
  return coils.value_or(std::vector<Coil>{});
}

// One letter per coil in the order of the start slots, small for a coil connected the other way round.
std::string Sequence(const Pattern& pattern) {
  std::string letters;
  for (const Coil& coil : LaidOut(pattern)) {
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
  for (const Coil& coil : LaidOut({24, 4, 5})) EXPECT_EQ(coil.return_slot, (coil.go_slot + 4) % 24 + 1);
}

// The same book, Ex 1.1 p24: one layer, throw 1-6, coils 1-6 3-8 5-10 ... 23-4 in the phases A C B A C B ...
TEST(Layout, OfTheOneLayerExampleIsTheOnePrinted) {
  const Pattern chain = {24, 4, 5, Layers::kSingle, CoilForm::kChain};
  EXPECT_TRUE(SameWinding(Sequence(chain), "AcBaCbAcBaCb"));
  const std::vector<Coil> coils = LaidOut(chain);
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
    const std::vector<Coil> coils = LaidOut(pattern);
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
    for (const Coil& coil : LaidOut(pattern)) {
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
