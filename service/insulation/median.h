#pragma once

#include <algorithm>
#include <vector>

namespace coilwright::insulation {

// Of an even number the mean of the middle two. Not empty.
inline double Median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return (values[(values.size() - 1) / 2] + values[values.size() / 2]) / 2;
}

}  // namespace coilwright::insulation
