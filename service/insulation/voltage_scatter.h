#pragma once

#include <array>
#include <cstddef>
#include <optional>

namespace coilwright::insulation {

// Tells volts that scatter from reading to reading about a voltage that stands. Over the last nine readings the scatter
// is taken from the second differences, which a ramp leaves at 0 and a single step moves little (their median counts);
// half a percent or more is scatter where the first four and the last four agree within three times of it.
class VoltageScatter {
 public:
  void Add(double volts);
  // The median of the last nine; absent where they do not scatter, or go up or down.
  std::optional<double> Volts() const { return volts_; }
  double Ratio() const { return ratio_; }  // of one reading, standard deviation over the median

 private:
  static constexpr size_t kReadings = 9;
  std::array<double, kReadings> last_{};  // oldest first
  size_t taken_ = 0;
  std::optional<double> volts_;
  double ratio_ = 0;
};

}  // namespace coilwright::insulation
