#include "wire/wire.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "standards/errors.h"
#include "standards/gnu_units.h"
#include "standards/rules.h"
#include "standards/units.h"

namespace coilwright::wire {
namespace {

using standards::Film;
using standards::WireSystem;
using ::testing::Contains;
using ::testing::HasSubstr;

constexpr WireSystem kSystems[] = {WireSystem::kAwg, WireSystem::kIecR20, WireSystem::kIecR40, WireSystem::kSwg};
constexpr Film kFilms[] = {Film::kBare,   Film::kSingle, Film::kHeavy, Film::kTriple,
                           Film::kGrade1, Film::kGrade2, Film::kGrade3};

Wire Found(WireSystem system, absl::string_view size, Film film = Film::kBare) {
  const auto wire = LookUp(system, size, film);
  EXPECT_TRUE(wire.ok()) << wire.status();
  return wire.value_or(Wire{});
}

Wire Awg(absl::string_view size, Film film = Film::kBare) { return Found(WireSystem::kAwg, size, film); }

// Strands of a public chart of stranded wire: total circular mils of n strands of one gauge.
TEST(Wire, StrandedAreasOfAPublicChart) {
  EXPECT_NEAR(7 * Awg("32").area_cmil, 448.00, 0.005);
  EXPECT_NEAR(10 * Awg("34").area_cmil, 396.90, 0.005);
  EXPECT_NEAR(10 * Awg("30").area_cmil, 1000.00, 0.005);
  EXPECT_NEAR(16 * Awg("30").area_cmil, 1600.00, 0.005);
  EXPECT_NEAR(41 * Awg("34").area_cmil, 1627.29, 0.005);
  EXPECT_NEAR(65 * Awg("36").area_cmil, 1625.00, 0.005);
  EXPECT_NEAR(26 * Awg("30").area_cmil, 2600.00, 0.005);
  // Grob's Basic Electronics, example 11-2, p. 335: 16 strands of No. 27, 3224 cmil by the exact gauge formula.
  EXPECT_NEAR(16 * Awg("27").area_cmil, 3224, 3224 * 0.001);
  // Beiser, Basic Mathematics for Electricity and Electronics, problem 5.4, p. 47: No. 14 is 4106 cmil, same formula.
  EXPECT_NEAR(Awg("14").area_cmil, 4106, 4106 * 0.001);
}

// A public article on the American wire gauge: twice the diameter is 6 gauges, about 1 mm is 18, 2 mm 12, 4 mm 6.
TEST(Wire, RulesOfThumbOfTheGauge) {
  EXPECT_NEAR(Awg("12").bare_mm.nominal / Awg("18").bare_mm.nominal, 2, 0.01);
  EXPECT_NEAR(Awg("18").bare_mm.nominal, 1, 0.03);
  EXPECT_NEAR(Awg("12").bare_mm.nominal, 2, 0.06);
  EXPECT_NEAR(Awg("6").bare_mm.nominal, 4, 0.12);
}

TEST(Wire, GaugesAreFoundHoweverTheyAreWritten) {
  EXPECT_EQ(Awg("0000").size, "4/0");
  EXPECT_EQ(Awg("00").size, "2/0");
  EXPECT_EQ(Awg("0").size, "1/0");
  EXPECT_EQ(Awg(" 18 ").size, "18");
  EXPECT_EQ(Awg("18.0").designation, "AWG 18");
  EXPECT_EQ(Found(WireSystem::kIecR20, "0.710").size, "0.71");
  EXPECT_EQ(Found(WireSystem::kIecR20, "1.000", Film::kGrade2).designation, "1.00 mm grade 2");
  EXPECT_EQ(Found(WireSystem::kSwg, "7/0").designation, "SWG 7/0");
}

// Half sizes: the exact formula of GNU units rounded to 0.0001 in; the film is the mean of the neighbours' increases.
// Common practice, no source.
TEST(Wire, HalfGauges) {
  for (const char* size : {"0.5", "12.5", "17.5", "18.5", "26.5", "35.5"}) {
    const Wire half = Awg(size);
    const double exact_in = standards::GnuUnits("awg(" + std::string(size) + ")", "in");
    EXPECT_NEAR(half.bare_mm.nominal / standards::kMmPerInch, std::round(exact_in * 1e4) / 1e4, 1e-9) << size;
    EXPECT_FALSE(half.tabulated);
    EXPECT_THAT(half.rules, Contains(rules::awg_half_gauge));
  }
  const Wire half = Awg("18.5", Film::kHeavy);
  const Wire thicker = Awg("18", Film::kHeavy);
  const Wire thinner = Awg("19", Film::kHeavy);
  const auto increase = [](const Wire& wire) { return wire.overall_mm.nominal - wire.bare_mm.nominal; };
  EXPECT_NEAR(increase(half), (increase(thicker) + increase(thinner)) / 2, 1e-12);
  EXPECT_LT(half.overall_mm.high, thicker.overall_mm.high);
  EXPECT_GT(half.overall_mm.low, thinner.overall_mm.low);
  // Between a gauge with the film and one without, no film is made up.
  EXPECT_EQ(LookUp(WireSystem::kAwg, "11.5", Film::kSingle).status().code(), absl::StatusCode::kInvalidArgument);
  EXPECT_EQ(LookUp(WireSystem::kSwg, "18.5", Film::kBare).status().code(), absl::StatusCode::kNotFound);
}

TEST(Wire, AMissingSizeNamesTheNearestTwo) {
  const auto message = [](WireSystem system, const char* size) {
    const auto wire = LookUp(system, size, Film::kBare);
    EXPECT_EQ(wire.status().code(), absl::StatusCode::kNotFound) << size;
    return std::string(wire.status().message());
  };
  EXPECT_THAT(message(WireSystem::kAwg, "51"), HasSubstr("AWG 50 and AWG 49"));
  EXPECT_THAT(message(WireSystem::kAwg, "18.3"), HasSubstr("AWG 18 and AWG 19"));
  EXPECT_THAT(message(WireSystem::kAwg, "7/0"), HasSubstr("AWG 4/0 and AWG 3/0"));
  EXPECT_THAT(message(WireSystem::kIecR20, "0.72"), HasSubstr("0.71 mm and 0.80 mm"));
  EXPECT_THAT(message(WireSystem::kIecR40, "0.71"), HasSubstr("0.67 mm and 0.75 mm"));
}

TEST(Wire, WrongTextAndWrongFilmNameTheField) {
  for (const char* wrong : {"", "x", "1e3", "nan", "inf", "1/2", "-1", "1/0/0", "99999999999999999999"}) {
    const auto wire = LookUp(WireSystem::kAwg, wrong, Film::kBare);
    ASSERT_EQ(wire.status().code(), absl::StatusCode::kInvalidArgument) << wrong;
    EXPECT_EQ(standards::FieldErrorsOf(wire.status())[0].field, "size");
  }
  for (const char* wrong : {"", "0", "4/0", "x", "nan"}) {
    EXPECT_EQ(LookUp(WireSystem::kIecR20, wrong, Film::kBare).status().code(), absl::StatusCode::kInvalidArgument);
  }
  const auto grade = LookUp(WireSystem::kAwg, "18", Film::kGrade2);
  ASSERT_EQ(standards::FieldErrorsOf(grade.status()).size(), 1u);
  EXPECT_EQ(standards::FieldErrorsOf(grade.status())[0].field, "film");
  EXPECT_EQ(standards::FieldErrorsOf(grade.status())[0].given, "grade 2");
  EXPECT_THAT(standards::FieldErrorsOf(grade.status())[0].accepted, HasSubstr("bare, single, heavy, triple"));
}

TEST(Wire, CataloguesAreThickestFirstAndWholeWires) {
  for (WireSystem system : kSystems) {
    for (Film film : kFilms) {
      const std::vector<Wire> wires = Catalogue(system, film);
      for (size_t i = 0; i < wires.size(); ++i) {
        const Wire& wire = wires[i];
        EXPECT_TRUE(i == 0 || wire.area_mm2 < wires[i - 1].area_mm2) << wire.designation;
        EXPECT_NEAR(wire.area_mm2, standards::CircleAreaMm2(wire.bare_mm.nominal), 1e-12);
        EXPECT_EQ(film == Film::kBare, wire.overall_mm.nominal == wire.bare_mm.nominal) << wire.designation;
        EXPECT_EQ(wire.rules.size(), film == Film::kBare ? 1u : system == WireSystem::kAwg ? 2u : 3u);
        for (absl::string_view rule : wire.rules) EXPECT_NE(standards::FindRule(rule), nullptr) << rule;
        const auto again = Parse(wire.designation);
        ASSERT_TRUE(again.ok()) << again.status();
        EXPECT_EQ(again->designation, wire.designation);
        EXPECT_EQ(again->system, wire.system);
        EXPECT_EQ(again->overall_mm.high, wire.overall_mm.high);
      }
    }
  }
  EXPECT_EQ(Catalogue(WireSystem::kAwg, Film::kHeavy).size(), 45u);  // AWG 6..50
  EXPECT_TRUE(Catalogue(WireSystem::kAwg, Film::kGrade1).empty());
}

TEST(Wire, NeighboursWalkTheWireSOwnSeries) {
  EXPECT_EQ(Neighbour(Awg("18", Film::kHeavy), 1)->designation, "AWG 19 heavy");
  EXPECT_EQ(Neighbour(Awg("18", Film::kHeavy), -3)->designation, "AWG 15 heavy");
  EXPECT_EQ(Neighbour(Awg("1/0"), -1)->designation, "AWG 2/0");
  EXPECT_EQ(Neighbour(Found(WireSystem::kIecR20, "0.71", Film::kGrade2), 1)->designation, "0.63 mm grade 2");
  EXPECT_EQ(Neighbour(Found(WireSystem::kIecR40, "0.75"), -1)->designation, "0.85 mm");
  EXPECT_EQ(Neighbour(Awg("18.5"), 1)->designation, "AWG 19");
  EXPECT_EQ(Neighbour(Awg("18.5"), -1)->designation, "AWG 18");
  EXPECT_EQ(Neighbour(Awg("18.5"), 2)->designation, "AWG 20");
  EXPECT_EQ(Neighbour(Awg("18"), 0)->designation, "AWG 18");
  EXPECT_EQ(Neighbour(Awg("4/0"), -1).status().code(), absl::StatusCode::kNotFound);
  EXPECT_EQ(Neighbour(Awg("50"), 1).status().code(), absl::StatusCode::kNotFound);
  EXPECT_EQ(Neighbour(Awg("6", Film::kHeavy), -1).status().code(), absl::StatusCode::kNotFound);
  EXPECT_EQ(Neighbour(Awg("18"), 2147483647).status().code(), absl::StatusCode::kNotFound);
  EXPECT_EQ(Neighbour(FromDiameters(0.73, 0.79), 1).status().code(), absl::StatusCode::kNotFound);
}

TEST(Wire, AMeasuredWireCarriesItsFilm) {
  const Wire wire = FromDiameters(0.73, 0.79);
  EXPECT_FALSE(wire.tabulated);
  EXPECT_NEAR(wire.overall_mm.nominal, 0.79, 1e-12);
  EXPECT_NEAR(wire.overall_mm.high - wire.bare_mm.high, 0.06, 1e-12);
  EXPECT_NEAR(wire.area_mm2, 0.418539, 1e-6);  // pi/4 0.73^2
  EXPECT_EQ(FromDiameters(0.73, 0.5).overall_mm.nominal, 0.73);
}

}  // namespace
}  // namespace coilwright::wire
