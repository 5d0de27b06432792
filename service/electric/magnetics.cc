#include "electric/magnetics.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "standards/range_check.h"
#include "standards/tables.h"
#include "standards/units.h"

namespace coilwright::electric {
namespace {

using standards::Band;
using standards::kPi;

struct ShareRow {
  double rated_kw, low, high;
};

const std::vector<ShareRow>& ShareRows() {
  static const auto& rows = *new std::vector<ShareRow>([] {
    const standards::Table table(standards::EmbeddedTable("emf_share"));
    std::vector<ShareRow> loaded;
    for (int row = 0; row < table.rows(); ++row) {
      const auto cell = [&](absl::string_view column) { return table.Number(row, column).value(); };
      loaded.push_back({cell("rated_kw"), cell("low"), cell("high")});
    }
    return loaded;
  }());
  return rows;
}

Band Middle(double low, double high) { return {low, (low + high) / 2, high}; }

double InductionPerTurn(double frequency_hz, double series_turns, double winding_factor) {
  return std::sqrt(2.0) * kPi * frequency_hz * series_turns * winding_factor;
}

}  // namespace

double EmfVoltsRms(double frequency_hz, double series_turns, double winding_factor, double flux_webers) {
  return InductionPerTurn(frequency_hz, series_turns, winding_factor) * flux_webers;
}

double FluxWebers(double phase_emf_volts, double frequency_hz, double series_turns, double winding_factor) {
  return phase_emf_volts / InductionPerTurn(frequency_hz, series_turns, winding_factor);
}

absl::StatusOr<FluxDensities> Densities(const Core& core, double flux_webers) {
  standards::RangeCheck check;
  check.Within("bore_mm", core.bore_mm, 1, 10000, "mm");
  check.Within("length_mm", core.length_mm, 1, 10000, "mm");
  check.Within("stacking_factor", core.stacking_factor, 0.5, 1, "");
  check.Within("tooth_width_mm", core.tooth_width_mm, 0, 1000, "mm");
  check.Within("back_iron_mm", core.back_iron_mm, 0, 10000, "mm");
  if (core.tooth_width_mm > 0 && check.Within("slots", core.slots, 3, 720, "slots") &&
      core.tooth_width_mm * core.slots >= kPi * core.bore_mm) {
    check.Refuse("tooth_width_mm", standards::WithUnit(core.tooth_width_mm, "mm"),
                 "less than the slot pitch at the bore, pi bore / slots");
  }
  if (check.Within("poles", core.poles, 2, 120, "poles") && core.poles % 2 != 0) {
    check.Refuse("poles", standards::WithUnit(core.poles, "poles"), "an even number; enter poles, not pole pairs");
  }
  check.Above("flux_webers", flux_webers, 0, 100, "Wb");
  if (!check.ok()) return check.status();

  const double length_m = core.length_mm / 1000;
  const double pole_pitch_m = kPi * core.bore_mm / 1000 / core.poles;
  FluxDensities densities;
  densities.air_gap_mean_teslas = flux_webers / (pole_pitch_m * length_m);
  densities.air_gap_peak_teslas = kPi / 2 * densities.air_gap_mean_teslas;
  if (core.tooth_width_mm > 0) {
    const double slot_pitch_mm = kPi * core.bore_mm / core.slots;
    densities.tooth_teslas =
        densities.air_gap_peak_teslas * slot_pitch_mm / (core.tooth_width_mm * core.stacking_factor);
  }
  if (core.back_iron_mm > 0) {
    densities.back_iron_teslas = flux_webers / (2 * core.back_iron_mm / 1000 * length_m * core.stacking_factor);
  }
  return densities;
}

Band EmfShare(double rated_kw) {
  const std::vector<ShareRow>& rows = ShareRows();
  if (!(rated_kw > 0)) return Middle(rows.front().low, rows.back().high);
  if (rated_kw <= rows.front().rated_kw) return Middle(rows.front().low, rows.front().high);
  for (size_t i = 1; i < rows.size(); ++i) {
    const ShareRow &below = rows[i - 1], &above = rows[i];
    if (rated_kw > above.rated_kw) continue;
    const double part = std::log(rated_kw / below.rated_kw) / std::log(above.rated_kw / below.rated_kw);
    return Middle(below.low + part * (above.low - below.low), below.high + part * (above.high - below.high));
  }
  return Middle(rows.back().low, rows.back().high);
}

double CurrentDensityAPerMm2(double line_amps_rms, Connection connection, int circuits, double strand_area_mm2) {
  const double phase_amps = connection == Connection::kStar ? line_amps_rms : line_amps_rms / std::sqrt(3.0);
  return phase_amps / (circuits * strand_area_mm2);
}

double CmilPerAmp(double a_per_mm2) { return 1 / (a_per_mm2 * standards::kMm2PerCmil); }

}  // namespace coilwright::electric
