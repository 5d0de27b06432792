#include <algorithm>
#include <cmath>

#include "absl/strings/str_format.h"
#include "testing/back_emf.h"
#include "testing/three_leads.h"

namespace coilwright::testing {
namespace {

using standards::Band;

constexpr double kNear = 0.03;  // of a ratio that has to fit another

bool Near(double value, double wanted) { return std::abs(value / wanted - 1) <= kNear; }

// Whether the resistance may be `ratio` of what was expected; unknown allows everything.
bool ResistanceFits(const std::optional<Band>& resistance, double ratio) {
  return !resistance || (ratio >= resistance->low * (1 - kNear) && ratio <= resistance->high * (1 + kNear));
}

void ExplainAllAlike(double m, const std::optional<Band>& resistance, std::vector<BackEmfExplanation>& found) {
  const double root3 = std::sqrt(3.0);
  struct Connection {
    double emf, ohms;
    const char* text;
  };
  // The n^2 of circuits is that of turns wound with the same copper: the same machine electrically, told by counting.
  const Connection connections[] = {
      {1 / root3, 1.0 / 3.0, "delta where star is expected: volts 1/1.732, resistance 1/3"},
      {root3, 3.0, "star where delta is expected: volts 1.732, resistance 3 times"},
      {0.5, 0.25, "twice the parallel circuits: volts 1/2, resistance 1/4"},
      {2.0, 4.0, "half the parallel circuits: volts twice, resistance 4 times"}};
  for (const Connection& connection : connections) {
    if (Near(m, connection.emf) && ResistanceFits(resistance, connection.ohms))
      found.push_back({BackEmfCause::kWrongConnection, "", std::nullopt, connection.text});
  }
  const bool by_turns = ResistanceFits(resistance, m), by_copper = ResistanceFits(resistance, m * m);
  const bool as_expected = ResistanceFits(resistance, 1);
  if (as_expected) {
    found.push_back({BackEmfCause::kWeakMagnets, "", std::nullopt,
                     m < 1 ? absl::StrFormat("magnets weak by %.1f %%: all three pairs low alike%s", 100 * (1 - m),
                                             resistance ? ", resistance as expected" : "")
                           : absl::StrFormat("other magnets than expected, %.1f %% stronger%s", 100 * (m - 1),
                                             resistance ? ", resistance as expected" : "")});
  }
  // Within a few percent neither law can be told from a resistance as expected: the magnets come first then.
  if (by_turns || by_copper) {
    found.push_back(
        {BackEmfCause::kWrongTurns, "", m,
         absl::StrFormat("%.3g times the turns expected%s", m,
                         !resistance              ? " (the resistance then moves with turns, or turns squared)"
                         : by_turns && !by_copper ? " of the same wire: the resistance moves with turns"
                         : by_copper && !by_turns ? " with the copper kept: the resistance moves with turns "
                                                    "squared"
                                                  : "")});
  }
}

void ExplainOnePhase(const std::array<double, 3>& pairs, size_t healthy, const std::optional<Band>& resistance,
                     std::vector<BackEmfExplanation>& found) {
  const std::string phase = kPhaseLacking[healthy];
  const double r = (pairs[(healthy + 1) % 3] + pairs[(healthy + 2) % 3]) / 2 / pairs[healthy];
  if (Near(r, 1 / std::sqrt(3.0)) && ResistanceFits(resistance, 1)) {
    found.push_back({BackEmfCause::kReversedPhase, phase, std::nullopt,
                     absl::StrFormat("phase %s reversed: its two pairs read 1/1.732 of the third", phase)});
  }
  // Star: r^2 = (m^2 + m + 1) / 3, m the turns of that phase over those of the others; below r = 1/2 none.
  const double under = 12 * r * r - 3;
  if (!(under >= 1)) return;
  const double m = (-1 + std::sqrt(under)) / 2;
  found.push_back({BackEmfCause::kPhaseTurns, phase, m,
                   absl::StrFormat("phase %s has %.3g times the turns of the others: %s", phase, m,
                                   m < 1 ? "turns shorted or missing, a coil reversed or left out"
                                         : "turns too many, or turns missing in both others")});
}

}  // namespace

std::vector<BackEmfExplanation> ExplainBackEmf(const std::array<double, 3>& pairs, bool expected,
                                               const std::optional<Band>& resistance_ratio) {
  std::vector<BackEmfExplanation> found;
  const double mean = (pairs[0] + pairs[1] + pairs[2]) / 3;
  const auto [least, greatest] = std::minmax_element(pairs.begin(), pairs.end());
  if (!(*least > 0) || !(mean > 0)) return found;
  if (*greatest / *least - 1 <= kNear) {
    if (expected && std::abs(mean - 1) > 1e-9) ExplainAllAlike(mean, resistance_ratio, found);
    return found;
  }
  // One pair stands alone and the other two agree far better with each other than with it.
  size_t healthy = 0;
  double apart = 0;
  for (size_t i = 0; i < 3; ++i) {
    const double between = std::abs(pairs[(i + 1) % 3] - pairs[(i + 2) % 3]);
    if (i == 0 || between < apart) {
      healthy = i;
      apart = between;
    }
  }
  const double others = (pairs[(healthy + 1) % 3] + pairs[(healthy + 2) % 3]) / 2;
  if (apart <= std::abs(others - pairs[healthy]) / 3) ExplainOnePhase(pairs, healthy, resistance_ratio, found);
  return found;
}

std::vector<std::string> BackEmfSlips(double mean) {
  struct Slip {
    double ratio;
    const char* text;
  };
  const Slip slips[] = {{0.5, "half of it: was the shaft at half the speed stated?"},
                        {1 / std::sqrt(3.0), "1/1.732 of it: a phase value for a line value, or star and delta"},
                        {1 / std::sqrt(2.0), "1/1.414 of it: an rms value held against a peak"},
                        {std::sqrt(2.0), "1.414 times it: a peak for an rms value"},
                        {std::sqrt(3.0), "1.732 times it: a line value held against one of a phase, or star and delta"},
                        {2.0, "twice it: was the shaft at twice the speed stated, or peak to peak read?"}};
  std::vector<std::string> found;
  for (const Slip& slip : slips) {
    if (Near(mean, slip.ratio)) found.emplace_back(slip.text);
  }
  if (mean > 1 && found.empty())
    found.emplace_back(
        "above the expected value: speed, rms or peak, line or phase first; then other magnets or turns");
  return found;
}

}  // namespace coilwright::testing
