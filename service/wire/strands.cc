#include "wire/strands.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "absl/strings/str_cat.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"

namespace coilwright::wire {
namespace {

// Ratios are compared with this slack, so that a value on a limit counts as inside.
constexpr double kSlack = 1e-9;
// Errors and fullness closer than this are equal: rounding must not decide a rank.
constexpr double kQuantum = 1e-12;
constexpr size_t kMostWires = 500;
constexpr int kMostBest = 1000;

// A wire that passed its own limits. Lists of these are thickest first, equal areas in the order given.
struct Usable {
  int index = 0;
  double area_mm2 = 0;
  double fullness_ratio = 0;          // of one wire
  int most = 0;                       // by the length left
  double least_fullness_per_mm2 = 0;  // over this wire and all thinner ones
};

// A found combination, small enough to be sorted by the million.
struct Found {
  std::array<Strand, 3> strands;  // thickest first
  int sizes = 0;
  int in_hand = 0;
  long long step = 0;
  double error_ratio = 0;
  double area_mm2 = 0;
  double fullness_ratio = 0;
  long long error_key = 0;
  long long fullness_key = 0;
};

// The multiset of indices in ascending order, compared as a word: of two with the same first index the one that has
// more of it comes first.
bool EarlierInList(const Found& a, const Found& b) {
  std::array<Strand, 3> left = a.strands;
  std::array<Strand, 3> right = b.strands;
  const auto by_index = [](const Strand& x, const Strand& y) {
    return std::make_pair(x.count == 0, x.index) < std::make_pair(y.count == 0, y.index);
  };
  std::sort(left.begin(), left.end(), by_index);
  std::sort(right.begin(), right.end(), by_index);
  for (size_t i = 0; i < left.size(); ++i) {
    if (left[i].index != right[i].index) return left[i].index < right[i].index;
    if (left[i].count != right[i].count) return left[i].count > right[i].count;
  }
  return false;
}

bool Better(const Found& a, const Found& b) {
  if (a.step != b.step) return a.step < b.step;
  if (a.sizes != b.sizes) return a.sizes < b.sizes;
  if (a.in_hand != b.in_hand) return a.in_hand < b.in_hand;
  if (a.error_key != b.error_key) return a.error_key < b.error_key;
  if (a.fullness_key != b.fullness_key) return a.fullness_key < b.fullness_key;
  return EarlierInList(a, b);
}

// Walks combinations from the best rank downwards, keeps the best, and narrows the area window to what can still enter
// the list. Steps are walked in rounds: every combination of an earlier round ranks before all of a later one.
class Search {
 public:
  Search(const StrandSearch& search, std::vector<std::vector<Usable>> groups)
      : search_(search), groups_(std::move(groups)) {}

  std::vector<Found> Run() {
    const double farthest = std::max(std::abs(search_.least_area_ratio - 1), std::abs(search_.greatest_area_ratio - 1));
    const double last = std::ceil(farthest / search_.area_tolerance_ratio);
    for (size_t level = 0; level <= search_.fullness_levels.size() && !Full(); ++level) {
      reached_ = level == 0 ? -std::numeric_limits<double>::infinity() : search_.fullness_levels[level - 1];
      below_ = level == search_.fullness_levels.size() ? std::numeric_limits<double>::infinity()
                                                       : search_.fullness_levels[level];
      if (reached_ > search_.greatest_fullness + kSlack) break;
      from_emptier_ = best_.size();
      first_step_ = 0;
      last_step_ = 0;
      Round();
      if (!Full() && last >= 1) {
        first_step_ = 1;
        last_step_ = static_cast<long long>(last);
        Round();
      }
    }
    return std::move(best_);
  }

 private:
  bool Full() const { return best_.size() == static_cast<size_t>(search_.best); }

  long long StepOf(double error_ratio) const {
    const double step = std::ceil(std::abs(error_ratio) / search_.area_tolerance_ratio - kSlack) - 1;
    return std::max(0LL, static_cast<long long>(step));
  }

  void Round() {
    for (sizes_ = 1; sizes_ <= search_.most_sizes; ++sizes_) {
      for (in_hand_ = sizes_; in_hand_ <= search_.most_in_hand; ++in_hand_) {
        Narrow();
        if (low_ > high_) continue;
        for (const std::vector<Usable>& group : groups_) {
          if (sizes_ == 1) OneSize(group);
          if (sizes_ == 2) TwoSizes(group);
          if (sizes_ == 3) ThreeSizes(group);
        }
      }
    }
  }

  // The areas that can still enter the list with this many sizes and wires. What is in the list has as many or fewer,
  // as rounds walk upwards, so a step like the worst one's no longer helps unless both are the same.
  void Narrow() {
    double reach = static_cast<double>(last_step_ + 1) * search_.area_tolerance_ratio;
    if (Full()) {
      const Found& worst = best_.back();
      const bool same = sizes_ == worst.sizes && in_hand_ == worst.in_hand;
      const long long step = same ? worst.step : worst.step - 1;
      reach = std::min(reach, static_cast<double>(step + 1) * search_.area_tolerance_ratio);
      if (same) reach = std::min(reach, std::abs(worst.error_ratio));
      if (step < first_step_) reach = -1;
    }
    const double slack = reach < 0 ? 0 : 2 * kSlack;
    low_ = search_.target_area_mm2 * (std::max(search_.least_area_ratio, 1 - reach) - slack);
    high_ = search_.target_area_mm2 * (std::min(search_.greatest_area_ratio, 1 + reach) + slack);
  }

  void OneSize(const std::vector<Usable>& group) {
    for (const Usable& wire : group) {
      const double area = in_hand_ * wire.area_mm2;
      if (area < low_) break;
      if (area <= high_ && in_hand_ <= wire.most) {
        Offer({{{{wire.index, in_hand_}}}, 1}, area, in_hand_ * wire.fullness_ratio);
      }
    }
  }

  // Wires of group from position `from` on whose area lies in low..high: [first, last).
  static std::pair<size_t, size_t> Within(const std::vector<Usable>& group, size_t from, double low, double high) {
    const auto first = std::partition_point(group.begin() + static_cast<std::ptrdiff_t>(from), group.end(),
                                            [&](const Usable& wire) { return wire.area_mm2 > high; });
    auto last = first;
    while (last != group.end() && last->area_mm2 >= low) ++last;
    return {static_cast<size_t>(first - group.begin()), static_cast<size_t>(last - group.begin())};
  }

  // Whether the area still missing must overfill the slot, whatever wires from this one on make it up.
  bool Overfills(const Usable& from, double area, double fullness) const {
    const double missing = std::max(0.0, low_ - area);
    return fullness + missing * from.least_fullness_per_mm2 > std::min(search_.greatest_fullness, below_) + 2 * kSlack;
  }

  // The thinnest wire that may lie beside this one.
  double LeastBeside(const Usable& thickest) const {
    return thickest.area_mm2 / (search_.greatest_diameter_ratio * search_.greatest_diameter_ratio) * (1 - kSlack);
  }

  // Fills the last size of a combination whose first strands have this area and fullness.
  void LastSize(const std::vector<Usable>& group, size_t from, int count, double least_mm2, Found found, double area,
                double fullness) {
    const double slack = search_.target_area_mm2 * kSlack;
    const auto [first, last] =
        Within(group, from, std::max(least_mm2, (low_ - area - slack) / count), (high_ - area + slack) / count);
    for (size_t at = first; at < last; ++at) {
      const Usable& wire = group[at];
      if (count > wire.most) continue;
      found.strands[static_cast<size_t>(sizes_ - 1)] = {wire.index, count};
      Offer(found, area + count * wire.area_mm2, fullness + count * wire.fullness_ratio);
    }
  }

  void TwoSizes(const std::vector<Usable>& group) {
    for (size_t i = 0; i + 1 < group.size(); ++i) {
      const Usable& thick = group[i];
      if (in_hand_ * thick.area_mm2 < low_ || Overfills(thick, 0, 0)) break;
      for (int count = 1; count < in_hand_ && count <= thick.most; ++count) {
        const double area = count * thick.area_mm2;
        if (area > high_) break;
        LastSize(group, i + 1, in_hand_ - count, LeastBeside(thick), {{{{thick.index, count}}}, 2}, area,
                 count * thick.fullness_ratio);
      }
    }
  }

  void ThreeSizes(const std::vector<Usable>& group) {
    if (group.size() < 3) return;
    const double thinnest = group.back().area_mm2;
    for (size_t i = 0; i + 2 < group.size(); ++i) {
      const Usable& thick = group[i];
      if (in_hand_ * thick.area_mm2 < low_ || Overfills(thick, 0, 0)) break;
      for (int a = 1; a <= in_hand_ - 2 && a <= thick.most; ++a) {
        const double first = a * thick.area_mm2;
        const int rest = in_hand_ - a;
        if (first + rest * thinnest > high_) break;
        for (size_t j = i + 1; j + 1 < group.size(); ++j) {
          const Usable& middle = group[j];
          if (first + rest * middle.area_mm2 < low_ || middle.area_mm2 < LeastBeside(thick)) break;
          if (Overfills(middle, first, a * thick.fullness_ratio)) break;
          for (int b = 1; b < rest && b <= middle.most; ++b) {
            const double second = first + b * middle.area_mm2;
            const int c = rest - b;
            if (second + c * thinnest > high_) break;
            if (second + c * group[j + 1].area_mm2 < low_) continue;
            LastSize(group, j + 1, c, LeastBeside(thick), {{{{thick.index, a}, {middle.index, b}}}, 3}, second,
                     a * thick.fullness_ratio + b * middle.fullness_ratio);
          }
        }
      }
    }
  }

  void Offer(Found found, double area, double fullness) {
    const double ratio = area / search_.target_area_mm2;
    if (ratio < search_.least_area_ratio - kSlack || ratio > search_.greatest_area_ratio + kSlack) return;
    if (fullness > search_.greatest_fullness + kSlack) return;
    if (fullness < reached_ - kSlack || fullness >= below_ - kSlack) return;
    if (sizes_ == 1 && fullness > kHexagonalFullness + kSlack) return;
    found.error_ratio = (area - search_.target_area_mm2) / search_.target_area_mm2;
    found.step = StepOf(found.error_ratio);
    if (found.step < first_step_ || found.step > last_step_) return;
    found.in_hand = in_hand_;
    found.area_mm2 = area;
    found.fullness_ratio = fullness;
    found.error_key = std::llround(std::abs(found.error_ratio) / kQuantum);
    found.fullness_key = std::llround(std::min(fullness, 1e6) / kQuantum);
    if (Full() && !Better(found, best_.back())) return;
    if (Full()) best_.pop_back();
    const auto of_this_level = best_.begin() + static_cast<std::ptrdiff_t>(from_emptier_);
    best_.insert(std::upper_bound(of_this_level, best_.end(), found, Better), found);
    if (Full()) Narrow();
  }

  const StrandSearch& search_;
  std::vector<std::vector<Usable>> groups_;
  std::vector<Found> best_;                                    // best first
  size_t from_emptier_ = 0;                                    // of them, those below the level that is searched
  double reached_ = -std::numeric_limits<double>::infinity();  // fullness of the level that is searched,
  double below_ = std::numeric_limits<double>::infinity();     // and where the next begins
  long long first_step_ = 0;
  long long last_step_ = 0;
  int sizes_ = 0;
  int in_hand_ = 0;
  double low_ = 0;
  double high_ = 0;
};

std::vector<standards::FieldError> Wrong(const StrandSearch& search) {
  std::vector<standards::FieldError> errors;
  const auto require = [&](bool right, absl::string_view field, double given, absl::string_view unit,
                           absl::string_view accepted) {
    if (!right) errors.push_back({std::string(field), absl::StrCat(given, unit), std::string(accepted)});
  };
  require(search.target_area_mm2 > 0 && search.target_area_mm2 <= 1e6, "target_area_mm2", search.target_area_mm2,
          " mm2", "more than 0 mm2, at most 1000000 mm2");
  require(search.least_area_ratio > 0 && search.least_area_ratio <= 10, "least_area_ratio", search.least_area_ratio, "",
          "more than 0, at most 10");
  require(search.greatest_area_ratio >= search.least_area_ratio && search.greatest_area_ratio <= 10,
          "greatest_area_ratio", search.greatest_area_ratio, "", "at least least_area_ratio, at most 10");
  require(search.area_tolerance_ratio >= 1e-6 && search.area_tolerance_ratio <= 1, "area_tolerance_ratio",
          search.area_tolerance_ratio, "", "0.000001 to 1");
  require(search.most_in_hand >= 1 && search.most_in_hand <= 30, "most_in_hand", search.most_in_hand, "", "1 to 30");
  require(search.most_sizes >= 1 && search.most_sizes <= 3, "most_sizes", search.most_sizes, "", "1 to 3");
  require(search.greatest_overall_mm >= 0, "greatest_overall_mm", search.greatest_overall_mm, " mm",
          "0 mm (nothing passes) or more");
  require(search.greatest_bare_mm > 0, "greatest_bare_mm", search.greatest_bare_mm, " mm", "more than 0 mm");
  require(search.greatest_diameter_ratio >= 1, "greatest_diameter_ratio", search.greatest_diameter_ratio, "",
          "1 (one size) or more");
  require(search.turns_in_slot >= 0 && search.turns_in_slot <= 1e6, "turns_in_slot", search.turns_in_slot, "",
          "0 to 1000000");
  require(search.slot_net_area_mm2 >= 0 && search.slot_net_area_mm2 <= 1e9, "slot_net_area_mm2",
          search.slot_net_area_mm2, " mm2", "0 mm2 (not known) to 1000000000 mm2");
  require(std::is_sorted(search.fullness_levels.begin(), search.fullness_levels.end()) &&
              std::all_of(search.fullness_levels.begin(), search.fullness_levels.end(),
                          [](double level) { return level > 0; }),
          "fullness_levels", static_cast<double>(search.fullness_levels.size()), " levels",
          "each more than 0, in ascending order");
  require(search.greatest_fullness > 0, "greatest_fullness", search.greatest_fullness, "", "more than 0");
  require(search.length_per_strand_m >= 0 && search.length_per_strand_m <= 1e9, "length_per_strand_m",
          search.length_per_strand_m, " m", "0 m (not checked) to 1000000000 m");
  require(search.best >= 1 && search.best <= kMostBest, "best", search.best, "", "1 to 1000");
  require(search.wires.size() <= kMostWires, "wires", static_cast<double>(search.wires.size()), " wires",
          "at most 500 wires");
  for (size_t i = 0; i < search.wires.size() && errors.size() < 100; ++i) {
    const Available& one = search.wires[i];
    const std::string at = absl::StrCat("wires[", i, "].");
    require(one.wire.area_mm2 > 0 && one.wire.area_mm2 <= 1e6, at + "wire.area_mm2", one.wire.area_mm2, " mm2",
            "more than 0 mm2");
    require(one.wire.overall_mm.nominal > 0 && one.wire.overall_mm.high >= one.wire.overall_mm.nominal &&
                one.wire.overall_mm.high <= 1e4,
            at + "wire.overall_mm", one.wire.overall_mm.nominal, " mm", "more than 0 mm");
    require(!one.length_left_m || *one.length_left_m >= 0, at + "length_left_m", one.length_left_m.value_or(0), " m",
            "0 m or more");
  }
  return errors;
}

// Wires that may be wound together: all when systems mix, otherwise AWG, metric and SWG apart.
size_t GroupOf(const StrandSearch& search, const Wire& wire) {
  if (search.mix_systems || wire.system == standards::WireSystem::kAwg) return 0;
  return wire.system == standards::WireSystem::kSwg ? 2 : 1;
}

}  // namespace

absl::StatusOr<StrandAnswer> ChooseStrands(const StrandSearch& search) {
  const std::vector<standards::FieldError> errors = Wrong(search);
  if (!errors.empty()) return standards::InvalidFields(errors);

  StrandAnswer answer;
  answer.rules = {rules::wire_strand_ranking};
  const bool fill_known = search.turns_in_slot > 0 && search.slot_net_area_mm2 > 0;
  if (fill_known) answer.rules.push_back(rules::wire_fullness);
  std::vector<std::vector<Usable>> groups(3);
  for (size_t i = 0; i < search.wires.size(); ++i) {
    const Available& one = search.wires[i];
    const bool opening = one.wire.overall_mm.high > search.greatest_overall_mm + kSlack;
    const bool handling = one.wire.bare_mm.nominal > search.greatest_bare_mm + kSlack;
    answer.too_thick_for_opening += opening;
    answer.too_thick_to_handle += handling;
    const bool limited = one.length_left_m && search.length_per_strand_m > 0;
    const double most = limited ? std::floor(*one.length_left_m / search.length_per_strand_m + kSlack) : 1e6;
    if (opening || handling || most < 1) continue;
    const double square = one.wire.overall_mm.nominal * one.wire.overall_mm.nominal;
    groups[GroupOf(search, one.wire)].push_back(
        {static_cast<int>(i), one.wire.area_mm2,
         fill_known ? search.turns_in_slot * square / search.slot_net_area_mm2 : 0,
         static_cast<int>(std::min(most, 1e6)), 0});
  }
  for (std::vector<Usable>& group : groups) {
    std::stable_sort(group.begin(), group.end(),
                     [](const Usable& a, const Usable& b) { return a.area_mm2 > b.area_mm2; });
    double least = std::numeric_limits<double>::infinity();
    for (auto wire = group.rbegin(); wire != group.rend(); ++wire) {
      least = std::min(least, wire->fullness_ratio / wire->area_mm2);
      wire->least_fullness_per_mm2 = least;
    }
  }

  const std::vector<Found> best = Search(search, std::move(groups)).Run();
  for (const Found& found : best) {
    StrandChoice choice;
    choice.strands.assign(found.strands.begin(), found.strands.begin() + found.sizes);
    choice.in_hand = found.in_hand;
    choice.area_mm2 = found.area_mm2;
    choice.area_error_ratio = found.error_ratio;
    choice.fullness_ratio = found.fullness_ratio;
    choice.above_hexagonal = found.sizes > 1 && found.fullness_ratio > kHexagonalFullness + kSlack;
    answer.choices.push_back(std::move(choice));
  }
  // The search stops as soon as the list is certain; only a list that never filled up has seen every combination.
  const bool complete = answer.choices.size() < static_cast<size_t>(search.best);
  answer.combinations_in_window = complete ? static_cast<long long>(answer.choices.size()) : -1;
  return answer;
}

}  // namespace coilwright::wire
