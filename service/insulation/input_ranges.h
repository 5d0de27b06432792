#pragma once

namespace coilwright::insulation {

// Ranges shared by every rule of insulation and testing: far beyond any winding, so that no arithmetic overflows.
inline constexpr double kLeastRatedVolts = 1;
inline constexpr double kMostRatedVolts = 50000;
inline constexpr double kMostRatedKw = 1e6;
inline constexpr double kMostMegohms = 1e9;
inline constexpr int kFirstBuiltYear = 1870;
inline constexpr int kLastBuiltYear = 2200;

}  // namespace coilwright::insulation
