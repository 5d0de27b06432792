#include "standards/wire_tables.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "absl/strings/str_cat.h"
#include "absl/strings/strip.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"
#include "standards/units.h"

namespace coilwright::standards {
namespace {

// Where no standard gives limits of the bare diameter.
constexpr double kAssumedTolerance = 0.01;
// From here on an intermediate size takes the film of the next larger R20 size; thinner ones do not follow.
constexpr double kLeastNextLargerMm = 0.19;
// SWG sizes with film are in print where the next larger R20 size lies in this range.
constexpr double kLeastSwgFilmMm = 0.160;
constexpr double kGreatestSwgFilmMm = 3.150;
// Round values of the tables are compared with this slack.
constexpr double kSlackMm = 1e-9;

Band WithTolerance(double nominal, double ratio) { return {nominal * (1 - ratio), nominal, nominal * (1 + ratio)}; }

// Film of IEC 60317-0-1 as the standard states it: least increase over the conductor, and greatest overall diameter
// less the nominal conductor.
struct Increase {
  double least_mm = 0;
  double greatest_mm = 0;
};
struct IecGrades {
  double size_mm = 0;
  std::array<std::optional<Increase>, 3> grades;
};

FilmOverall OverIncrease(Film film, const Band& bare, const Increase& increase, absl::string_view rule) {
  const double greatest = bare.nominal + increase.greatest_mm;
  return {film, {bare.low + increase.least_mm, (bare.nominal + increase.least_mm + greatest) / 2, greatest}, rule};
}

constexpr Film kGrades[] = {Film::kGrade1, Film::kGrade2, Film::kGrade3};

void AddGrades(const IecGrades& from, absl::string_view rule, RoundSize& size) {
  for (size_t grade = 0; grade < 3; ++grade) {
    if (from.grades[grade]) size.films.push_back(OverIncrease(kGrades[grade], size.bare_mm, *from.grades[grade], rule));
  }
}

// The thinnest R20 size not thinner than this one, or null. `r20` is thinnest first.
const IecGrades* NextLarger(const std::vector<IecGrades>& r20, double diameter_mm) {
  const auto found = std::find_if(r20.begin(), r20.end(),
                                  [&](const IecGrades& size) { return size.size_mm >= diameter_mm - kSlackMm; });
  return found == r20.end() ? nullptr : &*found;
}

IecGrades GradesOf(const Table& table, int row) {
  IecGrades grades{table.Number(row, "size_mm").value(), {}};
  for (size_t grade = 0; grade < 3; ++grade) {
    const auto least = table.Number(row, absl::StrCat("min_increase_grade", grade + 1, "_mm"));
    const auto greatest = table.Number(row, absl::StrCat("max_overall_grade", grade + 1, "_mm"));
    if (least && greatest) grades.grades[grade] = Increase{*least, *greatest - grades.size_mm};
  }
  return grades;
}

// "0.710" as it is said: "0.71"; "0.800" is "0.80".
std::string Spoken(absl::string_view printed) { return std::string(absl::StripSuffix(printed, "0")); }

struct IecTable {
  std::vector<IecGrades> r20;    // thinnest first
  std::vector<RoundSize> sizes;  // thinnest first
};

IecTable LoadIec() {
  const Table table(EmbeddedTable("iec60317_round"));
  IecTable loaded;
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "series") == "R20") loaded.r20.push_back(GradesOf(table, row));
  }
  Band last_resistance;  // of the next thinner size, where a size has no limits of its own
  for (int row = 0; row < table.rows(); ++row) {
    RoundSize size;
    size.system = table.Text(row, "series") == "R20" ? WireSystem::kIecR20 : WireSystem::kIecR40;
    size.size = Spoken(table.Text(row, "size_mm"));
    const double nominal = table.Number(row, "size_mm").value();
    if (const auto least = table.Number(row, "min_ohms_per_m")) {
      last_resistance = {*least * 1000, table.Number(row, "nom_ohms_per_m").value() * 1000,
                         table.Number(row, "max_ohms_per_m").value() * 1000};
      size.resistance_ohms_per_km = last_resistance;
      size.resistance_rule = table.Text(row, "resistance_standing") == "published"
                                 ? rules::iec60317_0_1_resistance
                                 : rules::iec60317_0_1_resistance_memory;
    }
    if (const auto tolerance = table.Number(row, "tolerance_mm")) {
      size.bare_mm = {nominal - *tolerance, nominal, nominal + *tolerance};
      size.rule = table.Text(row, "tolerance_standing") == "published" ? rules::iec60317_0_1_bare
                                                                       : rules::iec60317_0_1_bare_memory;
    } else {
      size.bare_mm = {nominal * std::sqrt(last_resistance.nominal / last_resistance.high), nominal,
                      nominal * std::sqrt(last_resistance.nominal / last_resistance.low)};
      size.rule = rules::iec60317_0_1_bare_from_resistance;
    }
    const absl::string_view standing = table.Text(row, "film_standing");
    if (!standing.empty()) {
      AddGrades(GradesOf(table, row),
                standing == "published" ? rules::iec60317_0_1_film : rules::iec60317_0_1_film_memory, size);
    } else if (nominal > kLeastNextLargerMm - kSlackMm) {
      if (const IecGrades* next = NextLarger(loaded.r20, nominal)) {
        AddGrades(*next, rules::iec60317_0_1_film_next_larger, size);
      }
    }
    loaded.sizes.push_back(std::move(size));
  }
  return loaded;
}

// One film of NEMA MW 1000, where the table has it; a missing nominal is taken midway.
std::optional<FilmOverall> NemaFilm(const Table& table, int row, Film film) {
  const std::string name(FilmName(film));
  const auto cell = [&](absl::string_view which) { return table.Number(row, absl::StrCat(name, "_", which, "_in")); };
  const auto least = cell("min");
  const auto greatest = cell("max");
  if (!least || !greatest) return std::nullopt;
  const auto nominal = cell("nom");
  const absl::string_view rule = table.Text(row, "film_standing") != "published" ? rules::nema_mw1000_film_memory
                                 : nominal                                       ? rules::nema_mw1000_film
                                                                                 : rules::nema_mw1000_film_midway;
  return FilmOverall{
      film,
      {*least * kMmPerInch, nominal.value_or((*least + *greatest) / 2) * kMmPerInch, *greatest * kMmPerInch},
      rule};
}

std::vector<RoundSize> LoadAwg() {
  const Table gauges(EmbeddedTable("awg"));
  const Table films(EmbeddedTable("nema_mw1000"));
  std::vector<RoundSize> sizes;
  for (int row = 0; row < gauges.rows(); ++row) {
    RoundSize size;
    size.system = WireSystem::kAwg;
    size.size = std::string(gauges.Text(row, "awg"));
    size.gauge_number = gauges.Number(row, "number").value();
    size.bare_mm = WithTolerance(gauges.Number(row, "bare_in").value() * kMmPerInch, kAssumedTolerance);
    size.rule = rules::astm_b258_bare;
    for (int film_row = 0; film_row < films.rows(); ++film_row) {
      if (films.Text(film_row, "awg") != size.size) continue;
      if (const auto least = films.Number(film_row, "bare_min_in")) {
        size.bare_mm.low = *least * kMmPerInch;
        size.bare_mm.high = films.Number(film_row, "bare_max_in").value() * kMmPerInch;
        size.rule = films.Text(film_row, "bare_standing") == "published" ? rules::nema_mw1000_bare
                                                                         : rules::nema_mw1000_bare_memory;
      }
      for (Film film : {Film::kSingle, Film::kHeavy, Film::kTriple}) {
        if (const auto overall = NemaFilm(films, film_row, film)) size.films.push_back(*overall);
      }
    }
    sizes.push_back(std::move(size));
  }
  return sizes;
}

std::vector<RoundSize> LoadSwg(const std::vector<IecGrades>& r20) {
  const Table gauges(EmbeddedTable("swg"));
  std::vector<RoundSize> sizes;
  for (int row = 0; row < gauges.rows(); ++row) {
    RoundSize size;
    size.system = WireSystem::kSwg;
    size.size = std::string(gauges.Text(row, "swg"));
    size.gauge_number = gauges.Number(row, "number").value();
    size.bare_mm = WithTolerance(gauges.Number(row, "bare_in").value() * kMmPerInch, kAssumedTolerance);
    size.rule = rules::swg_bare;
    const IecGrades* next = NextLarger(r20, size.bare_mm.nominal);
    if (next != nullptr && next->size_mm > kLeastSwgFilmMm - kSlackMm &&
        next->size_mm < kGreatestSwgFilmMm + kSlackMm) {
      AddGrades(*next, rules::swg_film, size);
    }
    sizes.push_back(std::move(size));
  }
  return sizes;
}

std::vector<RoundSize> LoadAll() {
  std::vector<RoundSize> sizes = LoadAwg();
  const IecTable iec = LoadIec();
  for (WireSystem series : {WireSystem::kIecR20, WireSystem::kIecR40}) {
    std::copy_if(iec.sizes.rbegin(), iec.sizes.rend(), std::back_inserter(sizes),
                 [&](const RoundSize& size) { return size.system == series; });
  }
  const std::vector<RoundSize> swg = LoadSwg(iec.r20);
  sizes.insert(sizes.end(), swg.begin(), swg.end());
  return sizes;
}

}  // namespace

const std::vector<RoundSize>& RoundSizes() {
  static const auto& sizes = *new std::vector<RoundSize>(LoadAll());
  return sizes;
}

absl::string_view SystemName(WireSystem system) {
  constexpr absl::string_view kNames[] = {"AWG", "IEC R20", "IEC R40", "SWG"};
  return kNames[static_cast<size_t>(system)];
}

absl::string_view FilmName(Film film) {
  constexpr absl::string_view kNames[] = {"bare", "single", "heavy", "triple", "grade 1", "grade 2", "grade 3"};
  return kNames[static_cast<size_t>(film)];
}

}  // namespace coilwright::standards
