#pragma once

#include "absl/strings/string_view.h"

namespace coilwright::electric {

enum class MachineKind { kInduction, kPermanentMagnet };
enum class Loading {
  kAirGapMeanTeslas,
  kAirGapPeakTeslas,
  kToothTeslas,
  kBackIronTeslas,
  kCurrentDensityAPerMm2,
  kElectricLoadingAPerM,  // Z I_circuit / (pi D)
};

// Between which values a loading of a healthy machine usually lies. A value outside asks for a second look at the
// record; it proves nothing, and no standard sets these ends.
struct PlausibleRange {
  double low = 0;
  double high = 0;
  absl::string_view rule;
};
PlausibleRange Plausible(Loading loading, MachineKind machine);

}  // namespace coilwright::electric
