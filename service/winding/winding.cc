#include "winding/winding.h"

#include <cmath>
#include <complex>
#include <numeric>

#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "standards/range_check.h"
#include "standards/rule_ids.h"
#include "standards/units.h"
#include "winding/arrangement.h"

namespace coilwright::winding {
namespace {

constexpr int kMostHarmonic = 1000;
constexpr int kMostSlotsSearched = 720;

int GreatestCircuits(const Pattern& pattern, const Arrangement& arrangement, int denominator) {
  switch (arrangement.starts) {
    case Starts::kEverySlot:
      return pattern.poles / denominator;
    case Starts::kWholeBelts:
    case Starts::kCrossedChain:
      return pattern.poles / 2;
    case Starts::kBlocks:
      return pattern.poles;
    case Starts::kEverySecondSlot:
      break;
  }
  const int coils = pattern.slots / 2;
  const int repeats = std::gcd(coils, pattern.poles / 2);
  return coils / repeats % 2 == 0 ? 2 * repeats : repeats;
}

std::vector<int> NearestBalanced(const Pattern& pattern) {
  std::vector<int> nearest;
  if (SlotsBalance(pattern.slots, pattern)) return nearest;
  for (int slots = pattern.slots - 1; slots >= 3; --slots) {
    if (!SlotsBalance(slots, pattern)) continue;
    nearest.push_back(slots);
    break;
  }
  for (int slots = pattern.slots + 1; slots <= kMostSlotsSearched; ++slots) {
    if (!SlotsBalance(slots, pattern)) continue;
    nearest.push_back(slots);
    break;
  }
  return nearest;
}

bool StartsCoil(const Pattern& pattern, const Arrangement& arrangement, int slot) {
  switch (arrangement.starts) {
    case Starts::kEverySlot:
      return true;
    case Starts::kEverySecondSlot:
      return slot % 2 == 0;
    case Starts::kWholeBelts:
      return BeltOf(pattern, slot) % 2 == 0;
    case Starts::kCrossedChain:
      return slot % arrangement.slots_per_pole_phase >= arrangement.block_slots + BeltOf(pattern, slot) % 2;
    case Starts::kBlocks: {
      const int place = slot % arrangement.slots_per_pole_phase % (2 * arrangement.block_slots);
      return (place < arrangement.block_slots) == arrangement.goes_first;
    }
  }
  return false;
}

// Slots spanned by the coil that starts in `slot`. Concentric coils lie one in the other over the same slots as equal
// coils of the mean pitch, so the first of a group spans most.
int SpanOf(const Pattern& pattern, const Arrangement& arrangement, int slot) {
  if (arrangement.starts == Starts::kCrossedChain) return pattern.coil_pitch - BeltOf(pattern, slot) % 2;
  if (pattern.form != CoilForm::kConcentric) return pattern.coil_pitch;
  const auto same_group = [&](int other) {
    const int wrapped = (other + pattern.slots) % pattern.slots;
    return StartsCoil(pattern, arrangement, wrapped) && BeltOf(pattern, wrapped) == BeltOf(pattern, slot);
  };
  int before = 0, after = 0;
  while (same_group(slot - before - 1)) ++before;
  while (same_group(slot + after + 1)) ++after;
  return pattern.coil_pitch + after - before;
}

absl::StatusOr<Arrangement> BalancedArrangement(const Pattern& pattern) {
  if (absl::Status status = CheckPattern(pattern); !status.ok()) return status;
  std::string why_not;
  const std::optional<Arrangement> arrangement = ArrangementOf(pattern, &why_not);
  if (!arrangement.has_value()) return absl::FailedPreconditionError(absl::StrCat("no balanced winding: ", why_not));
  return *arrangement;
}

}  // namespace

absl::StatusOr<Symmetry> CheckSymmetry(const Pattern& pattern) {
  if (absl::Status status = CheckPattern(pattern); !status.ok()) return status;
  Symmetry symmetry;
  const int divisor = std::gcd(pattern.slots, 3 * pattern.poles);
  symmetry.slots_per_pole_phase_num = pattern.slots / divisor;
  symmetry.slots_per_pole_phase_den = 3 * pattern.poles / divisor;
  symmetry.cogging_periods_per_rev = std::lcm(pattern.slots, pattern.poles);
  symmetry.rules = {pattern.layers == Layers::kDouble ? rules::winding_star_of_slots : rules::winding_single_layer,
                    rules::winding_parallel_circuits, rules::winding_cogging_periods};
  const std::optional<Arrangement> arrangement = ArrangementOf(pattern, &symmetry.reason);
  symmetry.balanced = arrangement.has_value();
  if (!symmetry.balanced) {
    symmetry.nearest_slots = NearestBalanced(pattern);
    return symmetry;
  }
  symmetry.greatest_circuits = GreatestCircuits(pattern, *arrangement, symmetry.slots_per_pole_phase_den);
  for (int circuits = 1; circuits <= symmetry.greatest_circuits; ++circuits) {
    if (symmetry.greatest_circuits % circuits == 0) symmetry.permitted_circuits.push_back(circuits);
  }
  return symmetry;
}

absl::StatusOr<std::vector<Coil>> Coils(const Pattern& pattern) {
  const absl::StatusOr<Arrangement> arrangement = BalancedArrangement(pattern);
  if (!arrangement.ok()) return arrangement.status();
  constexpr int kPhaseOfBelt[] = {0, 2, 1, 0, 2, 1};
  std::vector<Coil> coils;
  coils.reserve(static_cast<size_t>(CoilCount(pattern)));
  // Where belts begin with returning sides the count begins at the first side that goes, so that slot 1 starts phase A.
  const bool returns_first = arrangement->starts == Starts::kCrossedChain ||
                             (arrangement->starts == Starts::kBlocks && !arrangement->goes_first);
  const int first = returns_first ? arrangement->block_slots : 0;
  for (int number = 1; number <= pattern.slots; ++number) {
    const int slot = (first + number - 1) % pattern.slots;
    if (!StartsCoil(pattern, *arrangement, slot)) continue;
    const int belt = BeltOf(pattern, slot);
    const int return_number = (number - 1 + SpanOf(pattern, *arrangement, slot)) % pattern.slots + 1;
    coils.push_back({kPhaseOfBelt[belt], number, return_number, belt % 2 == 0 ? 1 : -1});
  }
  return coils;
}

std::vector<double> FactorsOfCoils(int slots, int poles, const std::vector<Coil>& coils,
                                   const std::vector<int>& harmonics) {
  // The slots' unit vectors; every order only picks among them.
  std::vector<std::complex<double>> spokes;
  for (int step = 0; step < slots; ++step) {
    spokes.push_back(std::polar(1.0, 2 * standards::kPi * step / slots));
  }
  // A coil with its axis at angle c and half span h gives -2j sin(nh) e^(jnc) at order n.
  const auto phase_sum = [&](int order) {
    const int64_t turn = int64_t{order} * (poles / 2) % slots;
    std::complex<double> sum = 0;
    for (const Coil& coil : coils) {
      if (coil.phase != 0) continue;
      const auto side = [&](int slot) { return spokes[static_cast<size_t>(turn * (slot - 1) % slots)]; };
      sum += (side(coil.go_slot) - side(coil.return_slot)) * static_cast<double>(coil.sign);
    }
    return sum / std::complex<double>(0, -2);
  };
  const std::complex<double> fundamental = phase_sum(1);
  const double coils_per_phase = static_cast<double>(coils.size()) / 3;
  std::vector<double> factors;
  for (const int harmonic : harmonics) {
    const std::complex<double> axis = std::polar(1.0, -harmonic * std::arg(fundamental));
    factors.push_back((phase_sum(harmonic) * axis).real() / coils_per_phase + 0.0);  // nothing has no sign
  }
  return factors;
}

absl::StatusOr<std::vector<double>> WindingFactors(const Pattern& pattern, const std::vector<int>& harmonics) {
  standards::RangeCheck check;
  for (const int harmonic : harmonics) {
    if (!check.Within("harmonic", harmonic, 1, kMostHarmonic, "")) return check.status();
  }
  const absl::StatusOr<std::vector<Coil>> coils = Coils(pattern);
  if (!coils.ok()) return coils.status();
  return FactorsOfCoils(pattern.slots, pattern.poles, *coils, harmonics);
}

absl::StatusOr<double> WindingFactor(const Pattern& pattern, int harmonic) {
  const absl::StatusOr<std::vector<double>> factors = WindingFactors(pattern, {harmonic});
  if (!factors.ok()) return factors.status();
  return factors->front();
}

double PitchFactor(int slots, int poles, int coil_pitch, int harmonic) {
  return std::sin(harmonic * standards::kPi / 2 * coil_pitch * poles / slots);
}

int CoilCount(const Pattern& pattern) { return pattern.layers == Layers::kDouble ? pattern.slots : pattern.slots / 2; }

double SeriesTurnsPerPhase(int coils, double mean_turns_per_coil, int circuits) {
  return coils * mean_turns_per_coil / (3.0 * circuits);
}

}  // namespace coilwright::winding
