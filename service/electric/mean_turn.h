#pragma once

#include <optional>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "standards/band.h"

namespace coilwright::electric {

// Dimensions that set the length of a mean turn. mm; the mean turn itself is in metres.
struct CoilGeometry {
  double bore_mm = 0;
  double core_length_mm = 0;
  double slot_depth_mm = 0;
  int slots = 0;
  int poles = 0;
  double mean_pitch = 0;  // slots spanned, mean over the coils
  bool tooth_coil = false;
  bool double_layer = true;
  std::optional<double> tooth_width_mm;         // tooth coils; else half the slot pitch at the bore
  std::optional<double> straight_extension_mm;  // straight part past the core at each end
  std::optional<double> head_extension_mm;      // measured: how far the coil head stands off the core, each end (mean)
};

struct MeanTurn {
  standards::Band metres;
  absl::string_view method;                   // "measured", "tooth coil, rounded corners", "diamond coil", ...
  absl::string_view rule;                     // of the nominal value
  std::vector<absl::string_view> band_rules;  // of the other printed forms the band had to take in
};

// A length the shop measured: +-1 % unless it says otherwise.
absl::StatusOr<MeanTurn> MeasuredMeanTurn(double metres, double uncertainty_ratio = 0.01);

// The estimate whose form suits the machine, rules electric.mean_turn.*:
// - tooth coils: rounded corners, the tautest path; the high end is the longer of sharp corners and semicircular heads;
// - distributed coils with a known slot depth: the diamond; with a measured overhang and no straight part, the straight
//   part follows from it, and a triangle and a half ellipse of that height bound the answer;
// - without slot depth: the handbook form of the pole number, where there is one.
// The band spans the forms valid at that size and is never less than +-3 %. Forms with a fixed 0.24 m join only from a
// pole pitch of 150 mm on, with 0.10 m from 100 mm, the handbook forms from 60 mm. INVALID_ARGUMENT for impossible
// geometry, every field at once.
absl::StatusOr<MeanTurn> EstimateMeanTurn(const CoilGeometry& geometry);

}  // namespace coilwright::electric
