// The strand search against brute force, on random shelves and on full catalogues.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>
#include <string>

#include "wire/brute_force.h"
#include "wire/strands.h"

namespace coilwright::wire {
namespace {

using standards::Film;
using standards::WireSystem;

void ExpectSame(const StrandSearch& search, const std::string& what) {
  BruteForce brute(search);
  const std::vector<StrandChoice> expected = brute.Best();
  const auto answer = ChooseStrands(search);
  ASSERT_TRUE(answer.ok()) << answer.status();
  ASSERT_EQ(answer->choices.size(), expected.size()) << what;
  for (size_t i = 0; i < expected.size(); ++i) {
    const StrandChoice& got = answer->choices[i];
    ASSERT_EQ(got.strands.size(), expected[i].strands.size()) << what << ", choice " << i;
    for (size_t k = 0; k < got.strands.size(); ++k) {
      EXPECT_EQ(got.strands[k].index, expected[i].strands[k].index) << what << ", choice " << i;
      EXPECT_EQ(got.strands[k].count, expected[i].strands[k].count) << what << ", choice " << i;
    }
    EXPECT_EQ(got.in_hand, expected[i].in_hand);
    EXPECT_NEAR(got.area_mm2, expected[i].area_mm2, 1e-12 * expected[i].area_mm2);
    EXPECT_NEAR(got.area_error_ratio, expected[i].area_error_ratio, 1e-12);
    EXPECT_NEAR(got.fullness_ratio, expected[i].fullness_ratio, 1e-12);
    EXPECT_EQ(got.above_hexagonal, expected[i].above_hexagonal);
  }
  if (answer->combinations_in_window >= 0) {
    EXPECT_EQ(answer->combinations_in_window, brute.combinations_in_window());
  }
}

std::vector<Wire> EveryWire() {
  std::vector<Wire> wires;
  for (WireSystem system : {WireSystem::kAwg, WireSystem::kIecR20, WireSystem::kIecR40, WireSystem::kSwg}) {
    for (Film film : {Film::kSingle, Film::kHeavy, Film::kGrade1, Film::kGrade2}) {
      for (Wire& wire : Catalogue(system, film)) {
        if (wire.bare_mm.nominal > 0.2 && wire.bare_mm.nominal < 2) wires.push_back(std::move(wire));
      }
    }
  }
  return wires;
}

TEST(StrandsExact, AgreesWithBruteForceOnRandomShelves) {
  const std::vector<Wire> every = EveryWire();
  std::mt19937 random(4711);
  const auto below = [&](int most) { return static_cast<int>(random() % static_cast<unsigned>(most)); };
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  int answered = 0;
  int full = 0;
  for (int round = 0; round < 600; ++round) {
    StrandSearch search;
    const int wires = 1 + below(14);
    for (int i = 0; i < wires; ++i) {
      // One in four repeats an earlier entry, so that ties are met.
      const bool again = i > 0 && below(4) == 0;
      Available one = again ? search.wires[static_cast<size_t>(below(i))]
                            : Available{every[static_cast<size_t>(below(static_cast<int>(every.size())))], {}};
      if (below(4) == 0) one.length_left_m = below(1000);
      search.wires.push_back(one);
    }
    search.mix_systems = below(2) == 0;
    // Half the targets are areas that a combination meets exactly.
    search.target_area_mm2 =
        below(2) == 0 ? between(0.05, 6)
                      : (1 + below(3)) * search.wires[0].wire.area_mm2 + below(3) * search.wires.back().wire.area_mm2;
    search.least_area_ratio = between(0.7, 1.0);
    search.greatest_area_ratio = search.least_area_ratio + between(0, 0.4);
    const double tolerances[] = {0.01, 0.002, 1e-6, 0.05, 0.3};
    search.area_tolerance_ratio = tolerances[below(5)];
    search.most_in_hand = 1 + below(12);
    search.most_sizes = 1 + below(3);
    if (below(3) == 0) search.greatest_overall_mm = between(0.4, 2);
    if (below(3) == 0) search.greatest_bare_mm = between(0.4, 2);
    if (below(3) == 0) search.greatest_diameter_ratio = between(1, 3);
    if (below(2) == 0) {
      search.turns_in_slot = 10 + below(50);
      search.greatest_fullness = between(0.5, 1.4);
      for (int levels = below(3); levels > 0; --levels) search.fullness_levels.push_back(between(0.4, 1.2));
      std::sort(search.fullness_levels.begin(), search.fullness_levels.end());
      search.slot_net_area_mm2 = search.turns_in_slot * search.target_area_mm2 * between(1.1, 2.5);
    }
    if (below(2) == 0) search.length_per_strand_m = between(20, 300);
    search.best = 1 + below(30);
    ExpectSame(search, "round " + std::to_string(round));
    if (HasFatalFailure()) return;
    const size_t found = ChooseStrands(search)->choices.size();
    answered += found > 0;
    full += found == static_cast<size_t>(search.best);
  }
  // The shelves are worth the comparison: many have an answer, and both kinds of ending are met.
  EXPECT_GT(answered, 250);
  EXPECT_GT(full, 100);
  EXPECT_GT(answered - full, 50);
}

StrandSearch FullCatalogue(double target_area_mm2) {
  StrandSearch search;
  for (const Wire& wire : Catalogue(WireSystem::kAwg, Film::kHeavy)) search.wires.push_back({wire, {}});
  for (WireSystem series : {WireSystem::kIecR20, WireSystem::kIecR40}) {
    for (const Wire& wire : Catalogue(series, Film::kGrade2)) search.wires.push_back({wire, {}});
  }
  search.target_area_mm2 = target_area_mm2;
  return search;
}

TEST(StrandsExact, AgreesOnTheFullCatalogue) { ExpectSame(FullCatalogue(1.652), "AWG 15"); }

// So tight that one and two sizes do not fill the list and the search goes through three, and past the first step.
TEST(StrandsExact, AgreesOnTheFullCatalogueInATightSlot) {
  StrandSearch search = FullCatalogue(4.0);
  search.greatest_bare_mm = 1.4;
  search.length_per_strand_m = 100;
  for (Available& one : search.wires) one.length_left_m = 100;
  search.turns_in_slot = 40;
  search.slot_net_area_mm2 = 40 * 4.0 * 1.27 * 1.28 / 0.8;
  search.best = 1000;
  ExpectSame(search, "one of each");
  EXPECT_LT(ChooseStrands(search)->choices.size(), 1000u);
}

}  // namespace
}  // namespace coilwright::wire
