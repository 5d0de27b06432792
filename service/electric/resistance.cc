#include "electric/resistance.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_format.h"
#include "electric/copper.h"
#include "electric/relative.h"
#include "standards/range_check.h"

namespace coilwright::electric {

using standards::Band;
using standards::RangeCheck;

absl::StatusOr<WindingResistance> PredictResistance(const WindingCopper& copper, double celsius) {
  if (absl::Status status = CheckCopper(copper); !status.ok()) return status;
  const absl::StatusOr<double> heat = standards::ResistanceRatio(copper.preset, copper.metal, 20, celsius);
  if (!heat.ok()) return heat.status();
  const double circuits = copper.circuits;
  WindingResistance resistance;
  resistance.celsius = celsius;
  resistance.phase_ohms = Product(*heat * copper.turns_per_coil * copper.coils / (3 * circuits * circuits),
                                  {{standards::ResistivityOhmMm2PerM(copper.resistivity, copper.metal)},
                                   {copper.mean_turn_m},
                                   {copper.strand_area_mm2, true}});
  resistance.line_to_line_ohms = Scaled(LineToLineFromPhase(copper.connection, 1), resistance.phase_ohms);
  return resistance;
}

double LineToLineFromPhase(Connection connection, double phase_ohms) {
  return connection == Connection::kStar ? 2 * phase_ohms : phase_ohms * 2 / 3;
}

double PhaseFromLineToLine(Connection connection, double line_to_line_ohms) {
  return connection == Connection::kStar ? line_to_line_ohms / 2 : line_to_line_ohms * 1.5;
}

absl::StatusOr<std::array<double, 3>> PhaseValues(Connection connection,
                                                  const std::array<double, 3>& line_to_line_ohms) {
  const auto [uv, vw, wu] = line_to_line_ohms;
  const double u = (uv + wu - vw) / 2, v = (uv + vw - wu) / 2, w = (vw + wu - uv) / 2;
  const double greatest = std::max({uv, vw, wu});
  if (!(std::min({u, v, w}) > 0) || !std::isfinite(greatest) || greatest > 1e9 || std::min({uv, vw, wu}) < 1e-9) {
    return standards::InvalidField(
        "line_to_line_ohms", absl::StrFormat("U-V %.6g, V-W %.6g, W-U %.6g ohm", uv, vw, wu),
        "three positive readings, each less than the sum of the other two; otherwise look for a bad contact or a wrong "
        "pair of leads");
  }
  if (connection == Connection::kStar) return std::array<double, 3>{u, v, w};
  return std::array<double, 3>{u + v + u * v / w, v + w + v * w / u, w + u + w * u / v};
}

double UnbalancePercent(const std::array<double, 3>& values) {
  const double mean = (values[0] + values[1] + values[2]) / 3;
  double deviation = 0;
  for (double value : values) deviation = std::max(deviation, std::abs(value - mean));
  return 100 * deviation / mean;
}

}  // namespace coilwright::electric
