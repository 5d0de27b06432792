#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "wire/strands.h"

// The strand search by trying everything, as plainly as the definition reads. The tests compare against it and the
// benchmark measures against it; it shares nothing with the search but the messages.
namespace coilwright::wire {

class BruteForce {
 public:
  explicit BruteForce(const StrandSearch& search) : search_(search) {
    for (int i = 0; i < static_cast<int>(search.wires.size()); ++i) order_.push_back(i);
    std::stable_sort(order_.begin(), order_.end(),
                     [&](int a, int b) { return WireOf(a).area_mm2 > WireOf(b).area_mm2; });
  }

  std::vector<StrandChoice> Best() {
    Extend(0, 0, 0, 0);
    std::sort(found_.begin(), found_.end(), [](const Ranked& a, const Ranked& b) { return a.rank < b.rank; });
    std::vector<StrandChoice> best;
    for (const Ranked& one : found_) {
      if (static_cast<int>(best.size()) < search_.best) best.push_back(one.choice);
    }
    return best;
  }

  long long combinations_in_window() const { return static_cast<long long>(found_.size()); }

 private:
  struct Ranked {
    std::vector<long long> rank;  // smaller is better, compared from the front
    StrandChoice choice;
  };

  const Wire& WireOf(int index) const { return search_.wires[static_cast<size_t>(index)].wire; }

  // Every way to add wires after `position` of the order to the `sizes` strands chosen so far.
  void Extend(size_t position, size_t sizes, int in_hand, double area) {
    if (sizes == strands_.size() || static_cast<int>(sizes) == search_.most_sizes) return;
    for (size_t at = position; at < order_.size(); ++at) {
      for (int count = 1; in_hand + count <= search_.most_in_hand; ++count) {
        strands_[sizes] = {order_[at], count};
        const double total = area + count * WireOf(order_[at]).area_mm2;
        const double ratio = total / search_.target_area_mm2;
        if (ratio >= search_.least_area_ratio - 1e-9 && ratio <= search_.greatest_area_ratio + 1e-9) {
          Judge(sizes + 1, in_hand + count, total);
        }
        Extend(at + 1, sizes + 1, in_hand + count, total);
      }
    }
  }

  bool Winds(size_t sizes) const {
    const auto system_class = [&](int index) {
      const standards::WireSystem system = WireOf(index).system;
      return system == standards::WireSystem::kIecR40 ? standards::WireSystem::kIecR20 : system;
    };
    for (size_t i = 0; i < sizes; ++i) {
      const Available& one = search_.wires[static_cast<size_t>(strands_[i].index)];
      if (!search_.mix_systems && system_class(strands_[i].index) != system_class(strands_[0].index)) return false;
      if (one.wire.overall_mm.high > search_.greatest_overall_mm + 1e-9) return false;
      if (one.wire.bare_mm.nominal > search_.greatest_bare_mm + 1e-9) return false;
      // Strands come thickest first.
      const double times = std::sqrt(WireOf(strands_[0].index).area_mm2 / one.wire.area_mm2);
      if (times > search_.greatest_diameter_ratio * (1 + 5e-10)) return false;
      if (search_.length_per_strand_m > 0 && one.length_left_m &&
          strands_[i].count > *one.length_left_m / search_.length_per_strand_m + 1e-9) {
        return false;
      }
    }
    return true;
  }

  void Judge(size_t sizes, int in_hand, double area) {
    if (!Winds(sizes)) return;
    StrandChoice choice;
    choice.strands.assign(strands_.begin(), strands_.begin() + static_cast<std::ptrdiff_t>(sizes));
    choice.in_hand = in_hand;
    choice.area_mm2 = area;
    choice.area_error_ratio = (area - search_.target_area_mm2) / search_.target_area_mm2;
    if (search_.turns_in_slot > 0 && search_.slot_net_area_mm2 > 0) {
      for (const Strand& strand : choice.strands) {
        const double overall = WireOf(strand.index).overall_mm.nominal;
        choice.fullness_ratio +=
            strand.count * (search_.turns_in_slot * (overall * overall) / search_.slot_net_area_mm2);
      }
      const double hexagonal = 2 / std::sqrt(3.0);
      if (choice.fullness_ratio > search_.greatest_fullness + 1e-9) return;
      if (sizes == 1 && choice.fullness_ratio > hexagonal + 1e-9) return;
      choice.above_hexagonal = choice.fullness_ratio > hexagonal + 1e-9;
    }
    const double steps = std::ceil(std::abs(choice.area_error_ratio) / search_.area_tolerance_ratio - 1e-9) - 1;
    Ranked ranked;
    const auto reached = std::count_if(search_.fullness_levels.begin(), search_.fullness_levels.end(),
                                       [&](double level) { return choice.fullness_ratio >= level - 1e-9; });
    ranked.rank = {static_cast<long long>(reached),
                   static_cast<long long>(std::max(0.0, steps)),
                   static_cast<long long>(sizes),
                   in_hand,
                   std::llround(std::abs(choice.area_error_ratio) / 1e-12),
                   std::llround(choice.fullness_ratio / 1e-12)};
    std::vector<int> indices;
    for (const Strand& strand : choice.strands)
      indices.insert(indices.end(), static_cast<size_t>(strand.count), strand.index);
    std::sort(indices.begin(), indices.end());
    ranked.rank.insert(ranked.rank.end(), indices.begin(), indices.end());
    ranked.choice = std::move(choice);
    found_.push_back(std::move(ranked));
  }

  const StrandSearch& search_;
  std::vector<int> order_;  // thickest first
  std::array<Strand, 3> strands_;
  std::vector<Ranked> found_;
};

}  // namespace coilwright::wire
