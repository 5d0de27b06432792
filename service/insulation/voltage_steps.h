#pragma once

#include <optional>
#include <vector>

namespace coilwright::insulation {

// One step of a step-voltage run.
struct VoltageStep {
  double volts_dc = 0;            // mean of the step
  double from_seconds = 0;        // since the run began
  double held_seconds = 0;        // so far
  double microamps = 0;           // after one minute at this voltage, or the last reading of a shorter step
  double read_after_seconds = 0;  // into the step: 60, or less
  // Percent of current per percent of voltage against the step before: 1 is proportion, 0 for the first step (absent).
  std::optional<double> current_exponent;
  // Current over what the steps before it foretell, less 1: the straight line through them from the third step on, in
  // proportion for the second.
  std::optional<double> departure_ratio;
};

// The steps of a run, found from its voltages. A step begins where the voltage rises by more than 5 % and is kept when
// it was held for 5 s or more, so that a ramp between two steps leaves none; a single reading with 5 s or more before
// and after it was taken by hand at the end of its step, which then began at the reading before. Each step lies at
// least 5 % above the last, which bounds their number. A voltage that falls by more than 5 % ends the test.
class VoltageSteps {
 public:
  enum class Event { kNone, kNewVoltage, kStepRead, kLowered };
  // Times rise; volts and microamps above 0. kStepRead: the present step has its one-minute value.
  Event Add(double seconds, double volts, double microamps);
  // The latest current over the most that a winding in proportion could draw at this moment of the step, from the
  // current at the same moment of the step before: each rise of the voltage brings at most its share of the rise
  // before it on top, whatever the absorption (superposition). Absent in the first step and where the step before has
  // no reading so early.
  std::optional<double> OverMost() const;
  // Seconds the present voltage has stood.
  double HeldSeconds(double seconds) const { return steps_.empty() ? 0 : seconds - steps_.back().from_seconds; }
  // Volts the present step lies above the one before.
  double Rise() const;
  // No reading follows: the last step counts with a single one taken by hand, and however short where it broke down.
  void End(bool broke_down);
  // The steps with what was read so far; the last may still go on. Too short a last step is left out.
  std::vector<VoltageStep> Read() const;

 private:
  bool ReadByHand(double seconds_after);
  void Read(VoltageStep& step, double seconds_into_step, double microamps, size_t index) const;
  // A step's current over its time, a tenth apart.
  struct Moment {
    double seconds_into_step = 0, microamps = 0;
  };

  std::vector<VoltageStep> steps_;
  double samples_ = 0;  // of the present step
  double last_seconds_ = 0, last_microamps_ = 0;
  double before_seconds_ = 0;  // of the reading before the present step
  bool minute_read_ = false, lowered_ = false, broke_down_ = false;
  std::vector<Moment> moments_, moments_before_;  // of the present step and the one before
};

}  // namespace coilwright::insulation
