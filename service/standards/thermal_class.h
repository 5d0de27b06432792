#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"

namespace coilwright::standards {

// One thermal class of IEC 60085 and what is built on it.
struct ThermalClass {
  int celsius = 0;                          // 90, 105, 120, 130, 155, 180, 200, 220, 250
  std::string letter;                       // "F"; empty where only a number is in use
  std::optional<double> rise_kelvin;        // by resistance at 40 C ambient
  std::optional<double> rise_small_kelvin;  // under 600 W, without fan or encapsulated (from memory)
};

const std::vector<ThermalClass>& ThermalClasses();

// By number ("155") or letter ("F", "f"). "C" is refused: in print it stands for three different temperatures.
absl::StatusOr<ThermalClass> FindThermalClass(absl::string_view name);

}  // namespace coilwright::standards
