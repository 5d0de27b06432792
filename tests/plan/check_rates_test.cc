// How often the check finds a planted slip, and how seldom it accuses a sound record. Prints the table of
// docs/record-check.md.
#include <gmock/gmock.h>

#include <array>
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
  double best = 0;               // chance that the best of all judges would name it, with the chances of the check
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

bool Names(const Explanation& e, const std::vector<Planted>& planted) {
  return e.corrections.size() == planted.size() && std::all_of(planted.begin(), planted.end(), [&](const Planted& one) {
           return std::any_of(e.corrections.begin(), e.corrections.end(), [&](const Correction& c) {
             return c.slip == one.slip && absl::StartsWith(c.reads, one.reads);
           });
         });
}

// Place of the group with the planted slips in the order a person reads the groups: that which names them, else that
// whose first explanation cannot be told from them. A group that holds the record as it stands too names nothing: 0.
int RankOf(const RecordCheck& check, const std::vector<Planted>& planted, const Model& model,
           const std::vector<Slip>& slips, const Logs& effect) {
  int group = -1, with_sound = -1;
  for (const Explanation& e : check.explanations) {
    if (e.corrections.empty()) with_sound = e.group;
    if (Names(e, planted)) group = e.group;
  }
  int last = -1;
  for (const Explanation& e : check.explanations) {
    if (group >= 0 || e.group == last) continue;
    last = e.group;
    Logs leader{};
    for (const Correction& c : e.corrections) {
      const Slip* slip = FindSlip(slips, {c.slip, c.reads});
      for (size_t i = 0; slip && i < leader.size(); ++i) leader[i] += slip->effect[i];
    }
    if (CannotBeToldApart(model, leader, effect)) group = e.group;
  }
  return group == with_sound ? 0 : group + 1;
}

// Two hypotheses z standard deviations apart whose chances stand as k to 1: whoever picks the likelier one finds the
// second with the probability Phi(z/2 - ln(k)/z), and nobody does better (likelihood ratio of two normal distributions,
// Neyman and Pearson). z is taken over resistance and mass together, with what they share; what the ranges met in
// practice say is in k.
double TwoWayRate(const Model& model, const Logs& truth, const Logs& rival, double k) {
  double r = 0, m = 0, rr = 1, mm = 1, rm = 0, ln_k = std::log(k);
  for (const Measured& measured : model.measured) {
    if (measured.quantity == kResistance) {
      r = model.Moved(measured, truth) - model.Moved(measured, rival);
      rr = std::pow(measured.sigma(-r), 2);  // leads hide what lies above, not what lies below
    } else if (measured.quantity == kMass) {
      m = truth[kMass] - rival[kMass];
      mm = std::pow(measured.sigma(), 2);
      const double share = model.ohms->coil_ohms / (model.ohms->coil_ohms + AnyLead(model.ohms->leads).ohms);
      rm = share * (std::pow(model.ohms->turn_sigma, 2) - std::pow(model.ohms->area_sigma, 2));
    } else {
      const auto ln = [&](const Logs& effect) {
        const double at = measured.residual + effect[measured.quantity];
        const double square = std::pow(at / measured.sigma(at), 2);
        return std::log(0.95 * std::exp(-square / 2) + 0.05 / 3 * std::exp(-square / 18));
      };
      ln_k += ln(rival) - ln(truth);
    }
  }
  const double z = std::sqrt((mm * r * r - 2 * rm * r * m + rr * m * m) / (rr * mm - rm * rm));
  return z > 1e-9 ? std::erfc(-(z / 2 - ln_k / z) / std::sqrt(2.0)) / 2 : ln_k < 0;
}

// The most that any judge with the check's chances could find: against the record as it stands, and against every other
// slip that can be told from the one planted.
double BestRate(const Model& model, const std::vector<Slip>& slips, const Logs& effect, const Logs& truth) {
  const auto chance_of = [&](const Logs& group) {
    double chance = 0;
    for (const Slip& slip : slips) chance += CannotBeToldApart(model, slip.effect, group) ? slip.chance : 0;
    return std::max(chance, 1e-6);
  };
  double any = 0;
  for (const Slip& slip : slips) any += slip.chance;
  const double chance = chance_of(effect);
  double best = TwoWayRate(model, truth, {}, std::max(0.2, 1 - any) / chance);
  for (const Slip& rival : slips) {
    if (CannotBeToldApart(model, rival.effect, effect)) continue;
    best = std::min(best, TwoWayRate(model, truth, rival.effect, rival.chance / chance));
  }
  return best;
}

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
    if (one.ln_resistance != 0) true_effect[kResistance] = true_effect[kReading] = one.ln_resistance;
  }
  outcome.distinguishable = !CannotBeToldApart(model, true_effect, {});
  outcome.best = BestRate(model, slips, effect, true_effect);
  outcome.rank = RankOf(*check, planted, model, slips, effect);
  return outcome;
}

struct Rate {
  int tried = 0, distinguishable = 0, first = 0, three = 0, called_sound = 0, refused = 0;
  double best = 0;
  void Add(const Outcome& outcome) {
    ++tried;
    refused += outcome.refused;
    if (outcome.refused || !outcome.distinguishable) return;
    ++distinguishable;
    best += outcome.best;
    first += outcome.rank == 1;
    three += outcome.rank >= 1 && outcome.rank <= 3;
    called_sound += outcome.verdict == Verdict::kSound;
  }
  double Share(double n) const { return distinguishable > 0 ? n / distinguishable : 1; }
  void Print(const std::string& name) const {
    if (distinguishable == 0) {
      std::printf("| %-20s | %5d |     0 |      - |      - |      - |     - |\n", name.c_str(), tried - refused);
      return;
    }
    std::printf("| %-20s | %5d | %5d | %4.0f %% | %4.0f %% | %4.0f %% | %3.0f %% |\n", name.c_str(), tried - refused,
                distinguishable, 100 * Share(first), 100 * Share(best), 100 * Share(three), 100 * Share(called_sound));
  }
};

constexpr int kEach = 60;

TEST(RecordCheckRates, SinglePlantedSlipsRankFirst) {
  for (const Moment moment : {Moment::kCut, Moment::kStripped}) {
    Rate all;
    std::printf("| slip planted, %s | records | can be told | first | best | first three | called sound |\n",
                moment == Moment::kCut ? "cut" : "stripped");
    for (const std::string& name : PlantedSlips()) {
      Shop shop(1201);
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
    EXPECT_GE(all.Share(all.first), all.Share(all.best) - 0.03) << "near the best that any judge could do";
    EXPECT_LE(all.Share(all.called_sound), 0.03);
    EXPECT_GE(all.Share(all.first), moment == Moment::kCut ? 0.93 : 0.96);
    EXPECT_GE(all.Share(all.three), 0.97);
  }
}

TEST(RecordCheckRates, RandomPairsRankAmongTheFirst) {
  Shop shop(1202);
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
    Shop shop(1203);
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
  Shop shop(1207, Shop::Leads::kTensOfMilliohms);
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
  EXPECT_LE(small_accused, 0.02 * small);
}

// Below half an ohm a slip hides in leads that nobody measured; at the coil ends, or with the leads taken off, it
// shows.
TEST(RecordCheckRates, KnownLeadsMakeLowOhmsSharp) {
  for (const Shop::Leads leads : {Shop::Leads::kTensOfMilliohms, Shop::Leads::kKnown}) {
    Shop shop(1208, leads);
    Rate rate;
    int sound = 0, accused = 0;
    while (rate.tried < 300) {
      const std::string name = shop.Pick(std::vector<std::string>{"wires_missed", "wires_extra", "gauge_thick",
                                                                  "gauge_thin", "phase_ohms", "star_as_delta"});
      TakenDown down = shop.TakeDown();
      if (down.terminal_ohms >= 0.5) continue;
      const absl::StatusOr<RecordCheck> check = CheckRecord(down.record, {}, Moment::kCut);
      ASSERT_TRUE(check.ok()) << check.status();
      ++sound;
      accused += check->verdict == Verdict::kExplained || check->verdict == Verdict::kUnexplained;
      if (const std::optional<Planted> planted = Plant(name, {}, shop, down.record))
        rate.Add(Judge(down.record, {*planted}, Moment::kCut));
    }
    const bool known = leads == Shop::Leads::kKnown;
    rate.Print(known ? "below 0.5 ohm, known" : "below 0.5 ohm");
    std::printf("| of which sound, accused %.1f %% of %d |\n", 100.0 * accused / sound, sound);
    EXPECT_LE(accused, 0.02 * sound);
    if (known) {
      EXPECT_GE(rate.distinguishable, 0.8 * rate.tried);
    } else {
      EXPECT_LE(rate.distinguishable, 0.7 * rate.tried);
    }
  }
}

// Off the list, but no further than a slip moves: what of it is absorbed by a slip or a pair, and what is called sound.
TEST(RecordCheckRates, NearTheListManyPassForASlip) {
  Shop shop(1209);
  std::map<std::string, std::array<int, 6>> rows;
  constexpr int kRecords = 600;
  for (int i = 0; i < kRecords; ++i) {
    Record record = shop.TakeDown().record;
    std::array<int, 6>& row = rows[PlantNearTheList(shop, record)];
    const absl::StatusOr<RecordCheck> check = CheckRecord(record, {});
    if (!check.ok()) continue;
    ++row[0];
    const bool pair = check->explanations.front().corrections.size() == 2;
    row[1] += check->verdict == Verdict::kUnexplained;
    row[2] += check->verdict == Verdict::kExplained && !pair;
    row[3] += check->verdict == Verdict::kExplained && pair;
    row[4] += check->verdict == Verdict::kUndecided;
    row[5] += check->verdict == Verdict::kSound;
  }
  for (const auto& [what, row] : rows) {
    const auto share = [&, count = row[0]](int n) { return 100.0 * n / count; };
    std::printf(
        "| near the list, %s | %d | unexplained %.0f %% | slip %.0f %% | pair %.0f %% | undecided %.0f %% | sound %.0f "
        "%% |\n",
        what.c_str(), row[0], share(row[1]), share(row[2]), share(row[3]), share(row[4]), share(row[5]));
    EXPECT_GE(row[0], 100) << what;
    EXPECT_LE(share(row[5]), 10) << what << " called sound";
  }
}

TEST(RecordCheckRates, WhatIsNotOnTheListIsUnexplained) {
  Shop shop(1204);
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
  for (const Shop::Leads leads : {Shop::Leads::kBySection, Shop::Leads::kKnown}) {
    Shop shop(1205, leads);
    const bool known = leads == Shop::Leads::kKnown;
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
        "| bands, leads %s | resistance %.1f %% inside, mass %.1f %% | half width %.1f %%, with a measured mean turn "
        "%.1f %% |\n",
        known ? "known" : "not known", 100.0 * inside_ohms / kRecords, 100.0 * inside_kg / kRecords, 100 * width,
        100 * width_measured / measured);
    EXPECT_GE(inside_ohms, 0.95 * kRecords);
    EXPECT_GE(inside_kg, 0.95 * kRecords);
    if (known) {
      EXPECT_LE(width_measured / measured, 0.095);
    }
  }
}

TEST(RecordCheckRates, TakesWellUnderFiftyMilliseconds) {
  Shop shop(1206);
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
