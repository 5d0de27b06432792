#include "insulation/voltage_scatter.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "insulation/median.h"

namespace coilwright::insulation {
namespace {

constexpr double kLeastRatio = 0.005, kMostRatio = 0.05;
constexpr double kTrendInScatters = 3;
constexpr double kMedianOfNormal = 0.674489750196082;

}  // namespace

void VoltageScatter::Add(double volts) {
  std::rotate(last_.begin(), last_.begin() + 1, last_.end());
  last_.back() = volts;
  volts_.reset();
  if (++taken_ < kReadings) return;
  std::vector<double> differences;
  for (size_t i = 2; i < kReadings; ++i) differences.push_back(std::abs(last_[i] - 2 * last_[i - 1] + last_[i - 2]));
  const double scatter = Median(differences) / std::sqrt(6.0) / kMedianOfNormal;
  const double median = Median({last_.begin(), last_.end()});
  const double trend = Median({last_.end() - 4, last_.end()}) - Median({last_.begin(), last_.begin() + 4});
  ratio_ = scatter / median;
  if (ratio_ >= kLeastRatio && ratio_ <= kMostRatio && std::abs(trend) <= kTrendInScatters * scatter) volts_ = median;
}

}  // namespace coilwright::insulation
