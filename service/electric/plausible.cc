#include "electric/plausible.h"

#include <cstdlib>

#include "standards/rule_ids.h"
#include "standards/tables.h"

namespace coilwright::electric {
namespace {

absl::string_view Name(Loading loading) {
  switch (loading) {
    case Loading::kAirGapMeanTeslas:
      return "air_gap_mean_teslas";
    case Loading::kAirGapPeakTeslas:
      return "air_gap_peak_teslas";
    case Loading::kToothTeslas:
      return "tooth_teslas";
    case Loading::kBackIronTeslas:
      return "back_iron_teslas";
    case Loading::kCurrentDensityAPerMm2:
      return "current_density_a_per_mm2";
    case Loading::kElectricLoadingAPerM:
      return "electric_loading_a_per_m";
  }
  std::abort();
}

}  // namespace

PlausibleRange Plausible(Loading loading, MachineKind machine) {
  static const auto& table = *new standards::Table(standards::EmbeddedTable("plausible_ranges"));
  const absl::string_view machine_name = machine == MachineKind::kInduction ? "induction" : "permanent magnet";
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "quantity") == Name(loading) && table.Text(row, "machine") == machine_name) {
      return {table.Number(row, "low").value(), table.Number(row, "high").value(), rules::electric_plausible_ranges};
    }
  }
  std::abort();
}

}  // namespace coilwright::electric
