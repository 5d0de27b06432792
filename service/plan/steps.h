#pragma once

#include "plan/plan.h"

// The steps MakePlan joins; each is a pure function of what came before it.
namespace coilwright::plan {

absl::StatusOr<PatternSummary> SummarisePattern(const Record& record);
// The same with errors in the words of the contract.
absl::StatusOr<PatternSummary> SummariseRecorded(const Record& record);
absl::StatusOr<electric::MeanTurn> MeanTurnOf(const Record& record, const PatternSummary& pattern);

// Concentric groups with whole slots per pole and phase: the turns of each span set the winding factor.
bool GroupsSetTheFactor(const Record& record);

// Winding factor of the record's coils with the turns of `groups`, or of their pattern, at its mean pitch, where groups
// do not set it.
absl::StatusOr<double> WindingFactorOf(const Record& record, const winding::Pattern& pattern,
                                       const std::vector<CoilGroup>& groups);

// The record's groups with `factor` times their turns, whole, each group as near to its exact effect as it can be.
std::vector<CoilGroup> ScaledGroups(const Record& record, double factor);

// Turns in the slot that holds most. By the layout where one kind of group with a coil of each span repeats, else twice
// (double layer) or once the largest coil, which is never less.
double TurnsInFullestSlot(const Record& record, const winding::Pattern& pattern, const std::vector<CoilGroup>& groups,
                          double turns_per_coil);

// Line current of the plate in A rms, from a peak value where only that is given.
std::optional<double> PlateLineAmpsRms(const Plate& plate);

// The record as it will be wound, but for its turns, which are only in proportion; its pattern.
struct Redesign {
  Record record;
  PatternSummary pattern;
  std::string groups_note;  // how concentric groups that nobody gave were made up, empty for none
};

// Concentric groups for a new pattern whose groups nobody gave: as the coils of the pattern nest, so that their spans
// lie about its pitch and a group has as many coils as its belt. Turns, as proportions, are those of recorded
// concentric groups of as many coils, from the inner coil out (common practice, no source); equal where there are none
// or they contradict each other. `note` says which. Errors as winding::Coils.
absl::StatusOr<std::vector<CoilGroup>> NewGroups(const Record& record, const winding::Pattern& pattern,
                                                 std::string* note);

// INVALID_ARGUMENT (below "change") for a change the machine cannot take, FAILED_PRECONDITION where the new pattern
// does not balance.
absl::StatusOr<Redesign> RedesignOf(const Record& record, const PatternSummary& pattern, const Change& change);

// Rated volts of the new winding: as changed, with the DC bus, or as recorded.
double RatedVoltsOf(const Record& record, const Change& change);

// As measured or estimated where the coils stay; else in the ratio of the estimates of both coils, with a wider band.
absl::StatusOr<electric::MeanTurn> PlannedMeanTurn(const Record& record, const PatternSummary& pattern,
                                                   const electric::MeanTurn& mean_turn, const Redesign& redesign);

// Turns for the redesigned winding; INVALID_ARGUMENT (below "change") where no sensible number exists.
absl::StatusOr<TurnsPlan> PlanTurns(const Record& record, const PatternSummary& pattern, const Redesign& redesign,
                                    const Change& change);
absl::StatusOr<TurnsPlan> PlanTurns(const Record& record, const PatternSummary& pattern, const Change& change);

// Permanent-magnet machines: what must not move, and how far the axis of lead U moves with another pattern or between
// star and delta, with the slot where the first coil of U starts to keep it. Electrical degrees, positive the way from
// U to V.
std::vector<std::string> AxisNotes(const Record& record, const PatternSummary& pattern, const Redesign& redesign);

// What a change brings with it, in words.
std::vector<std::string> TurnsNotes(const Record& record, const PatternSummary& pattern, const Redesign& redesign,
                                    const Change& change, const TurnsPlan& turns);

// Bare area of all wires of a turn, with the limits of their diameters.
standards::Band StrandArea(const std::vector<RecordedStrand>& strands);

// What an option needs beside its wires.
struct Frame {
  const Record* record;  // as recorded, or as it will be wound
  const PatternSummary* pattern;
  const TurnsPlan* turns;
  const electric::MeanTurn* mean_turn;
  const Settings* settings;
  std::optional<slot::Area> slot_area;
  double bench_celsius;
  std::optional<double> original_fullness_ratio;  // of the wire as recorded
};

// Coils that are wound before the core is closed or slid over a tooth: no opening, no shop level of fullness.
bool WoundOutsideTheSlot(const Record& record);

// What a new winding is accepted by at its terminals: the band of the coils reaches up by the connections (`lead_share`
// of the wire) and by leads of at most 30 milliohms or a tenth of the coils, whichever is less (common practice, no
// source). A limit, so narrower than what predict.h expects of an original whose leads nobody knows.
standards::Band AtTheTerminals(const standards::Band& coil_ohms, double lead_share);

// Room of the slot, or nothing where it was not measured.
absl::StatusOr<std::optional<slot::Area>> SlotAreaOf(const Record& record);

// The original with its own wire: what every later step measures itself against.
struct Original {
  PatternSummary pattern;
  electric::MeanTurn mean_turn;
  TurnsPlan turns;
  std::optional<slot::Area> slot_area;
  Option as_recorded;
  Loading loading;
  std::optional<MachineConstants> constants;
};
absl::StatusOr<Original> DescribeOriginal(const Record& record, const Settings& settings);

// CheckRecord for an original already described.
RecordCheck CheckOriginal(const Record& record, const Original& original, const Settings& settings,
                          std::optional<Moment> moment = std::nullopt);

// Points into its arguments.
Frame FrameOf(const Record& record, const Original& original, const Settings& settings);

// One turn, at the nominal diameters of its wires.
std::vector<slot::Bundle> BundleOf(const std::vector<RecordedStrand>& strands);

absl::StatusOr<Option> DescribeOption(const Frame& frame, const std::vector<RecordedStrand>& strands,
                                      double target_area_mm2);
electric::WindingCopper CopperOf(const Frame& frame, const std::vector<RecordedStrand>& strands);

// The best wires for the planned turns.
struct Alternatives {
  std::vector<Option> options;
  std::vector<std::string> left_out;
};
absl::StatusOr<Alternatives> ChooseWires(const Frame& frame, const WireChoice& choice, double target_area_mm2);

// Flux, densities and current density for given turns and conductor.
absl::StatusOr<Loading> LoadingOf(const Record& record, const TurnsPlan& original, const TurnsPlan& turns,
                                  std::optional<double> current_density_a_per_mm2);

// Constants as recorded, and moved to other turns, circuits and connection. Nothing without a voltage or torque
// constant.
std::optional<MachineConstants> ConstantsOf(const Record& record, const TurnsPlan& original, const TurnsPlan& turns,
                                            const standards::Band& line_to_line_ohms_20c);

std::vector<Finding> Glance(const Frame& frame, const Original& original, double unbalance_percent);

// INVALID_ARGUMENT for a changed power far beyond what the iron of the frame can carry, with what it can.
absl::Status RefusePower(const Record& record, const Original& original, const Redesign& redesign, const Change& change,
                         const Settings& settings);

// The planned winding against the shop's levels, or the ranges met in practice.
// `wound` is the way that is wound, null where no wire makes it.
std::vector<Finding> GlancePlanned(const Frame& frame, const RewindPlan& plan, const Option* wound,
                                   const Change& change);

// Turns times winding factor as the line sees them, new over old: voltage and torque constant go with it, resistance
// and inductance at equal slot copper with its square.
double LineTurnsRatio(const TurnsPlan& original, const TurnsPlan& turns);

// What was assumed, what the answer is accepted by, and what to do first so that nobody is hurt.
std::vector<std::string> Notes(const Record& record, const Settings& settings, double bench_celsius,
                               const RewindPlan& plan);
std::vector<std::string> Cautions(const Record& record, const std::vector<Finding>& findings,
                                  const std::vector<Finding>& findings_planned);

std::vector<Material> Materials(const Record& record, double rated_volts);

absl::StatusOr<std::vector<testing::Programme>> Programmes(const Record& record, const TurnsPlan& original,
                                                           const TurnsPlan& turns, const TestChoice& tests,
                                                           const std::optional<standards::Band>& accepted_ohms_20c,
                                                           const std::optional<MachineConstants>& constants);

}  // namespace coilwright::plan
