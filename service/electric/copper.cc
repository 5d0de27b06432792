#include "electric/copper.h"

#include <cmath>

#include "absl/strings/str_cat.h"
#include "electric/relative.h"
#include "standards/conductors.h"
#include "standards/range_check.h"
#include "standards/units.h"

namespace coilwright::electric {
namespace {

using standards::Band;
using standards::RangeCheck;
using standards::WithUnit;

constexpr double kM2PerMm2 = 1e-6;

void CheckBand(absl::string_view field, const Band& band, double least, double greatest, absl::string_view unit,
               RangeCheck* check) {
  if (!check->Within(field, band.nominal, least, greatest, unit)) return;
  if (band.low > band.nominal / 2 && band.low <= band.nominal && band.high >= band.nominal &&
      band.high <= 2 * band.nominal) {
    return;
  }
  check->Refuse(
      field,
      absl::StrCat(WithUnit(band.low, ""), " .. ", WithUnit(band.nominal, ""), " .. ", WithUnit(band.high, unit)),
      "a band around its nominal value, from above half of it to twice it");
}

void CheckTurns(const WindingCopper& copper, RangeCheck* check) {
  if (check->Within("coils", copper.coils, 3, 720, "coils") && std::fmod(copper.coils, 3) != 0) {
    check->Refuse("coils", WithUnit(copper.coils, "coils"), "a multiple of 3: three equal phases");
  }
  check->Above("turns_per_coil", copper.turns_per_coil, 0, 10000, "turns");
  CheckBand("mean_turn_m", copper.mean_turn_m, 0.005, 50, "m", check);
}

Band WireLengthM(const WindingCopper& copper) {
  return Scaled(copper.coils * copper.turns_per_coil, copper.mean_turn_m);
}

}  // namespace

absl::Status CheckCopper(const WindingCopper& copper) {
  RangeCheck check;
  CheckTurns(copper, &check);
  check.Within("circuits", copper.circuits, 1, 120, "parallel circuits");
  CheckBand("strand_area_mm2", copper.strand_area_mm2, 1e-5, 1e4, "mm2", &check);
  return check.status();
}

Band CopperKg(const WindingCopper& copper) {
  return Product(standards::DensityKgPerM3(copper.metal) * copper.coils * copper.turns_per_coil * kM2PerMm2,
                 {{copper.mean_turn_m}, {copper.strand_area_mm2}});
}

absl::StatusOr<std::vector<WireOrder>> WireToOrder(const WindingCopper& copper, const std::vector<WireSize>& sizes,
                                                   const OrderAllowance& allowance) {
  RangeCheck check;
  CheckTurns(copper, &check);
  check.Within("lead_ratio", allowance.lead_ratio, 0, 1, "");
  check.Within("waste_ratio", allowance.waste_ratio, 0, 1, "");
  if (sizes.empty()) check.Refuse("sizes", "nothing", "at least one size of wire");
  for (size_t i = 0; i < sizes.size(); ++i) {
    const std::string path = absl::StrCat("sizes[", i, "].");
    if (check.Within(path + "bare_mm", sizes[i].bare_mm, 0.01, 10, "mm")) {
      check.Within(path + "overall_mm", sizes[i].overall_mm, sizes[i].bare_mm, 2 * sizes[i].bare_mm, "mm");
    }
    check.Within(path + "wires", sizes[i].wires, 1, 1000, "wires in hand");
  }
  if (!check.ok()) return check.status();

  const double allowances = (1 + allowance.lead_ratio) * (1 + allowance.waste_ratio);
  std::vector<WireOrder> orders;
  for (const WireSize& size : sizes) {
    const double bare_mm2 = standards::CircleAreaMm2(size.bare_mm);
    const double film_mm2 = standards::CircleAreaMm2(size.overall_mm) - bare_mm2;
    const double bare_kg_per_m = standards::DensityKgPerM3(copper.metal) * bare_mm2 * kM2PerMm2;
    const double film_kg_per_m = standards::FilmDensityKgPerM3() * film_mm2 * kM2PerMm2;
    const Band metres = Scaled(allowances * size.wires, WireLengthM(copper));
    orders.push_back({metres, Scaled(bare_kg_per_m, metres), Scaled(bare_kg_per_m + film_kg_per_m, metres)});
  }
  return orders;
}

}  // namespace coilwright::electric
