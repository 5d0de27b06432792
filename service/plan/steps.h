#pragma once

#include "plan/plan.h"

// The steps MakePlan joins; each is a pure function of what came before it.
namespace coilwright::plan {

absl::StatusOr<PatternSummary> SummarisePattern(const Record& record);
absl::StatusOr<electric::MeanTurn> MeanTurnOf(const Record& record, const PatternSummary& pattern);

// New turns for a change; INVALID_ARGUMENT (below "change") for one the machine cannot take.
absl::StatusOr<TurnsPlan> PlanTurns(const Record& record, const PatternSummary& pattern, const Change& change);

// Bare area of all wires of a turn, with the limits of their diameters.
standards::Band StrandArea(const std::vector<RecordedStrand>& strands);

// What an option needs beside its wires.
struct Frame {
  const Record* record;
  const PatternSummary* pattern;
  const TurnsPlan* turns;
  const electric::MeanTurn* mean_turn;
  const Settings* settings;
  std::optional<slot::Area> slot_area;
  double bench_celsius;
};
absl::StatusOr<Option> DescribeOption(const Frame& frame, const std::vector<RecordedStrand>& strands,
                                      double target_area_mm2);
electric::WindingCopper CopperOf(const Frame& frame, const std::vector<RecordedStrand>& strands);
double TurnsInSlot(const Record& record, const TurnsPlan& turns);

// The best wires for the planned turns.
struct Alternatives {
  std::vector<Option> options;
  std::vector<std::string> left_out;
};
absl::StatusOr<Alternatives> ChooseWires(const Frame& frame, const WireChoice& choice, double target_area_mm2);

// Flux, densities and current density for given turns and conductor.
absl::StatusOr<Loading> LoadingOf(const Record& record, const PatternSummary& pattern, const TurnsPlan& original,
                                  const TurnsPlan& turns, std::optional<double> current_density_a_per_mm2);

// Constants as recorded, and moved to other turns, circuits and connection. Nothing without a voltage or torque
// constant.
std::optional<MachineConstants> ConstantsOf(const Record& record, const TurnsPlan& original, const TurnsPlan& turns,
                                            const standards::Band& line_to_line_ohms_20c);

std::vector<Finding> Glance(const Frame& frame, const Option& as_recorded, const Loading& loading,
                            const std::optional<MachineConstants>& constants, double unbalance_percent);

std::vector<Material> Materials(const Record& record, double rated_volts);

absl::StatusOr<std::vector<testing::Programme>> Programmes(const Record& record, const TurnsPlan& turns,
                                                           const TestChoice& tests,
                                                           const std::optional<standards::Band>& line_to_line_ohms_20c,
                                                           const std::optional<MachineConstants>& constants);

}  // namespace coilwright::plan
