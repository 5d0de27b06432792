#include "standards/wire_tables.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <set>
#include <string>

#include "absl/strings/str_cat.h"
#include "standards/gnu_units.h"
#include "standards/rules.h"
#include "standards/units.h"

namespace coilwright::standards {
namespace {

std::vector<RoundSize> SizesOf(WireSystem system) {
  std::vector<RoundSize> sizes;
  for (const RoundSize& size : RoundSizes()) {
    if (size.system == system) sizes.push_back(size);
  }
  return sizes;
}

const RoundSize& Size(WireSystem system, const std::string& name) {
  for (const RoundSize& size : RoundSizes()) {
    if (size.system == system && size.size == name) return size;
  }
  ADD_FAILURE() << "no " << SystemName(system) << " " << name;
  return RoundSizes().front();
}

const RoundSize& Metric(const std::string& name) {
  for (const RoundSize& size : RoundSizes()) {
    if ((size.system == WireSystem::kIecR20 || size.system == WireSystem::kIecR40) && size.size == name) return size;
  }
  ADD_FAILURE() << "no " << name << " mm";
  return RoundSizes().front();
}

const FilmOverall& FilmOn(const RoundSize& size, Film film) {
  for (const FilmOverall& one : size.films) {
    if (one.film == film) return one;
  }
  ADD_FAILURE() << size.size << " has no " << FilmName(film);
  static const FilmOverall none;
  return none;
}

double Cmil(const RoundSize& size) { return CircleAreaMm2(size.bare_mm.nominal) / kMm2PerCmil; }

TEST(WireTables, HoldEverySizeOfEverySystem) {
  EXPECT_EQ(SizesOf(WireSystem::kAwg).size(), 54u);     // 4/0..50, ASTM B258
  EXPECT_EQ(SizesOf(WireSystem::kSwg).size(), 57u);     // 7/0..50, Order in Council 1883
  EXPECT_EQ(SizesOf(WireSystem::kIecR20).size(), 50u);  // 0.018..5.000, one per step of the R20 series (ISO 3)
  EXPECT_EQ(SizesOf(WireSystem::kIecR40).size(), 44u);  // 0.030..4.750, the R40 steps between them
}

// Circular mils of solid conductors, NFPA 70 (National Electrical Code) chapter 9 table 8, four figures, from memory.
TEST(WireTables, AwgCircularMilsOfTheElectricalCode) {
  const std::map<std::string, double> printed = {{"18", 1620},    {"16", 2580},    {"14", 4110},   {"12", 6530},
                                                 {"10", 10380},   {"8", 16510},    {"6", 26240},   {"4", 41740},
                                                 {"3", 52620},    {"2", 66360},    {"1", 83690},   {"1/0", 105600},
                                                 {"2/0", 133100}, {"3/0", 167800}, {"4/0", 211600}};
  for (const auto& [size, cmil] : printed) {
    const double half_digit = 0.5 * std::pow(10, std::floor(std::log10(cmil)) - (cmil < 1e4 ? 2 : 3));
    EXPECT_NEAR(Cmil(Size(WireSystem::kAwg, size)), cmil, half_digit) << "AWG " << size;
  }
}

// Areas of single gauges: Grob's Basic Electronics, example 11-1, p. 329 (0.005 in); a public chart of stranded wire
// (AWG 30, 32, 34) and the solid gauges it compares them with.
TEST(WireTables, AwgCircularMilsOfTextbooksAndCharts) {
  const std::map<std::string, double> printed = {{"36", 25},     {"30", 100},  {"32", 64},   {"34", 39.69},
                                                 {"24", 404.01}, {"20", 1024}, {"18", 1624}, {"16", 2581}};
  for (const auto& [size, cmil] : printed) EXPECT_NEAR(Cmil(Size(WireSystem::kAwg, size)), cmil, 0.4) << size;
}

// The exact gauge formula as GNU units has it; the table rounds it to 0.0001 in, from AWG 45 on to 0.00001 in (ASTM
// B258-02 rounding rule), and thick sizes to four figures.
TEST(WireTables, AwgIsTheRoundedFormulaOfGnuUnits) {
  for (const RoundSize& size : SizesOf(WireSystem::kAwg)) {
    const double exact_in = GnuUnits(absl::StrCat("awg(", size.gauge_number, ")"), "in");
    const double step = size.gauge_number >= 45 ? 1e-5 : 1e-4;
    EXPECT_NEAR(size.bare_mm.nominal / kMmPerInch, std::round(exact_in / step) * step, 1e-9) << size.size;
  }
}

TEST(WireTables, SwgIsThatOfGnuUnits) {
  for (const RoundSize& size : SizesOf(WireSystem::kSwg)) {
    const double inch = GnuUnits(absl::StrCat("brwiregauge(", size.gauge_number, ")"), "in");
    EXPECT_NEAR(size.bare_mm.nominal / kMmPerInch, inch, 1e-9) << size.size;
  }
}

// Nearest SWG to a metric size: comparison of wire gauges on a public engineering data page.
TEST(WireTables, NearestSwgOfAPublishedComparison) {
  const std::map<double, std::string> printed = {{5.00, "6"},  {4.00, "8"},  {3.15, "10"},  {2.65, "12"}, {2.00, "14"},
                                                 {1.60, "16"}, {1.25, "18"}, {1.00, "19"},  {0.71, "22"}, {0.56, "24"},
                                                 {0.50, "25"}, {0.45, "26"}, {0.355, "29"}, {0.280, "32"}};
  for (const auto& [mm, gauge] : printed) {
    const RoundSize* nearest = nullptr;
    for (const RoundSize& size : RoundSizes()) {
      if (size.system != WireSystem::kSwg) continue;
      if (!nearest || std::abs(size.bare_mm.nominal - mm) < std::abs(nearest->bare_mm.nominal - mm)) nearest = &size;
    }
    EXPECT_EQ(nearest->size, gauge) << mm << " mm";
  }
}

// Nearest AWG to a metric size, same page.
TEST(WireTables, NearestAwgOfAPublishedComparison) {
  const std::map<double, std::string> printed = {{5.00, "4"},  {4.00, "6"},  {3.15, "8"},  {2.00, "12"}, {1.80, "13"},
                                                 {1.40, "15"}, {1.12, "17"}, {1.00, "18"}, {0.90, "19"}, {0.71, "21"},
                                                 {0.56, "23"}, {0.50, "24"}, {0.45, "25"}, {0.355, "27"}};
  for (const auto& [mm, gauge] : printed) {
    const RoundSize* nearest = nullptr;
    for (const RoundSize& size : RoundSizes()) {
      if (size.system != WireSystem::kAwg) continue;
      if (!nearest || std::abs(size.bare_mm.nominal - mm) < std::abs(nearest->bare_mm.nominal - mm)) nearest = &size;
    }
    EXPECT_EQ(nearest->size, gauge) << mm << " mm";
  }
}

// Least increase and greatest diameter of a second public catalogue page for NEMA MW-1000, inches; the table came from
// another maker's page. Overall least = bare least + least increase.
TEST(WireTables, NemaFilmsOfASecondTable) {
  struct Printed {
    const char* size;
    Film film;
    double least_increase_in, greatest_in;
  };
  for (const Printed& p : {Printed{"14", Film::kSingle, 0.0016, 0.0666}, Printed{"18", Film::kSingle, 0.0013, 0.0424},
                           Printed{"22", Film::kSingle, 0.0011, 0.0270}, Printed{"24", Film::kSingle, 0.0010, 0.0217},
                           Printed{"30", Film::kSingle, 0.0007, 0.0112}, Printed{"36", Film::kSingle, 0.0004, 0.0058},
                           Printed{"12", Film::kHeavy, 0.0029, 0.0847}, Printed{"14", Film::kHeavy, 0.0032, 0.0682},
                           Printed{"18", Film::kHeavy, 0.0026, 0.0437}, Printed{"22", Film::kHeavy, 0.0021, 0.0281},
                           Printed{"24", Film::kHeavy, 0.0019, 0.0227}, Printed{"30", Film::kHeavy, 0.0014, 0.0119},
                           Printed{"36", Film::kHeavy, 0.0008, 0.0063}, Printed{"8", Film::kHeavy, 0.0033, 0.1332}}) {
    const RoundSize& size = Size(WireSystem::kAwg, p.size);
    const FilmOverall& film = FilmOn(size, p.film);
    EXPECT_NEAR((film.overall_mm.low - size.bare_mm.low) / kMmPerInch, p.least_increase_in, 1e-7) << p.size;
    EXPECT_NEAR(film.overall_mm.high / kMmPerInch, p.greatest_in, 1e-7) << p.size;
  }
}

// A film the source prints no nominal for lies midway, and says so.
TEST(WireTables, ThickHeavyFilmIsMidway) {
  const FilmOverall& film = FilmOn(Size(WireSystem::kAwg, "7"), Film::kHeavy);
  EXPECT_NEAR(film.overall_mm.nominal, (film.overall_mm.low + film.overall_mm.high) / 2, 1e-12);
  EXPECT_EQ(film.rule, rules::nema_mw1000_film_midway);
  EXPECT_EQ(FilmOn(Size(WireSystem::kAwg, "10"), Film::kHeavy).rule, rules::nema_mw1000_film_memory);
  EXPECT_EQ(FilmOn(Size(WireSystem::kAwg, "12"), Film::kHeavy).rule, rules::nema_mw1000_film);
}

// R20 is the series of preferred numbers 10^(k/20), ISO 3; its coarsest rounding (0.022 for 0.0224) is 1.7 %.
TEST(WireTables, R20IsTheSeriesOfPreferredNumbers) {
  const std::vector<RoundSize> sizes = SizesOf(WireSystem::kIecR20);
  for (size_t i = 0; i < sizes.size(); ++i) {
    const double exact = std::pow(10, (14 - static_cast<double>(i)) / 20);
    EXPECT_NEAR(sizes[i].bare_mm.nominal / exact, 1, 0.018) << sizes[i].size;
  }
}

// Greatest overall diameters of intermediate sizes, read in a public list of two makers' sheets; the table derives
// them from the next larger R20 size and prints none.
TEST(WireTables, IntermediateSizesAgreeWithPrintedDiameters) {
  const std::map<std::string, std::pair<double, double>> printed = {{"1.32", {1.388, 1.422}},
                                                                    {"1.50", {1.570, 1.606}},
                                                                    {"1.70", {1.772, 1.809}},
                                                                    {"1.90", {1.974, 2.012}},
                                                                    {"2.12", {2.196, 2.235}}};
  for (const auto& [size, greatest] : printed) {
    EXPECT_NEAR(FilmOn(Metric(size), Film::kGrade1).overall_mm.high, greatest.first, 1e-9) << size;
    EXPECT_NEAR(FilmOn(Metric(size), Film::kGrade2).overall_mm.high, greatest.second, 1e-9) << size;
    EXPECT_EQ(FilmOn(Metric(size), Film::kGrade1).rule, rules::iec60317_0_1_film_next_larger);
  }
}

// IEC 60317-0-1 table 1 as quoted by makers: 1.000 mm grade 2, least increase 0.063, greatest diameter 1.094 mm.
TEST(WireTables, MetricFilmLiesBetweenLeastAndGreatestIncrease) {
  const Band overall = FilmOn(Metric("1.00"), Film::kGrade2).overall_mm;
  EXPECT_NEAR(overall.low, 0.990 + 0.063, 1e-9);
  EXPECT_NEAR(overall.high, 1.094, 1e-9);
  EXPECT_NEAR(overall.nominal, (1.063 + 1.094) / 2, 1e-9);
}

// SWG 22 (0.7112 mm) takes the increases of 0.800 mm: least 0.030 and greatest 0.055 mm for grade 1.
TEST(WireTables, SwgTakesTheFilmOfTheNextLargerSize) {
  const RoundSize& size = Size(WireSystem::kSwg, "22");
  const Band overall = FilmOn(size, Film::kGrade1).overall_mm;
  EXPECT_NEAR(overall.low - size.bare_mm.low, 0.030, 1e-9);
  EXPECT_NEAR(overall.high - size.bare_mm.nominal, 0.055, 1e-9);
  EXPECT_EQ(FilmOn(size, Film::kGrade1).rule, rules::swg_film);
  // Both ends of the printed range: 0.1524 mm is below 0.160, 2.9464 mm below 3.150; the sizes beyond have no film.
  EXPECT_FALSE(Size(WireSystem::kSwg, "38").films.empty());
  EXPECT_TRUE(Size(WireSystem::kSwg, "39").films.empty());
  EXPECT_FALSE(Size(WireSystem::kSwg, "11").films.empty());
  EXPECT_TRUE(Size(WireSystem::kSwg, "10").films.empty());
}

// 0.100 mm: 2.034, 2.176, 2.333 ohm/m, IEC 60317-0-1 table 1 as printed by wire makers. Every printed row above 0.063
// mm follows from 1/59 over the largest, 1/58.5 over the nominal and 1/58 over the smallest conductor; 4 figures.
TEST(WireTables, ThinWireResistanceLimits) {
  const Band resistance = Metric("0.10").resistance_ohms_per_km.value();
  EXPECT_NEAR(resistance.low, 2034, 1);
  EXPECT_NEAR(resistance.nominal, 2176, 1);
  EXPECT_NEAR(resistance.high, 2333, 1);
  int rows = 0;
  for (const RoundSize& size : RoundSizes()) {
    if (!size.resistance_ohms_per_km) continue;
    ++rows;
    const Band& band = *size.resistance_ohms_per_km;
    const auto ohms = [](double conductivity, double mm) { return 1000 / conductivity / CircleAreaMm2(mm); };
    EXPECT_NEAR(band.nominal / ohms(58.5, size.bare_mm.nominal), 1, 3e-4) << size.size;
    if (size.bare_mm.nominal < 0.0635) continue;
    EXPECT_NEAR(band.low / ohms(59, size.bare_mm.high), 1, 3e-4) << size.size;
    EXPECT_NEAR(band.high / ohms(58, size.bare_mm.low), 1, 3e-4) << size.size;
  }
  EXPECT_EQ(rows, 27);
}

TEST(WireTables, AreInOrderAndNameTheirRules) {
  const RoundSize* last = nullptr;
  for (const RoundSize& size : RoundSizes()) {
    const std::string name = absl::StrCat(SystemName(size.system), " ", size.size);
    EXPECT_GT(size.bare_mm.low, 0) << name;
    EXPECT_LT(size.bare_mm.low, size.bare_mm.nominal) << name;
    EXPECT_LT(size.bare_mm.nominal, size.bare_mm.high) << name;
    // Limits are about 1 %, in thin wire a rounding step of the table.
    EXPECT_LT(size.bare_mm.high - size.bare_mm.low, size.bare_mm.nominal * 0.14) << name;
    EXPECT_NE(FindRule(size.rule), nullptr) << name;
    if (last != nullptr && last->system == size.system) {
      EXPECT_LT(size.bare_mm.nominal, last->bare_mm.nominal) << name;
    }
    double thinner_film = size.bare_mm.nominal;
    for (const FilmOverall& film : size.films) {
      EXPECT_NE(FindRule(film.rule), nullptr) << name;
      EXPECT_GT(film.overall_mm.nominal, thinner_film) << name << " " << FilmName(film.film);
      EXPECT_GT(film.overall_mm.low, size.bare_mm.low) << name;
      EXPECT_GT(film.overall_mm.nominal, film.overall_mm.low) << name;
      EXPECT_GT(film.overall_mm.high, film.overall_mm.nominal) << name;
      thinner_film = film.overall_mm.nominal;
    }
    EXPECT_EQ(size.resistance_ohms_per_km.has_value(), FindRule(size.resistance_rule) != nullptr) << name;
    last = &size;
  }
}

}  // namespace
}  // namespace coilwright::standards
