#include <gtest/gtest.h>

#include <cmath>

#include "winding/field.h"
#include "winding/short_names.h"

namespace coilwright::winding {
namespace {

// Axes and senses worked by hand with the datum: slot k lies (k - 1) slot pitches clockwise from slot 1, seen from the
// connection end; a coil connected forward magnetises towards the rotor at its centre, a reversed one half an
// electrical turn on. Alike coils pair up about the axis, so that it is the mean of their centres.
struct ByHand {
  const char* working;
  Placement placement;
  double electrical_degrees;  // of U
  double mechanical_degrees;
  double v_electrical_degrees;
  bool clockwise_from_drive_end;
};

const MachineEnd kFar = MachineEnd::kNonDrive, kShaft = MachineEnd::kDrive;
const PhaseOrder kWith = PhaseOrder::kWithSlots, kAgainst = PhaseOrder::kAgainstSlots;

const ByHand kByHand[] = {
    {"15 deg a slot, 2 pole pairs: U is 1-6, 2-7, centres 2.5 and 3.5 slots from slot 1: 3 x 15 = 45, x 2 = 90",
     {{24, 4, 5, kTwo, kLap}, 1, kWith, kFar},
     90,
     45,
     210,
     false},
    {"the same numbered from the shaft end: slots rise clockwise seen from there, so the field turns clockwise",
     {{24, 4, 5, kTwo, kLap}, 1, kWith, kShaft},
     90,
     45,
     210,
     true},
    {"10 deg a slot: U is 1-9, 2-10, 3-11, centres 4, 5, 6: 5 x 10 = 50, x 2 = 100",
     {{36, 4, 8, kTwo, kLap}, 1, kWith, kFar},
     100,
     50,
     220,
     false},
    {"one layer, throw 1-6: U is 1-6 forward and 7-12 reversed: 2.5 x 15 = 37.5, x 2 = 75; 8.5 x 15 x 2 - 180 = 75",
     {{24, 4, 5, kOne, CoilForm::kChain}, 1, kWith, kFar},
     75,
     37.5,
     195,
     false},
    {"concentric 1-8 in one layer with 2-7 inside: both centred 3.5 slots on: 3.5 x 15 = 52.5, x 2 = 105",
     {{24, 4, 6, kOne, CoilForm::kConcentric}, 1, kWith, kFar},
     105,
     52.5,
     225,
     false},
    {"tooth coil 1-2, 30 deg a slot, 4 pole pairs: 0.5 x 30 = 15, x 4 = 60",
     {{12, 8, 1, kTwo, kTooth}, 1, kWith, kFar},
     60,
     15,
     180,
     false},
    {"5 pole pairs: 1-2 at 15 x 5 = 75, 6-7 at 165 x 5 = 105, 7-8 reversed 195 x 5 + 180 = 75, 12-1 reversed 105: 90",
     {{12, 10, 1, kTwo, kTooth}, 1, kWith, kFar},
     90,
     18,
     210,
     false},
    {"4 pole pairs, 40 deg a slot: 1-2 at 20 x 4 = 80, 8-9 at 300 x 4 = 120, 9-1 reversed 340 x 4 + 180 = 100",
     {{9, 8, 1, kTwo, kTooth}, 1, kWith, kFar},
     100,
     25,
     220,
     false},
    {"mirrored: V and W change places, so V lies 120 before U; U stays at 90. Turns counter to the slots",
     {{24, 4, 5, kTwo, kLap}, 1, kAgainst, kFar},
     90,
     45,
     330,
     true},
    {"from slot 4: three slots of 30 electrical degrees on, 90 + 90",
     {{24, 4, 5, kTwo, kLap}, 4, kWith, kFar},
     180,
     90,
     300,
     false},
    {"the lap of 36 slots from slot 36: one slot of 20 electrical degrees back, 100 - 20, against the slots",
     {{36, 4, 8, kTwo, kLap}, 36, kAgainst, kShaft},
     80,
     40,
     320,
     false},
    {"3 pole pairs, 40 electrical degrees a slot: 1-5 at 2 x 40 = 80, 2-6 at 120, 6-10 reversed 7 x 40 - 180 = 100",
     {{27, 6, 4, kTwo, kLap}, 1, kWith, kFar},
     100,
     100.0 / 3,
     220,
     false},
};

double Apart(double a, double b) { return std::abs(std::remainder(a - b, 360)); }

TEST(Axis, LiesWhereItLiesByHand) {
  for (const ByHand& by_hand : kByHand) {
    SCOPED_TRACE(by_hand.working);
    const absl::StatusOr<Layout> layout = LaidOut(by_hand.placement);
    ASSERT_TRUE(layout.ok()) << layout.status();
    const Field field = FieldOf(*layout);
    EXPECT_NEAR(field.axis_electrical_degrees[0], by_hand.electrical_degrees, 1e-9);
    EXPECT_NEAR(field.axis_mechanical_degrees[0], by_hand.mechanical_degrees, 1e-9);
    EXPECT_NEAR(Apart(field.axis_electrical_degrees[1], by_hand.v_electrical_degrees), 0, 1e-9);
    EXPECT_EQ(field.clockwise_from_drive_end, by_hand.clockwise_from_drive_end);
    EXPECT_NE(field.clockwise_from_connection_end,
              by_hand.clockwise_from_drive_end == (by_hand.placement.connection_end == kFar));
  }
}

// The field of direct current into U, drawn tooth by tooth: flux towards the rotor grows over a slot whose current goes
// away from the connection end. Its greatest height lies about the axis of U.
TEST(Axis, IsTheMiddleOfTheHighestTeeth) {
  for (const ByHand& by_hand : kByHand) {
    SCOPED_TRACE(by_hand.working);
    const Layout layout = *LaidOut(by_hand.placement);
    const SlotCurrents currents = CurrentsOf(layout);
    // Correlates the steps with a cosine laid at every hundredth of a degree; no phasors.
    std::vector<double> heights;
    double height = 0, mean = 0;
    for (const auto& slot : currents) {
      height += slot[0];
      heights.push_back(height);
      mean += height / layout.slots;
    }
    double best = -1e9, best_degrees = 0;
    for (int hundredth = 0; hundredth < 36000; hundredth += 5) {
      double sum = 0;
      for (int tooth = 0; tooth < layout.slots; ++tooth) {
        const double electrical = 180.0 * layout.poles * (tooth + 0.5) / layout.slots;
        sum += (heights[static_cast<size_t>(tooth)] - mean) *
               std::cos((electrical - hundredth / 100.0) * std::acos(-1) / 180);
      }
      if (sum > best) best = sum, best_degrees = hundredth / 100.0;
    }
    EXPECT_LE(Apart(best_degrees, by_hand.electrical_degrees), 0.051);
  }
}

TEST(Axis, OfEveryPhaseLies120DegreesFromTheNext) {
  for (const ByHand& by_hand : kByHand) {
    const Field field = FieldOf(*LaidOut(by_hand.placement));
    const double step = by_hand.placement.phase_order == kWith ? 120 : -120;
    for (size_t phase = 0; phase < 3; ++phase) {
      EXPECT_NEAR(Apart(field.axis_electrical_degrees[(phase + 1) % 3], field.axis_electrical_degrees[phase] + step), 0,
                  1e-9);
    }
  }
}

// By vectors: current 1 into lead U of a delta and 1/2 out of V and W; with equal phases the current law and zero sum
// of voltages round the delta leave 1/2 in U, 0 in V and -1/2 in W. The flux is the sum of the phases' axes so
// weighted.
TEST(DeltaAxis, LiesThirtyDegreesFromThePhase) {
  for (const PhaseOrder order : {kWith, kAgainst}) {
    for (const Pattern& pattern : {Pattern{24, 4, 5, kTwo, kLap}, Pattern{12, 10, 1, kTwo, kTooth}, Pattern{36, 4, 8},
                                   Pattern{9, 8, 1, kTwo, kTooth}}) {
      const auto layout = LaidOut({pattern, 3, order, kFar});
      ASSERT_TRUE(layout.ok());
      const Field field = FieldOf(*layout);
      for (size_t phase = 0; phase < 3; ++phase) {
        double x = 0, y = 0;
        for (const auto& [other, amps] : {std::pair{phase, 0.5}, std::pair{(phase + 2) % 3, -0.5}}) {
          x += amps * std::cos(field.axis_electrical_degrees[other] * M_PI / 180);
          y += amps * std::sin(field.axis_electrical_degrees[other] * M_PI / 180);
        }
        EXPECT_NEAR(std::remainder(field.delta_axis_electrical_degrees[phase] - std::atan2(y, x) * 180 / M_PI, 360), 0,
                    1e-9);
        EXPECT_NEAR(std::abs(std::remainder(
                        field.delta_axis_electrical_degrees[phase] - field.axis_electrical_degrees[phase], 360)),
                    30, 1e-9);
      }
    }
  }
}

}  // namespace
}  // namespace coilwright::winding
