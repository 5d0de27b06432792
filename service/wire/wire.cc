#include "wire/wire.h"

#include <algorithm>
#include <cmath>

#include "absl/status/status.h"
#include "absl/strings/ascii.h"
#include "absl/strings/escaping.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "absl/strings/strip.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"
#include "standards/units.h"
#include "wire/sizes.h"

namespace coilwright::wire {
namespace {

using standards::Band;
using standards::Film;
using standards::FilmOverall;
using standards::RoundSize;
using standards::WireSystem;

// Bare limits where no standard sets any.
constexpr double kAssumedTolerance = 0.01;
constexpr double kSameSizeMm = 1e-9;
// Beyond this a number is no gauge and no wire in millimetres.
constexpr double kGreatestNumber = 1000;

std::string Designation(WireSystem system, absl::string_view size, Film film) {
  std::string text =
      IsGauge(system) ? absl::StrCat(standards::SystemName(system), " ", size) : absl::StrCat(size, " mm");
  if (film != Film::kBare) absl::StrAppend(&text, " ", standards::FilmName(film));
  return text;
}

void SetArea(Wire& wire) {
  wire.area_mm2 = standards::CircleAreaMm2(wire.bare_mm.nominal);
  wire.area_cmil = wire.area_mm2 / standards::kMm2PerCmil;
}

Band Limits(double nominal) { return {nominal * (1 - kAssumedTolerance), nominal, nominal * (1 + kAssumedTolerance)}; }

absl::Status NoSuchFilm(const std::string& size, const std::vector<Film>& offered, Film film) {
  return standards::InvalidField(
      "film", standards::FilmName(film),
      absl::StrCat(absl::StrJoin(offered, ", ",
                                 [](std::string* out, Film one) { absl::StrAppend(out, standards::FilmName(one)); }),
                   " for ", size));
}

std::vector<Film> FilmsOf(const RoundSize& row) {
  std::vector<Film> films = {Film::kBare};
  for (const FilmOverall& film : row.films) films.push_back(film.film);
  return films;
}

// Half sizes lie between two tabulated gauges; the film is the mean of the neighbours' increases.
absl::StatusOr<Wire> HalfGauge(const RoundSize& thicker, const RoundSize& thinner, Film film) {
  const double number = (thicker.gauge_number + thinner.gauge_number) / 2;
  const double step_in = number > 44 ? 1e-5 : 1e-4;
  const double exact_in = 0.005 * std::pow(92.0, (36 - number) / 39);
  Wire wire;
  wire.system = WireSystem::kAwg;
  wire.size = absl::StrCat(number);
  wire.film = film;
  wire.designation = Designation(WireSystem::kAwg, wire.size, film);
  wire.tabulated = false;
  wire.bare_mm = Limits(std::round(exact_in / step_in) * step_in * standards::kMmPerInch);
  wire.overall_mm = wire.bare_mm;
  wire.rules = {rules::awg_half_gauge, rules::astm_b258_formula};
  if (film != Film::kBare) {
    const FilmOverall* one = FilmOf(thicker, film);
    const FilmOverall* other = FilmOf(thinner, film);
    if (one == nullptr || other == nullptr) {
      std::vector<Film> both = FilmsOf(thicker);
      both.erase(std::remove_if(both.begin(), both.end(),
                                [&](Film f) { return f != Film::kBare && FilmOf(thinner, f) == nullptr; }),
                 both.end());
      return NoSuchFilm(absl::StrCat("AWG ", wire.size), both, film);
    }
    const auto add = [&](double Band::*limit) {
      wire.overall_mm.*limit +=
          (one->overall_mm.*limit - thicker.bare_mm.*limit + other->overall_mm.*limit - thinner.bare_mm.*limit) / 2;
    };
    add(&Band::low);
    add(&Band::nominal);
    add(&Band::high);
    wire.rules.push_back(rules::awg_half_gauge_film);
  }
  SetArea(wire);
  return wire;
}

// How far a row lies from what was asked: in gauge numbers or in millimetres.
double Distance(const RoundSize& row, double wanted) {
  return std::abs((IsGauge(row.system) ? row.gauge_number : row.bare_mm.nominal) - wanted);
}

absl::Status NoSuchSize(const std::vector<const RoundSize*>& rows, absl::string_view size, double wanted) {
  std::vector<const RoundSize*> nearest(2);
  std::partial_sort_copy(
      rows.begin(), rows.end(), nearest.begin(), nearest.end(),
      [&](const RoundSize* a, const RoundSize* b) { return Distance(*a, wanted) < Distance(*b, wanted); });
  const auto name = [](const RoundSize* row) { return Designation(row->system, row->size, Film::kBare); };
  return absl::NotFoundError(absl::StrCat("no wire ", Designation(rows.front()->system, size, Film::kBare),
                                          "; the nearest are ", name(nearest[0]), " and ", name(nearest[1])));
}

}  // namespace

bool IsGauge(WireSystem system) { return system == WireSystem::kAwg || system == WireSystem::kSwg; }

std::string Quoted(absl::string_view text) {
  constexpr size_t kMost = 60;
  return absl::StrCat("\"", absl::CHexEscape(text.substr(0, kMost)), text.size() > kMost ? "...\"" : "\"");
}

std::optional<double> GaugeNumber(absl::string_view text) {
  if (text.empty() || text.find_first_not_of("0123456789./") != absl::string_view::npos) return std::nullopt;
  if (text.find_first_not_of('0') == absl::string_view::npos) return 1.0 - static_cast<double>(text.size());
  double number = 0;
  if (absl::ConsumeSuffix(&text, "/0")) {
    if (!absl::SimpleAtod(text, &number) || number < 1 || number > kGreatestNumber || number != std::floor(number))
      return std::nullopt;
    return 1 - number;
  }
  if (!absl::SimpleAtod(text, &number) || number > kGreatestNumber) return std::nullopt;
  return number;
}

const FilmOverall* FilmOf(const RoundSize& row, Film film) {
  const auto found =
      std::find_if(row.films.begin(), row.films.end(), [&](const FilmOverall& one) { return one.film == film; });
  return found == row.films.end() ? nullptr : &*found;
}

Wire FromRow(const RoundSize& row, Film film) {
  Wire wire;
  wire.system = row.system;
  wire.size = row.size;
  wire.film = film;
  wire.designation = Designation(row.system, row.size, film);
  wire.bare_mm = row.bare_mm;
  wire.overall_mm = row.bare_mm;
  wire.rules = {row.rule};
  if (const FilmOverall* over = FilmOf(row, film)) {
    wire.overall_mm = over->overall_mm;
    wire.rules.push_back(over->rule);
    if (row.system != WireSystem::kAwg) wire.rules.push_back(rules::iec60317_0_1_overall_nominal);
  }
  SetArea(wire);
  return wire;
}

const RoundSize* RowOf(const Wire& wire) {
  if (!wire.tabulated) return nullptr;
  for (const RoundSize& row : standards::RoundSizes()) {
    if (row.system == wire.system && row.size == wire.size) return &row;
  }
  return nullptr;
}

absl::StatusOr<Wire> LookUp(absl::Span<const WireSystem> systems, absl::string_view size, Film film) {
  const absl::string_view text = absl::StripAsciiWhitespace(size);
  const bool gauge = IsGauge(systems.front());
  std::optional<double> wanted = GaugeNumber(text);
  if (!gauge && (!wanted || !absl::SimpleAtod(text, &*wanted) || *wanted <= 0)) wanted = std::nullopt;
  if (!wanted) {
    return standards::InvalidField(
        "size", Quoted(text),
        gauge ? R"(a gauge number such as "18", "4/0" or "0000")" : R"(a diameter in mm such as "0.71")");
  }
  std::vector<const RoundSize*> rows;
  for (const RoundSize& row : standards::RoundSizes()) {
    if (std::find(systems.begin(), systems.end(), row.system) == systems.end()) continue;
    if (Distance(row, *wanted) < kSameSizeMm) {
      if (film != Film::kBare && FilmOf(row, film) == nullptr) {
        return NoSuchFilm(Designation(row.system, row.size, Film::kBare), FilmsOf(row), film);
      }
      return FromRow(row, film);
    }
    rows.push_back(&row);
  }
  if (systems.front() == WireSystem::kAwg) {
    for (size_t i = 1; i < rows.size(); ++i) {
      if (*wanted == (rows[i - 1]->gauge_number + rows[i]->gauge_number) / 2) {
        return HalfGauge(*rows[i - 1], *rows[i], film);
      }
    }
  }
  return NoSuchSize(rows, text, *wanted);
}

absl::StatusOr<Wire> LookUp(WireSystem system, absl::string_view size, Film film) {
  return LookUp(absl::MakeConstSpan(&system, 1), size, film);
}

Wire FromDiameters(double bare_mm, double overall_mm) {
  Wire wire;
  wire.system = WireSystem::kIecR20;
  wire.size = absl::StrFormat("%.4g", bare_mm);
  wire.tabulated = false;
  wire.bare_mm = Limits(bare_mm);
  const double film_mm = std::max(0.0, overall_mm - bare_mm);
  wire.overall_mm = {wire.bare_mm.low + film_mm, bare_mm + film_mm, wire.bare_mm.high + film_mm};
  wire.designation = absl::StrCat(wire.size, " mm measured");
  if (film_mm > 0) absl::StrAppendFormat(&wire.designation, ", %.4g mm over the film", overall_mm);
  wire.rules = {rules::wire_measured_diameter};
  SetArea(wire);
  return wire;
}

std::vector<Wire> Catalogue(WireSystem system, Film film) {
  std::vector<Wire> wires;
  for (const RoundSize& row : standards::RoundSizes()) {
    if (row.system == system && (film == Film::kBare || FilmOf(row, film) != nullptr)) {
      wires.push_back(FromRow(row, film));
    }
  }
  return wires;
}

absl::StatusOr<Wire> Neighbour(const Wire& wire, int step) {
  if (step == 0) return wire;
  const bool half = !wire.tabulated;
  const double number = GaugeNumber(wire.size).value_or(0);
  if (half && wire.system != WireSystem::kAwg) {
    return absl::NotFoundError(absl::StrCat(wire.designation, " belongs to no series"));
  }
  std::vector<const RoundSize*> series;
  for (const RoundSize& row : standards::RoundSizes()) {
    const bool offered = wire.film == Film::kBare || FilmOf(row, wire.film) != nullptr;
    if (row.system == wire.system && offered) series.push_back(&row);
  }
  // The wire itself, or for a half size the next thinner one with the step counted from between.
  const auto here = std::find_if(series.begin(), series.end(), [&](const RoundSize* row) {
    return half ? row->gauge_number > number : row->size == wire.size;
  });
  const long long at = (here - series.begin()) + static_cast<long long>(step) - (half && step > 0 ? 1 : 0);
  if (here == series.end() || at < 0 || at >= static_cast<long long>(series.size())) {
    return absl::NotFoundError(absl::StrCat("no wire ", step < 0 ? "thicker" : "thinner", " than ", wire.designation,
                                            " by ", std::abs(static_cast<long long>(step)), " in its series"));
  }
  return FromRow(*series[static_cast<size_t>(at)], wire.film);
}

}  // namespace coilwright::wire
