#pragma once

#include "testing/drive_stress.h"

namespace coilwright::testing {

inline constexpr double kRampShare10To90 = 0.8;  // of the time of a straight ramp

// A single number of drive_stress.csv.
double DriveFigure(absl::string_view name);

// Sets limits, classes and what they mean from bus, reflection, velocity, rise times and peak of `out`.
void HoldAgainstLimits(const DriveStressCase& stress_case, DriveStress* out);

}  // namespace coilwright::testing
