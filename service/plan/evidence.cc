#include "plan/evidence.h"

#include <algorithm>

namespace coilwright::plan {
namespace {

constexpr double kCountSpread = 0.1, kReadingSpread = 0.05;
constexpr double kCountLeastSpread = 2;

}  // namespace

absl::string_view RepeatsAccepted(double recorded, bool count, const std::vector<double>& repeats) {
  const auto [low, high] = std::minmax_element(repeats.begin(), repeats.end());
  const double slack = count ? 0 : kReadingSpread * recorded;
  if (recorded < *low - slack || recorded > *high + slack)
    return "counts or readings that the recorded value lies among; count again";
  if (count && *high - *low > std::max(kCountLeastSpread, kCountSpread * recorded))
    return "counts that agree within a tenth: count again, or record unlike coils as groups";
  return "";
}

}  // namespace coilwright::plan
