#pragma once

#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"

namespace coilwright::winding {

enum class Layers { kSingle, kDouble };
enum class CoilForm { kLap, kConcentric, kChain, kToothCoil };

// The pattern of a three-phase winding. Valid: slots 3..720, poles even 2..120, pitch 1..slots-1 in slots spanned
// (throw 1-6 is pitch 5). Concentric groups take their mean pitch; a tooth coil has pitch 1; a chain has one layer and
// an odd pitch, or with q = 3, 7, ... slots per pole and phase the even pitch 3q - (q-1)/2 of its longer coils: the
// others span one slot less (crossed chain).
struct Pattern {
  int slots = 0;
  int poles = 0;
  int coil_pitch = 0;
  Layers layers = Layers::kDouble;
  CoilForm form = CoilForm::kLap;
};

struct Symmetry {
  bool balanced = false;
  std::string reason;                // why not, naming the condition; empty when balanced
  int slots_per_pole_phase_num = 0;  // q = num/den in lowest terms
  int slots_per_pole_phase_den = 1;
  int greatest_circuits = 0;             // most equal parallel circuits; 0 when not balanced
  std::vector<int> permitted_circuits;   // its divisors
  std::vector<int> nearest_slots;        // balanced slot numbers next to this one at the same poles, when not balanced
  int cogging_periods_per_rev = 0;       // lcm(slots, poles)
  std::vector<absl::string_view> rules;  // balance, circuits and cogging
};

// By the star of slots. A double layer balances where slots / (3 gcd(slots, pole pairs)) is whole; a single layer where
// the same holds for its slots/2 coils, and its coils must also find slots to return in (odd pitch, or whole or half
// belts joined). A pitch that links no flux is not balanced either. nearest_slots looks at the slot number only, so it
// is empty where another pitch would do. INVALID_ARGUMENT (fields "slots", "poles", "coil_pitch", "form") outside the
// valid ranges.
absl::StatusOr<Symmetry> CheckSymmetry(const Pattern& pattern);

// Winding factor of the working harmonic, 0..1, from the star of slots: |sum of coil emfs| / sum of |coil emfs| at full
// pitch. `harmonic` counts working harmonics (1, 5, 7, ...); the sign is that of the projection on phase A's axis
// relative to the fundamental, so that it is the product of the signed distribution factor and sin(n 90 y/tau). It
// depends only on which slots carry which current: a single layer whose coils fill whole 60-degree belts has the same
// factor for every way of joining them. Accuracy 1e-12. FAILED_PRECONDITION when no balanced winding exists,
// INVALID_ARGUMENT (field "harmonic") outside 1..1000.
absl::StatusOr<double> WindingFactor(const Pattern& pattern, int harmonic = 1);

// The same for several harmonics, in their order: the coils are laid once.
absl::StatusOr<std::vector<double>> WindingFactors(const Pattern& pattern, const std::vector<int>& harmonics);

// Pitch factor sin(n 90 y/tau) of a coil that spans `coil_pitch` slots, tau = slots/poles; arguments as in Pattern.
double PitchFactor(int slots, int poles, int coil_pitch, int harmonic = 1);

// A coil of phase `phase` (0, 1, 2): slots counted from 1; sign -1 is connected the other way round.
struct Coil {
  int phase;
  int go_slot;
  int return_slot;
  int sign;
};

// The same of phase 0 of any coils in such a core, a third of all; slots, poles and harmonics in the same ranges.
std::vector<double> FactorsOfCoils(int slots, int poles, const std::vector<Coil>& coils,
                                   const std::vector<int>& harmonics);

// The coils of a balanced winding, by start slot; slot 1 starts phase A. Phases follow each other by 120 electrical
// degrees in the direction of increasing slot numbers. Of several windings with the same pitch in one layer a lap fills
// whole belts, in groups, where its pitch allows, and a chain takes coils in every second slot. FAILED_PRECONDITION
// when no balanced winding exists.
absl::StatusOr<std::vector<Coil>> Coils(const Pattern& pattern);

// Coils in all: slots for a double layer, slots/2 for a single layer.
int CoilCount(const Pattern& pattern);

// N = coils * turns / (3 * circuits); circuits at least 1.
double SeriesTurnsPerPhase(int coils, double mean_turns_per_coil, int circuits);

}  // namespace coilwright::winding
