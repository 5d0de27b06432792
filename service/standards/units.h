#pragma once

// Exact unit definitions. Everything inside the service is in SI or in the decimal multiple named by the variable;
// these are used where a recorded value arrives in another unit or an answer offers a second one.
namespace coilwright::standards {

inline constexpr double kPi = 3.14159265358979323846;
inline constexpr double kMmPerInch = 25.4;                                // exact, international inch of 1959
inline constexpr double kMmPerMil = 0.0254;                               // exact
inline constexpr double kKgPerPound = 0.45359237;                         // exact, international pound of 1959
inline constexpr double kMetresPerFoot = 0.3048;                          // exact
inline constexpr double kWattsPerHorsepower = 745.699871582;              // 550 ft lbf/s
inline constexpr double kMm2PerCmil = kPi / 4.0 * kMmPerMil * kMmPerMil;  // a circular mil is a 1 mil circle
inline constexpr double kRadiansPerDegree = kPi / 180.0;
inline constexpr double kRadPerSecPerRpm = kPi / 30.0;

inline constexpr double CircleAreaMm2(double diameter_mm) { return kPi / 4.0 * diameter_mm * diameter_mm; }
inline constexpr double CelsiusFromFahrenheit(double fahrenheit) { return (fahrenheit - 32.0) / 1.8; }
inline constexpr double FahrenheitFromCelsius(double celsius) { return celsius * 1.8 + 32.0; }

}  // namespace coilwright::standards
