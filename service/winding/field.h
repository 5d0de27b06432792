#pragma once

#include <array>
#include <vector>

#include "absl/strings/string_view.h"
#include "winding/layout.h"

namespace coilwright::winding {

// What a layout does at its working wave and how its field repeats.
struct Field {
  // Magnetic axis of each phase (U, V, W): where positive current in its lead gives peak flux towards the rotor, from
  // the centre line of slot 1, clockwise seen from the connection end. Electrical degrees in 0..360; the nearest of
  // the equal axes, one per pole pair, in mechanical degrees in 0..720/poles. Rule winding.magnetic_axis.
  std::array<double, 3> axis_electrical_degrees{};
  std::array<double, 3> axis_mechanical_degrees{};
  // The same of the leads once the phases are joined in delta, U to V, V to W and W to U: half of a lead's current runs
  // through its own phase and half backwards through the phase that ends on it, so that the axis lies 30 electrical
  // degrees from that of the phase, towards the next where the phases are balanced. Rule winding.delta_axis.
  std::array<double, 3> delta_axis_electrical_degrees{};
  // With currents in the time order U, V, W the field turns towards rising slot numbers, which is clockwise seen from
  // the connection end; and the same as seen facing the shaft end. Rule winding.rotation.
  bool clockwise_from_connection_end = false;
  bool clockwise_from_drive_end = false;
  // Magnitude of the winding factor of the working wave of each phase, 0..1.
  std::array<double, 3> winding_factors{};
  // Times the same slot currents occur in one turn, and the same counting sections that are alike but reversed.
  int periods_per_rev = 0;
  int alternating_periods_per_rev = 0;
  // Radial forces repeat with the section that recurs, alike or reversed: their orders are multiples of this, and only
  // order 1 pulls the whole rotor to one side. Rule winding.radial_pull.
  int radial_pull_order = 0;
  bool radial_pull_balanced = false;
  // Field energy in all waves but the working one over that in the working one. Rule winding.differential_leakage.
  double differential_leakage = 0;
  std::vector<absl::string_view> rules;
};

// Any layout of Layout's kind; where no phase links the working wave, axes, factors and leakage are 0. Accuracy 1e-9
// relative.
Field FieldOf(const Layout& layout);

// A wave of the air-gap field that three balanced phase currents raise.
struct Wave {
  int order = 0;               // pole pairs round the bore
  bool forward = false;        // runs in the sense of the working wave
  double winding_factor = 0;   // of phase U at this order, magnitude 0..1
  double amplitude_ratio = 0;  // over the working wave
  double speed_ratio = 0;      // of its speed over that of the working wave, negative backward
};

// Waves of mechanical orders 1..`most_order` (1..100000) larger than 1e-9 of the working one, by order; where both
// senses occur at one order, forward first. Sub-harmonics are the orders below the pole pairs. Rule winding.mmf_waves.
// Cost grows with coils times the smaller of orders and slots.
std::vector<Wave> WavesOf(const Layout& layout, int most_order);

}  // namespace coilwright::winding
