// How often the check finds a planted slip, and how seldom it accuses a sound record. Prints the table of
// docs/record-check.md.
#include <gmock/gmock.h>

#include <chrono>
#include <cstdio>
#include <map>

#include "absl/strings/match.h"
#include "plan/check_model.h"
#include "plan/planted.h"

namespace coilwright::plan {
namespace {

struct Outcome {
  bool refused = false;
  bool distinguishable = false;  // by the measurements this record has
  int rank = 0;                  // of the true group, from 1; 0 not among those listed
  Verdict verdict = Verdict::kUndecided;
};

const Slip* FindSlip(const std::vector<Slip>& slips, const Planted& planted) {
  for (const Slip& slip : slips) {
    if (slip.correction.slip != planted.slip) continue;
    if (planted.reads.empty() || absl::StartsWith(slip.correction.reads, planted.reads)) return &slip;
  }
  return nullptr;
}

// Rank of the group the planted slips belong to, in the order a person reads the groups.
Outcome Judge(const Record& record, const std::vector<Planted>& planted, Moment moment) {
  Outcome outcome;
  const absl::StatusOr<RecordCheck> check = CheckRecord(record, {}, moment);
  const absl::StatusOr<Original> original = DescribeOriginal(record, {});
  if (!check.ok() || !original.ok()) {
    outcome.refused = true;
    return outcome;
  }
  outcome.verdict = check->verdict;
  const Model model = ModelOf(record, *original, {}, moment == Moment::kStripped);
  const std::vector<Slip> slips = SlipsOf(record, *original);
  Logs effect{};
  for (const Planted& one : planted) {
    const Slip* slip = FindSlip(slips, one);
    if (slip == nullptr) return outcome;
    for (size_t i = 0; i < effect.size(); ++i) effect[i] += slip->effect[i];
  }
  Logs true_effect = effect;
  for (const Planted& one : planted) {
    if (one.ln_resistance != 0) true_effect[kResistance] = one.ln_resistance;
  }
  outcome.distinguishable = !CannotBeToldApart(model, true_effect, {});
  std::vector<int> seen;
  for (const Explanation& e : check->explanations) {
    if (std::find(seen.begin(), seen.end(), e.group) == seen.end()) seen.push_back(e.group);
    Logs listed{};
    for (const Correction& c : e.corrections) {
      const Slip* slip = FindSlip(slips, {c.slip, c.reads});
      for (size_t i = 0; slip && i < listed.size(); ++i) listed[i] += slip->effect[i];
    }
    if (CannotBeToldApart(model, listed, effect)) {
      outcome.rank = static_cast<int>(seen.size());
      return outcome;
    }
  }
  return outcome;
}

struct Rate {
  int tried = 0, distinguishable = 0, first = 0, three = 0, called_sound = 0, refused = 0;
  void Add(const Outcome& outcome) {
    ++tried;
    refused += outcome.refused;
    if (outcome.refused || !outcome.distinguishable) return;
    ++distinguishable;
    first += outcome.rank == 1;
    three += outcome.rank >= 1 && outcome.rank <= 3;
    called_sound += outcome.verdict == Verdict::kSound;
  }
  double Share(int n) const { return distinguishable > 0 ? static_cast<double>(n) / distinguishable : 1; }
  void Print(const std::string& name) const {
    if (distinguishable == 0) {
      std::printf("| %-20s | %5d |     0 |      - |      - |     - |\n", name.c_str(), tried - refused);
      return;
    }
    std::printf("| %-20s | %5d | %5d | %4.0f %% | %4.0f %% | %3.0f %% |\n", name.c_str(), tried - refused,
                distinguishable, 100 * Share(first), 100 * Share(three), 100 * Share(called_sound));
  }
};

constexpr int kEach = 60;

TEST(RecordCheckRates, SinglePlantedSlipsRankFirst) {
  for (const Moment moment : {Moment::kCut, Moment::kStripped}) {
    Rate all;
    std::printf("| slip planted, %s | records | can be told | first | first three | called sound |\n",
                moment == Moment::kCut ? "cut" : "stripped");
    for (const std::string& name : PlantedSlips()) {
      Shop shop(101);
      Rate rate;
      for (int attempt = 0; rate.tried - rate.refused < kEach && attempt < 20 * kEach; ++attempt) {
        const Making making = MakingFor(name, shop);
        Record record = shop.TakeDown(making.aluminium, making.warmer_kelvin).record;
        const std::optional<Planted> planted = Plant(name, making, shop, record);
        if (!planted) continue;
        const Outcome outcome = Judge(record, {*planted}, moment);
        rate.Add(outcome);
        all.Add(outcome);
      }
      rate.Print(name);
    }
    all.Print("all");
    EXPECT_GE(all.Share(all.first), moment == Moment::kCut ? 0.93 : 0.96);
    EXPECT_GE(all.Share(all.three), 0.97);
  }
}

TEST(RecordCheckRates, RandomPairsRankAmongTheFirst) {
  Shop shop(102);
  Rate rate;
  while (rate.distinguishable < 200) {
    const std::string one = shop.Pick(PlantedSlips()), two = shop.Pick(PlantedSlips());
    const Making a = MakingFor(one, shop), b = MakingFor(two, shop);
    Record record = shop.TakeDown(a.aluminium || b.aluminium, std::max(a.warmer_kelvin, b.warmer_kelvin)).record;
    const std::optional<Planted> first = Plant(one, a, shop, record);
    const std::optional<Planted> second = first && one != two ? Plant(two, b, shop, record) : std::nullopt;
    if (!second) continue;
    rate.Add(Judge(record, {*first, *second}, Moment::kStripped));
  }
  rate.Print("200 pairs");
  EXPECT_GE(rate.Share(rate.first), 0.80);
  EXPECT_GE(rate.Share(rate.three), 0.88);
}

TEST(RecordCheckRates, SoundRecordsAreNotAccused) {
  for (const Moment moment : {Moment::kCut, Moment::kStripped}) {
    Shop shop(103);
    std::map<Verdict, int> verdicts;
    constexpr int kRecords = 1000;
    for (int i = 0; i < kRecords; ++i) {
      const absl::StatusOr<RecordCheck> check = CheckRecord(shop.TakeDown().record, {}, moment);
      ASSERT_TRUE(check.ok()) << check.status();
      ++verdicts[check->verdict];
    }
    const int accused = verdicts[Verdict::kExplained] + verdicts[Verdict::kUnexplained];
    std::printf("| sound, %s | %d | sound %.1f %% | undecided %.1f %% | accused %.1f %% |\n",
                moment == Moment::kCut ? "cut" : "stripped", kRecords, 100.0 * verdicts[Verdict::kSound] / kRecords,
                100.0 * verdicts[Verdict::kUndecided] / kRecords, 100.0 * accused / kRecords);
    EXPECT_LE(accused, 0.02 * kRecords);
    EXPECT_GE(verdicts[Verdict::kSound], 0.97 * kRecords);
  }
}

// Leads by another law than the check supposes: 10 to 50 milliohms on every motor. Where the coils have little more
// themselves, only a reading at the coil ends could tell, so the least resistance is part of the promise.
TEST(RecordCheckRates, SoundRecordsWithLeadsOfAnyMotorAreNotAccused) {
  Shop shop(107, Shop::Leads::kTensOfMilliohms);
  int small = 0, small_accused = 0, accused = 0, tried = 0;
  constexpr double kLeastOhms = 0.5;
  while (tried < 1000) {
    const TakenDown down = shop.TakeDown();
    const absl::StatusOr<RecordCheck> check = CheckRecord(down.record, {});
    ASSERT_TRUE(check.ok()) << check.status();
    const bool blamed = check->verdict == Verdict::kExplained || check->verdict == Verdict::kUnexplained;
    const bool low_ohms = down.terminal_ohms < kLeastOhms;
    ++(low_ohms ? small : tried);
    if (blamed) ++(low_ohms ? small_accused : accused);
  }
  std::printf(
      "| sound, leads 10 to 50 milliohms on any motor | from 0.5 ohm: accused %.1f %% of %d | below: %.1f %% of %d |\n",
      100.0 * accused / tried, tried, 100.0 * small_accused / small, small);
  EXPECT_LE(accused, 0.02 * tried);
}

TEST(RecordCheckRates, WhatIsNotOnTheListIsUnexplained) {
  Shop shop(104);
  int unexplained = 0, sound = 0;
  constexpr int kRecords = 200;
  for (int i = 0; i < kRecords; ++i) {
    Record record = shop.TakeDown().record;
    PlantOutsideTheList(shop, record);
    const absl::StatusOr<RecordCheck> check = CheckRecord(record, {});
    ASSERT_TRUE(check.ok()) << check.status();
    unexplained += check->verdict == Verdict::kUnexplained;
    sound += check->verdict == Verdict::kSound;
  }
  std::printf("| outside the list | %d | unexplained %.1f %% | sound %d |\n", kRecords, 100.0 * unexplained / kRecords,
              sound);
  EXPECT_GE(unexplained, 0.87 * kRecords);
  EXPECT_EQ(sound, 0);
}

// Rulings of the check: the truth lies in the band 95 times of 100, and the band is no wider than it needs to be.
TEST(RecordCheckRates, BandsHoldTheTruthAndAreNarrow) {
  Shop shop(105);
  int inside_ohms = 0, inside_kg = 0, measured = 0;
  double width = 0, width_measured = 0;
  constexpr int kRecords = 500;
  for (int i = 0; i < kRecords; ++i) {
    const TakenDown down = shop.TakeDown();
    const absl::StatusOr<RecordCheck> check = CheckRecord(down.record, {});
    ASSERT_TRUE(check.ok()) << check.status();
    for (const Agreement& a : check->agreements) {
      const double half = (a.expected.high - a.expected.low) / 2 / a.expected.nominal;
      if (a.what == "line-to-line resistance") {
        inside_ohms += a.expected.low <= down.terminal_ohms && down.terminal_ohms <= a.expected.high;
        width += half / kRecords;
        if (down.record.winding.mean_turn_m) {
          width_measured += half;
          ++measured;
        }
      }
      if (a.what == "copper mass") inside_kg += a.expected.low <= a.found && a.found <= a.expected.high;
    }
  }
  std::printf(
      "| bands | resistance %.1f %% inside, mass %.1f %% | half width %.1f %%, with a measured mean turn %.1f %% |\n",
      100.0 * inside_ohms / kRecords, 100.0 * inside_kg / kRecords, 100 * width, 100 * width_measured / measured);
  EXPECT_GE(inside_ohms, 0.95 * kRecords);
  EXPECT_GE(inside_kg, 0.95 * kRecords);
  EXPECT_LE(width_measured / measured, 0.095);
}

TEST(RecordCheckRates, TakesWellUnderFiftyMilliseconds) {
  Shop shop(106);
  const auto start = std::chrono::steady_clock::now();
  constexpr int kRecords = 50;
  for (int i = 0; i < kRecords; ++i) {
    Record record = shop.TakeDown().record;
    Plant("turns_doubled", {}, shop, record);
    ASSERT_TRUE(CheckRecord(record, {}).ok());
  }
  const double ms =
      std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count() / kRecords;
  std::printf("| one check with its machine | %.2f ms |\n", ms);
  EXPECT_LT(ms, 20);
}

}  // namespace
}  // namespace coilwright::plan
