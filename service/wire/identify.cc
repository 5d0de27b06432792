#include "wire/identify.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "standards/errors.h"
#include "standards/rule_ids.h"
#include "wire/sizes.h"

namespace coilwright::wire {
namespace {

using standards::Band;

// Beyond this many standard deviations a wire does not explain the readings.
constexpr double kFarthestSigma = 4;
// The table's limits are taken as two standard deviations to each side.
constexpr double kSigmasToLimit = 2;
// Predictions closer than this, or log likelihoods closer than its half square, cannot be told apart.
constexpr double kApartSigma = 2;

struct Scored {
  const standards::RoundSize* row = nullptr;
  standards::Film film = standards::Film::kBare;
  Band diameter_mm;
  double sigma_mm = 0;
  double log_likelihood = 0;
  int group = 0;
};

std::vector<standards::FieldError> Wrong(const MicrometerReadings& readings, int most) {
  std::vector<standards::FieldError> errors;
  if (readings.diameters_mm.empty()) errors.push_back({"diameters_mm", "nothing", "one reading or more"});
  for (size_t i = 0; i < readings.diameters_mm.size(); ++i) {
    const double reading = readings.diameters_mm[i];
    if (!(reading > 0 && reading <= 100)) {
      errors.push_back(
          {absl::StrCat("diameters_mm[", i, "]"), absl::StrCat(reading, " mm"), "more than 0 mm, at most 100 mm"});
    }
  }
  if (!(readings.uncertainty_mm > 0 && readings.uncertainty_mm <= 1)) {
    errors.push_back({"uncertainty_mm", absl::StrCat(readings.uncertainty_mm, " mm"), "more than 0 mm, at most 1 mm"});
  }
  if (most < 1) errors.push_back({"most", absl::StrCat(most), "1 or more"});
  return errors;
}

// Each wire not yet in a group leads one and takes along all that the readings cannot tell from it.
void Group(std::vector<Scored>& scored) {
  int groups = 0;
  for (size_t lead = 0; lead < scored.size(); ++lead) {
    if (scored[lead].group != 0) continue;
    ++groups;
    for (size_t i = lead; i < scored.size(); ++i) {
      const bool near = std::abs(scored[i].diameter_mm.nominal - scored[lead].diameter_mm.nominal) <
                        kApartSigma * scored[lead].sigma_mm;
      const bool as_likely = scored[lead].log_likelihood - scored[i].log_likelihood < kApartSigma * kApartSigma / 2;
      if (scored[i].group == 0 && (near || as_likely)) scored[i].group = groups;
    }
  }
}

}  // namespace

absl::StatusOr<Identification> Identify(const MicrometerReadings& readings, int most) {
  const std::vector<standards::FieldError> errors = Wrong(readings, most);
  if (!errors.empty()) return standards::InvalidFields(errors);

  Identification answer;
  answer.rules = {rules::wire_identify, rules::wire_identify_group};
  const std::vector<double>& diameters = readings.diameters_mm;
  const double count = static_cast<double>(diameters.size());
  answer.mean_mm = std::accumulate(diameters.begin(), diameters.end(), 0.0) / count;
  const auto [least, greatest] = std::minmax_element(diameters.begin(), diameters.end());
  answer.spread_mm = *greatest - *least;
  const double reading_sigma = readings.uncertainty_mm / 2 / std::sqrt(count);

  std::vector<Scored> scored;
  const auto consider = [&](const standards::RoundSize& row, standards::Film film, const Band& diameter) {
    const double sigma = std::hypot(reading_sigma, (diameter.high - diameter.low) / (2 * kSigmasToLimit));
    const double z = (answer.mean_mm - diameter.nominal) / sigma;
    if (std::abs(z) <= kFarthestSigma) {
      scored.push_back({&row, film, diameter, sigma, -z * z / 2 - std::log(sigma), 0});
    }
  };
  for (const standards::RoundSize& row : standards::RoundSizes()) {
    if (!readings.over_film) consider(row, standards::Film::kBare, row.bare_mm);
    if (readings.over_film) {
      for (const standards::FilmOverall& over : row.films) consider(row, over.film, over.overall_mm);
    }
  }
  std::stable_sort(scored.begin(), scored.end(),
                   [](const Scored& a, const Scored& b) { return a.log_likelihood > b.log_likelihood; });
  Group(scored);

  double total = 0;
  for (const Scored& one : scored) total += std::exp(one.log_likelihood - scored.front().log_likelihood);
  answer.decided = std::count_if(scored.begin(), scored.end(), [](const Scored& one) { return one.group == 1; }) == 1;
  if (scored.size() > static_cast<size_t>(most)) scored.resize(static_cast<size_t>(most));
  for (const Scored& one : scored) {
    Candidate candidate;
    candidate.wire = FromRow(*one.row, one.film);
    candidate.expected_mm = one.diameter_mm.nominal;
    candidate.deviation_mm = answer.mean_mm - one.diameter_mm.nominal;
    candidate.probability = std::exp(one.log_likelihood - scored.front().log_likelihood) / total;
    candidate.within_limits = answer.mean_mm >= one.diameter_mm.low - readings.uncertainty_mm &&
                              answer.mean_mm <= one.diameter_mm.high + readings.uncertainty_mm;
    candidate.group = one.group;
    answer.candidates.push_back(std::move(candidate));
  }
  return answer;
}

}  // namespace coilwright::wire
