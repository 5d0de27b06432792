#include "wire/identify.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "standards/errors.h"

namespace coilwright::wire {
namespace {

using standards::Film;
using standards::WireSystem;

Identification Read(std::vector<double> diameters_mm, bool over_film = false, double uncertainty_mm = 0.005,
                    int most = 10) {
  const auto answer = Identify({std::move(diameters_mm), over_film, uncertainty_mm}, most);
  EXPECT_TRUE(answer.ok()) << answer.status();
  return answer.value_or(Identification{});
}

// 0.0571 in is AWG 15 (ASTM B258); no metric or SWG size lies within 3 % of it but 1.40 and 1.50 mm.
TEST(Identify, DecidesWhereOnlyOneWireExplainsTheReadings) {
  const Identification answer = Read({1.450, 1.451, 1.449});
  ASSERT_FALSE(answer.candidates.empty());
  EXPECT_EQ(answer.candidates[0].wire.designation, "AWG 15");
  EXPECT_TRUE(answer.decided);
  EXPECT_TRUE(answer.candidates[0].within_limits);
  EXPECT_NEAR(answer.mean_mm, 1.450, 1e-12);
  EXPECT_NEAR(answer.spread_mm, 0.002, 1e-12);
  EXPECT_NEAR(answer.candidates[0].expected_mm, 1.45034, 1e-9);
  EXPECT_NEAR(answer.candidates[0].deviation_mm, -0.00034, 1e-9);
}

// AWG 30 and SWG 33 are both 0.0100 in: no micrometer tells them apart, and neither is favoured.
TEST(Identify, EqualSizesShareAGroupAndTheProbability) {
  const Identification answer = Read({0.254, 0.254});
  ASSERT_GE(answer.candidates.size(), 2u);
  EXPECT_NEAR(answer.candidates[0].expected_mm, answer.candidates[1].expected_mm, 1e-12);
  EXPECT_NEAR(answer.candidates[0].probability, answer.candidates[1].probability, 0.15);
  EXPECT_EQ(answer.candidates[0].group, 1);
  EXPECT_EQ(answer.candidates[1].group, 1);
  EXPECT_FALSE(answer.decided);
}

// Halfway between 0.71 mm and AWG 21 (0.7239 mm) nothing is decided, whatever leads.
TEST(Identify, HalfwayIsUndecided) { EXPECT_FALSE(Read({0.717}).decided); }

TEST(Identify, FilmIsReadAgainstOverallDiameters) {
  // AWG 18 heavy: 0.0431 in over the film (ANSI/NEMA MW 1000).
  const Identification answer = Read({1.0947, 1.0947, 1.0947}, true, 0.002);
  ASSERT_FALSE(answer.candidates.empty());
  EXPECT_EQ(answer.candidates[0].wire.designation, "AWG 18 heavy");
  for (const Candidate& candidate : answer.candidates) EXPECT_NE(candidate.wire.film, Film::kBare);
}

// Every tabulated wire read exactly is found in the first group.
TEST(Identify, FindsEveryTabulatedWire) {
  for (WireSystem system : {WireSystem::kAwg, WireSystem::kIecR20, WireSystem::kIecR40, WireSystem::kSwg}) {
    for (Film film : {Film::kBare, Film::kHeavy, Film::kGrade1, Film::kGrade2}) {
      for (const Wire& wire : Catalogue(system, film)) {
        const double reading = wire.overall_mm.nominal;
        const Identification answer = Read({reading}, film != Film::kBare, 0.002, 100);
        const bool found =
            std::any_of(answer.candidates.begin(), answer.candidates.end(), [&](const Candidate& candidate) {
              return candidate.wire.designation == wire.designation && candidate.group == 1 && candidate.within_limits;
            });
        EXPECT_TRUE(found) << wire.designation;
      }
    }
  }
}

// Where the truth is drawn from the tables and read with the stated uncertainty, the answer holds what it promises: the
// true wire is in the first group in at least 95 of 100 draws, and the stated probability of the first is honest.
TEST(Identify, KeepsItsPromiseOnDrawnWires) {
  std::mt19937 random(20240117);
  std::normal_distribution<double> normal;
  std::vector<Wire> wires;
  for (WireSystem system : {WireSystem::kAwg, WireSystem::kIecR20, WireSystem::kIecR40, WireSystem::kSwg}) {
    for (const Wire& wire : Catalogue(system, Film::kBare)) {
      if (wire.bare_mm.nominal > 0.2 && wire.bare_mm.nominal < 3) wires.push_back(wire);
    }
  }
  const int draws = 3000;
  int in_first_group = 0;
  int first_right = 0;
  double promised = 0;
  for (int i = 0; i < draws; ++i) {
    const Wire& truth = wires[random() % wires.size()];
    const double limit = (truth.bare_mm.high - truth.bare_mm.low) / 2;
    const double diameter = truth.bare_mm.nominal + normal(random) * limit / 2;
    std::vector<double> readings;
    for (int r = 0; r < 3; ++r) readings.push_back(diameter + normal(random) * 0.0025);
    const Identification answer = Read(readings, false, 0.005, 100);
    if (answer.candidates.empty()) continue;
    promised += answer.candidates[0].probability;
    first_right += answer.candidates[0].wire.designation == truth.designation;
    for (const Candidate& candidate : answer.candidates) {
      in_first_group += candidate.group == 1 && candidate.wire.designation == truth.designation;
    }
  }
  EXPECT_GT(in_first_group, 0.95 * draws);
  EXPECT_NEAR(first_right, promised, 0.04 * draws);
}

TEST(Identify, ProbabilitiesAndGroupsAreInOrder) {
  const Identification answer = Read({1.09}, true, 0.01, 100);
  double total = 0;
  for (size_t i = 0; i < answer.candidates.size(); ++i) {
    total += answer.candidates[i].probability;
    EXPECT_TRUE(i == 0 || answer.candidates[i].probability <= answer.candidates[i - 1].probability);
    EXPECT_GE(answer.candidates[i].group, 1);
  }
  EXPECT_NEAR(total, 1, 1e-9);
  EXPECT_EQ(Read({1.09}, true, 0.01, 3).candidates.size(), 3u);
}

TEST(Identify, ListsNothingWhereNothingLiesNear) {
  const Identification answer = Read({50});
  EXPECT_TRUE(answer.candidates.empty());
  EXPECT_FALSE(answer.decided);
}

TEST(Identify, NamesEveryWrongField) {
  const auto none = Identify({{}, false, 0.005});
  EXPECT_EQ(standards::FieldErrorsOf(none.status())[0].field, "diameters_mm");
  const auto wrong = Identify({{0.5, -1, std::nan(""), INFINITY}, false, 0}, 0);
  const auto errors = standards::FieldErrorsOf(wrong.status());
  ASSERT_EQ(errors.size(), 5u);
  EXPECT_EQ(errors[0].field, "diameters_mm[1]");
  EXPECT_EQ(errors[3].field, "uncertainty_mm");
  EXPECT_EQ(errors[4].field, "most");
}

}  // namespace
}  // namespace coilwright::wire
