#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/check_slips.h"
#include "wire/wire.h"

// Slips in what is counted and measured on the winding itself.
namespace coilwright::plan {
namespace {

std::string Joined(const std::vector<RecordedStrand>& strands) {
  std::vector<std::string> words;
  for (const RecordedStrand& s : strands) {
    words.push_back(
        absl::StrCat(s.wires_in_hand, " x ",
                     s.wire.tabulated ? s.wire.designation : absl::StrFormat("%.4g mm bare", s.wire.bare_mm.nominal)));
  }
  return absl::StrJoin(words, " + ");
}

double AreaMm2(const std::vector<RecordedStrand>& strands) {
  double area = 0;
  for (const RecordedStrand& s : strands) area += s.wires_in_hand * s.wire.area_mm2;
  return area;
}

double OverallSquares(const std::vector<RecordedStrand>& strands) {
  double squares = 0;
  for (const RecordedStrand& s : strands)
    squares += s.wires_in_hand * s.wire.overall_mm.nominal * s.wire.overall_mm.nominal;
  return squares;
}

// The size of the other metric series between two neighbours of one.
std::optional<wire::Wire> BetweenSeries(const wire::Wire& wire, const wire::Wire& neighbour) {
  using standards::WireSystem;
  if (wire.system != WireSystem::kIecR20 && wire.system != WireSystem::kIecR40) return std::nullopt;
  const WireSystem other = wire.system == WireSystem::kIecR20 ? WireSystem::kIecR40 : WireSystem::kIecR20;
  const auto [low, high] = std::minmax(wire.bare_mm.nominal, neighbour.bare_mm.nominal);
  for (const wire::Wire& size : wire::Catalogue(other, wire.film)) {
    if (size.bare_mm.nominal > 1.001 * low && size.bare_mm.nominal < 0.999 * high) return size;
  }
  return std::nullopt;
}

// Overall over bare diameter of grade 2 wire of this overall diameter, the commonest film of motors (common
// practice, no source).
double FilmedRatio(double over_mm) {
  double ratio = 1, nearest = HUGE_VAL;
  for (const wire::Wire& size : wire::Catalogue(standards::WireSystem::kIecR20, standards::Film::kGrade2)) {
    const double off = std::abs(std::log(size.overall_mm.nominal / over_mm));
    if (off >= nearest) continue;
    nearest = off;
    ratio = size.overall_mm.nominal / size.bare_mm.nominal;
  }
  return ratio;
}

}  // namespace

void Slips::Counts() {
  const RecordedWinding& w = record_.winding;
  const auto turns = [&](double factor) {
    return w.groups.empty() ? absl::StrFormat("%g", factor * *w.turns_per_coil)
                            : absl::StrFormat("%g times the turns of every coil", factor);
  };
  if (Holds(2)) TurnsOver(2, "turns_doubled", "", "", 1);
  Add("turns_halved", turns(1), turns(2))[kTurns] = std::log(2.0);
  WiresAsTurns(turns);
}

bool Slips::Holds(int times) const {
  return !record_.winding.groups.empty() || *record_.winding.turns_per_coil >= times;
}

// A count over both sides of a coil is rarely exact: where it does not divide it is off by a turn or so, and a whole
// number beside the quotient is true.
Shift& Slips::TurnsOver(int n, const char* slip, absl::string_view as_recorded, absl::string_view truly, double share) {
  const RecordedWinding& w = record_.winding;
  std::string recorded = "1 times the turns of every coil",
              reads = absl::StrFormat("%g times the turns of every coil", 1.0 / n);
  double uncertain = 0;
  if (w.groups.empty()) {
    const int turns = *w.turns_per_coil, below = turns / n;
    recorded = absl::StrCat(turns);
    reads = absl::StrCat(below);
    if (const int over = turns % n; over != 0) {
      if (2 * over == n) absl::StrAppend(&reads, " or ", below + 1);
      if (2 * over > n) reads = absl::StrCat(below + 1);
      uncertain = 1.0 / turns;
      share *= 0.65;
    }
  }
  Shift& shift = Add(slip, absl::StrCat(recorded, as_recorded), absl::StrCat(reads, truly), share);
  shift[kTurns] = -std::log(n);
  slips_.back().resistance_sigma = slips_.back().mass_sigma = uncertain;
  return shift;
}

// Of a coil side nothing is seen but ends: those of one turn count as many.
void Slips::WiresAsTurns(const std::function<std::string(double)>& turns) {
  const RecordedWinding& w = record_.winding;
  int wires = 0;
  for (const RecordedStrand& s : w.strands) wires += s.wires_in_hand;
  // Two in hand are turns doubled or halved.
  if (wires > 2) {
    if (Holds(wires)) TurnsOver(wires, "wires_as_turns", "", "", 1);
    Add("turns_by_wires", turns(1), turns(wires))[kTurns] = std::log(wires);
  }
  if (wires != 1) return;
  for (const int truly : {2, 3, 4}) {
    if (!Holds(truly)) continue;
    TurnsOver(truly, "wires_as_turns", " and one wire in hand", absl::StrCat(" and ", truly, " in hand"), 0.3)[kWires] =
        std::log(truly);
  }
}

void Slips::Circuits() {
  const int circuits = record_.winding.parallel_circuits;
  const std::vector<RecordedStrand>& strands = record_.winding.strands;
  const auto count = [](int n) { return absl::StrCat(n); };
  for (const int permitted : original_.pattern.symmetry.permitted_circuits) {
    if (permitted == circuits) continue;
    const bool more = permitted > circuits;
    if (more ? permitted % circuits != 0 : circuits % permitted != 0) continue;
    const int factor = more ? permitted / circuits : circuits / permitted;
    const double share = factor == 2 ? 1.0 : 0.5;  // two is the most usual by far
    const double ln = more ? std::log(factor) : -std::log(factor);
    Add(more ? "circuits_missed" : "circuits_invented", count(circuits), count(permitted), share)[kCircuits] = ln;
    const bool divides = std::all_of(strands.begin(), strands.end(),
                                     [&](const RecordedStrand& s) { return s.wires_in_hand % factor == 0; });
    if (more && !divides) continue;
    std::vector<RecordedStrand> truly = strands;
    for (RecordedStrand& s : truly) s.wires_in_hand = more ? s.wires_in_hand / factor : s.wires_in_hand * factor;
    Shift& shift = Add(more ? "circuits_as_wires" : "wires_as_circuits",
                       absl::StrCat(circuits, " and ", Joined(strands), " in hand"),
                       absl::StrCat(permitted, " and ", Joined(truly), " in hand"), share);
    shift[kCircuits] = ln;
    shift[kWires] = -ln;
  }
}

void Slips::WiresInHand() {
  const std::vector<RecordedStrand>& strands = record_.winding.strands;
  if (strands.size() != 1) return;
  const int wires = strands[0].wires_in_hand;
  const auto add = [&](int truly, double share) {
    std::vector<RecordedStrand> reads = strands;
    reads[0].wires_in_hand = truly;
    Add(truly > wires ? "wires_missed" : "wires_extra", Joined(strands), Joined(reads), share)[kWires] =
        std::log(static_cast<double>(truly) / wires);
  };
  add(wires + 1, 1);
  if (wires == 1) {
    for (const int truly : {3, 4, 5, 6}) add(truly, 1.0 / truly);
  } else {
    add(2 * wires, 0.5);
    add(wires - 1, 1);
  }
  if (wires > 2 && wires % 2 == 0) add(wires / 2, 0.5);
  if (wires > 2) add(1, 0.2);
}

void Slips::Gauge() {
  const std::vector<RecordedStrand>& strands = record_.winding.strands;
  const auto moved = [&](const char* name, const std::vector<RecordedStrand>& truly, double sigma) {
    Shift& shift = Add(name, Joined(strands), Joined(truly));
    shift[kDiameter] = std::log(AreaMm2(truly) / AreaMm2(strands)) / 2;
    shift[kOverall] = std::log(OverallSquares(truly) / OverallSquares(strands)) / 2;
    slips_.back().resistance_sigma = slips_.back().mass_sigma = sigma;
  };
  // The thickest wire is the one in doubt where sizes are mixed.
  for (const int step : {1, -1}) {
    const absl::StatusOr<wire::Wire> next = wire::Neighbour(strands[0].wire, step);
    if (!next.ok()) continue;
    std::vector<RecordedStrand> truly = strands;
    truly[0].wire = *next;
    moved(step > 0 ? "gauge_thick" : "gauge_thin", truly, 0);
    if (const std::optional<wire::Wire> between = BetweenSeries(strands[0].wire, *next)) {
      truly[0].wire = *between;
      moved(step > 0 ? "gauge_thick" : "gauge_thin", truly, 0);
      slips_.back().chance /= 2;
    }
  }
  std::vector<RecordedStrand> truly = strands;
  for (RecordedStrand& s : truly) {
    // A micrometer tells wire and film apart only where it was put to both.
    const bool filmed = s.wire.overall_mm.nominal > s.wire.bare_mm.nominal && !s.wire.film_assumed;
    if (filmed != s.wire.tabulated) return;
    const double over = s.wire.bare_mm.nominal;
    const double bare = over / (filmed ? s.wire.overall_mm.nominal / over : FilmedRatio(over));
    s.wire = wire::FromDiameters(bare, over);
    s.wire.designation = absl::StrFormat("%.3f mm bare", bare);
  }
  moved("gauge_over_film", truly, 0.025);
}

}  // namespace coilwright::plan
