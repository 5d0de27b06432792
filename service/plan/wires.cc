#include "plan/wires.h"

#include <set>
#include <utility>

#include "absl/strings/str_format.h"

namespace coilwright::plan {

WireChoice WithDefaultWires(WireChoice choice, const std::vector<RecordedStrand>& original) {
  if (!choice.wires.empty()) return choice;
  std::set<bool> inch_series;
  for (const RecordedStrand& strand : original) {
    inch_series.insert(strand.wire.system == standards::WireSystem::kAwg);
  }
  const auto is_of_the_record = [&](standards::WireSystem system) {
    return inch_series.size() != 1 || *inch_series.begin() == (system == standards::WireSystem::kAwg);
  };
  for (const auto& [system, film] : {std::pair{standards::WireSystem::kAwg, standards::Film::kHeavy},
                                     std::pair{standards::WireSystem::kIecR20, standards::Film::kGrade2},
                                     std::pair{standards::WireSystem::kIecR40, standards::Film::kGrade2}}) {
    if (!is_of_the_record(system)) continue;
    for (wire::Wire& wire : wire::Catalogue(system, film)) choice.wires.push_back({std::move(wire), std::nullopt});
  }
  return choice;
}

wire::StrandSearch SearchOf(const WireChoice& choice) {
  wire::StrandSearch search;
  search.wires = choice.wires;
  search.mix_systems = choice.mix_systems;
  search.least_area_ratio = choice.least_area_ratio;
  search.greatest_area_ratio = choice.greatest_area_ratio;
  search.area_tolerance_ratio = choice.area_tolerance_ratio;
  search.most_in_hand = choice.most_in_hand;
  search.most_sizes = choice.most_sizes;
  search.greatest_bare_mm = choice.greatest_bare_mm;
  search.greatest_diameter_ratio = choice.greatest_diameter_ratio;
  search.greatest_fullness = choice.greatest_fullness;
  search.best = choice.best;
  return search;
}

std::vector<std::string> LeftOut(const wire::StrandSearch& search, const wire::StrandAnswer& answer) {
  std::vector<std::string> left_out;
  if (answer.too_thick_for_opening > 0) {
    left_out.push_back(absl::StrFormat("%d wires are thicker over the film than the %.2f mm that pass the slot opening",
                                       answer.too_thick_for_opening, search.greatest_overall_mm));
  }
  if (answer.too_thick_to_handle > 0) {
    left_out.push_back(absl::StrFormat("%d wires are thicker than the %.2f mm that can be wound here",
                                       answer.too_thick_to_handle, search.greatest_bare_mm));
  }
  if (search.most_sizes > 1 && search.greatest_diameter_ratio < 1000) {
    left_out.push_back(
        absl::StrFormat("combinations whose thickest wire is more than %g times the thinnest (greatest_diameter_ratio; "
                        "common practice)",
                        search.greatest_diameter_ratio));
  }
  if (answer.choices.empty()) {
    left_out.push_back(
        absl::StrFormat("no combination of up to %d sizes and %d wires holds the area within %.0f to %.0f %% of %.4g "
                        "mm2%s; widen the window, "
                        "the fullness or the wires to choose from",
                        search.most_sizes, search.most_in_hand, 100 * search.least_area_ratio,
                        100 * search.greatest_area_ratio, search.target_area_mm2,
                        search.slot_net_area_mm2 > 0
                            ? absl::StrFormat(" and fits the slot up to a fullness of %.2f (greatest_fullness_ratio)",
                                              search.greatest_fullness)
                            : ""));
  }
  return left_out;
}

absl::string_view AboveHexagonalWarning() {
  return "fuller than one size could ever lie; mixed sizes may nest, try it on a sample slot";
}

}  // namespace coilwright::plan
