#pragma once

#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "testing/programme.h"

// The parts of a test programme; internal to this room.
namespace coilwright::testing {

// A programme case with everything the steps of its stage need worked out once.
struct Bench {
  const ProgrammeCase& c;
  bool rotor_in = false;   // at this stage
  bool star_open = false;  // at this stage
  bool worked_on = false;  // wound, treated or assembled by the shop: not as received and not in service
  bool released = false;   // assembled: the full value is due
  insulation::MegohmLimits megohms;
  absl::StatusOr<Withstand> withstand;  // for the condition this stage asks
  double withstand_share = 1;           // of that level, at this stage
  InsulationEra era;
  std::optional<double> megohm_volts;  // of the bench; absent where it has none that fits
  double surge_cap_volts_rms = 0;      // AC withstand the surge level of this stage is capped by
  absl::StatusOr<SurgeLevel> surge;    // of this stage
  double StageWithstandVolts() const { return withstand_share * withstand->ac.volts; }
};

// Of a winding whose class is not known, where the class decides no limit.
inline constexpr int kUsualClassCelsius = 155;

// The shop's own value, or the usual one of that name.
double Shop(const std::optional<double>& own, absl::string_view name);

// Names of the fitted parts among the terminals.
inline constexpr char kHeaterTerminal[] = "space heater leads";
inline constexpr char kBrakeTerminal[] = "brake coil leads";
inline constexpr char kRectifierTerminal[] = "brake rectifier";
inline constexpr char kSurgePartsTerminal[] = "varistors and capacitors";
std::string SensorTerminal(const FittedDevices& fitted);
std::string FeedbackTerminal(const FittedDevices& fitted);

// What the bench lacks for a step, empty where it can; "the bench ...".
std::string WhyNoMegohmsAt(double low_volts, double high_volts, const Bench& bench);
std::string WhyBenchCannot(TestKind kind, const Bench& bench);
// A withstand test with direct voltage stands in where the bench lacks the alternating one and the family allows it.
bool DcStandsInForAc(const Bench& bench);

// A step that is not done.
Step LeftOut(TestKind kind, absl::string_view title, std::string reason);

// What other families ask of this step, in figures, and where the scope of a standard is left.
std::vector<std::string> WithstandNotes(const Bench& bench);
std::vector<std::string> MegohmNotes(const Bench& bench);
// The surge level against what a drive may put on the winding; `rules` gets what it rests on.
std::vector<std::string> SurgeNotes(const Bench& bench, std::vector<absl::string_view>& rules);

// For the whole programme.
std::vector<std::string> ProgrammeCautions(const Bench& bench);
std::vector<std::string> ProgrammeNotes(const Bench& bench);

// The condition whose level the stage's share is taken of.
Condition ConditionAt(const ProgrammeCase& c);
// From the stripped core to the treated winding.
bool RotorOutStage(Stage stage);

// Whether a rotor is in at the stage: from the stripped core to the treated winding it is out.
bool RotorIn(const ProgrammeCase& c);

// U-V, V-W and W-U held against each other: nothing a winding without three phases has.
bool ComparesThreePhases(TestKind kind);

// The steps of one kind at this stage: done, or left out with the reason. Never empty.
std::vector<Step> StepsOf(TestKind kind, const Bench& bench);

// A reason to leave this kind out at this stage; empty where it is done.
std::string WhyLeftOut(TestKind kind, const Bench& bench);

// Tests that put a test voltage on the insulation.
Step MegohmStep(const Bench& bench);
Step PhaseMegohmStep(const Bench& bench);
Step PolarizationStep(const Bench& bench);
Step AbsorptionStep(const Bench& bench);
Step SurgeStep(const Bench& bench);
Step WithstandStep(const Bench& bench, bool dc);

// Measurements and inspections.
Step VisualStep(const Bench& bench);
std::vector<Step> ResistanceSteps(const Bench& bench);
Step PolarityStep(const Bench& bench);
Step InductanceStep(const Bench& bench);
Step BackEmfStep(const Bench& bench);
Step CoreLossStep(const Bench& bench);
Step TemperatureRiseStep(const Bench& bench);

// Fitted devices that are there.
std::vector<Step> SensorSteps(const Bench& bench);
std::vector<Step> HeaterSteps(const Bench& bench);
Step BrakeStep(const Bench& bench);
Step RectifierStep(const Bench& bench);
Step FeedbackStep(const Bench& bench);
Step SurgePartsStep(const Bench& bench);

// Shared by both: what is on the bench besides the winding, every part at the potential it has in any test.
// Sensor, heater and brake leads are tied to the frame, electronics and surge parts are off.
std::vector<Terminal> WithFittedParts(std::vector<Terminal> winding, const Bench& bench);
std::vector<std::string> PrepareFittedParts(const Bench& bench);

// The winding as one conductor, and the frame.
std::vector<Terminal> WholeWinding(const Bench& bench);
// One phase against the others and the frame; needs the star open.
std::vector<Terminal> PhaseByPhase(const Bench& bench);

// Where a test voltage would be lost on a live lead: the hazards of this bench, for the step that energises it.
std::vector<std::string> HighVoltageCautions(const Bench& bench, bool dc);

}  // namespace coilwright::testing
