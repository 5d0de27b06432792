#include "winding/field.h"

#include <cmath>
#include <complex>
#include <cstdint>
#include <numeric>

#include "standards/rule_ids.h"
#include "standards/units.h"

namespace coilwright::winding {
namespace {

using Phasor = std::complex<double>;
using standards::kPi;

constexpr double kNothing = 1e-9;
const Phasor kTurn120 = std::polar(1.0, 2 * kPi / 3);

// The unit vectors of all slots; every order picks among them.
std::vector<Phasor> Spokes(int slots) {
  std::vector<Phasor> spokes;
  spokes.reserve(static_cast<size_t>(slots));
  for (int step = 0; step < slots; ++step) spokes.push_back(std::polar(1.0, -2 * kPi * step / slots));
  return spokes;
}

struct SlotCurrent {
  int slot;  // from 0
  int current;
};

// Slots that carry a net current, by phase.
std::array<std::vector<SlotCurrent>, 3> SidesByPhase(const SlotCurrents& currents) {
  std::array<std::vector<SlotCurrent>, 3> sides;
  for (size_t slot = 0; slot < currents.size(); ++slot) {
    for (size_t phase = 0; phase < 3; ++phase) {
      if (currents[slot][phase] != 0) sides[phase].push_back({static_cast<int>(slot), currents[slot][phase]});
    }
  }
  return sides;
}

// Sum of current e^(-j order angle).
Phasor Sum(const std::vector<SlotCurrent>& sides, int64_t order, const std::vector<Phasor>& spokes) {
  const int64_t slots = static_cast<int64_t>(spokes.size());
  const int64_t turn = order % slots;
  Phasor sum = 0;
  for (const SlotCurrent& side : sides) {
    sum += static_cast<double>(side.current) * spokes[static_cast<size_t>(turn * side.slot % slots)];
  }
  return sum;
}

using PhaseSums = std::array<Phasor, 3>;

PhaseSums Sums(const std::array<std::vector<SlotCurrent>, 3>& sides, int64_t order, const std::vector<Phasor>& spokes) {
  return {Sum(sides[0], order, spokes), Sum(sides[1], order, spokes), Sum(sides[2], order, spokes)};
}

// Amplitude of the wave that runs towards rising slot numbers, and of the one that runs against them, for currents in
// the time order U, V, W.
Phasor Rising(const PhaseSums& sums) { return (sums[0] + sums[1] * kTurn120 + sums[2] * std::conj(kTurn120)) / 3.0; }
Phasor Falling(const PhaseSums& sums) { return (sums[0] + sums[1] * std::conj(kTurn120) + sums[2] * kTurn120) / 3.0; }

double DegreesUpTo(double degrees, double period) {
  degrees = std::fmod(degrees, period);
  if (degrees < 0) degrees += period;
  // Rounding must not turn an axis on a slot's centre line into one a whole period on.
  return period - degrees < kNothing ? 0.0 : degrees;
}

// A coil's sides sum to 2j sin(h) e^(-jc).
double AxisDegrees(Phasor sum) { return DegreesUpTo(90 - std::arg(sum) * 180 / kPi, 360); }

bool RepeatsAfter(const SlotCurrents& currents, int shift, int sign) {
  const size_t slots = currents.size();
  for (size_t slot = 0; slot < slots; ++slot) {
    const auto& other = currents[(slot + static_cast<size_t>(shift)) % slots];
    for (size_t phase = 0; phase < 3; ++phase) {
      if (currents[slot][phase] != sign * other[phase]) return false;
    }
  }
  return true;
}

int Periods(const SlotCurrents& currents, bool alternating) {
  const int slots = static_cast<int>(currents.size());
  for (int shift = 1; shift < slots; ++shift) {
    if (slots % shift != 0) continue;
    if (RepeatsAfter(currents, shift, 1) || (alternating && RepeatsAfter(currents, shift, -1))) return slots / shift;
  }
  return 1;
}

// From the polygon of slot currents: the field steps at every slot, and by Parseval the mean square of the steps is the
// sum over all waves.
double DifferentialLeakage(const SlotCurrents& currents, int pole_pairs, double working) {
  const double slots = static_cast<double>(currents.size());
  Phasor height = 0, mean = 0;
  double square = 0;
  for (const auto& slot : currents) {
    height += static_cast<double>(slot[0]) + static_cast<double>(slot[1]) * kTurn120 +
              static_cast<double>(slot[2]) * std::conj(kTurn120);
    mean += height / slots;
    square += std::norm(height) / slots;
  }
  const double scale = 2 * kPi * pole_pairs / (3 * working);
  return std::max(0.0, (square - std::norm(mean)) * scale * scale - 1);
}

}  // namespace

Field FieldOf(const Layout& layout) {
  const SlotCurrents currents = CurrentsOf(layout);
  const auto sides = SidesByPhase(currents);
  const int pole_pairs = layout.poles / 2;
  const PhaseSums sums = Sums(sides, pole_pairs, Spokes(layout.slots));
  Field field;
  std::array<int, 3> coils{};
  for (const Coil& coil : layout.coils) ++coils[static_cast<size_t>(coil.phase)];
  for (size_t phase = 0; phase < 3; ++phase) {
    if (coils[phase] == 0 || std::abs(sums[phase]) < kNothing * coils[phase]) continue;
    field.winding_factors[phase] = std::abs(sums[phase]) / (2 * coils[phase]);
    field.axis_electrical_degrees[phase] = AxisDegrees(sums[phase]);
    field.axis_mechanical_degrees[phase] = field.axis_electrical_degrees[phase] / pole_pairs;
  }
  for (size_t phase = 0; phase < 3; ++phase) {
    const Phasor lead = sums[phase] - sums[(phase + 2) % 3];
    if (std::abs(lead) >= kNothing) field.delta_axis_electrical_degrees[phase] = AxisDegrees(lead);
  }
  const double rising = std::abs(Rising(sums)), falling = std::abs(Falling(sums));
  field.clockwise_from_connection_end = rising >= falling;
  field.clockwise_from_drive_end = field.clockwise_from_connection_end == (layout.connection_end == MachineEnd::kDrive);
  field.periods_per_rev = Periods(currents, false);
  field.alternating_periods_per_rev = Periods(currents, true);
  // The square of the field repeats with the section, whichever its sign. The poles do too: they drive the working
  // wave.
  field.radial_pull_order = field.alternating_periods_per_rev;
  field.radial_pull_balanced = field.radial_pull_order > 1;
  const double working = std::max(rising, falling);
  if (working > kNothing) field.differential_leakage = DifferentialLeakage(currents, pole_pairs, working);
  field.rules = {rules::winding_magnetic_axis, rules::winding_rotation, rules::winding_radial_pull,
                 rules::winding_differential_leakage};
  return field;
}

std::vector<Wave> WavesOf(const Layout& layout, int most_order) {
  const auto sides = SidesByPhase(CurrentsOf(layout));
  const std::vector<Phasor> spokes = Spokes(layout.slots);
  const int pole_pairs = layout.poles / 2;
  const PhaseSums main = Sums(sides, pole_pairs, spokes);
  const bool main_rises = std::abs(Rising(main)) >= std::abs(Falling(main));
  const double working = std::max(std::abs(Rising(main)), std::abs(Falling(main))) / pole_pairs;
  double coils = 0;
  for (const Coil& coil : layout.coils) coils += coil.phase == 0;
  std::vector<Wave> waves;
  if (working < kNothing) return waves;
  // Sums repeat with the number of slots, so that only so many are ever formed.
  struct Strength {
    double factor, rising, falling;
  };
  std::vector<Strength> strengths;
  for (int order = 0; order < std::min(layout.slots, most_order + 1); ++order) {
    const PhaseSums sums = Sums(sides, order, spokes);
    strengths.push_back({std::abs(sums[0]) / (2 * coils), std::abs(Rising(sums)), std::abs(Falling(sums))});
  }
  for (int order = 1; order <= most_order; ++order) {
    const Strength& strength = strengths[static_cast<size_t>(order % layout.slots)];
    for (const bool forward : {true, false}) {
      const double ratio = (forward == main_rises ? strength.rising : strength.falling) / order / working;
      const double speed = static_cast<double>(pole_pairs) / order;
      if (ratio > kNothing) waves.push_back({order, forward, strength.factor, ratio, forward ? speed : -speed});
    }
  }
  return waves;
}

}  // namespace coilwright::winding
