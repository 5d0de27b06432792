#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "plan/record.h"
#include "standards/band.h"

// The check of a record against physics, before the winding is lost, and what can be worked out from what is left.
namespace coilwright::plan {

struct Settings;

// How far the winding has been taken apart, and so what can be measured again.
enum class Moment {
  kIntact,    // resistance, voltage constant, plate; nothing cut
  kCut,       // turns of three or more coils of different groups, wires in hand, bare gauge
  kStripped,  // mass
};

enum class Verdict {
  kSound,        // the record as it stands explains what was measured
  kExplained,    // one slip, or a group that cannot be told apart, explains it better
  kUnexplained,  // nothing on the list explains it
  kUndecided,    // the data cannot decide
};

// One measurement against what the record makes of it.
struct Agreement {
  std::string what;  // "line-to-line resistance", "copper mass", "tooth flux density", ...
  std::string unit;
  double found = 0;          // measured; for a range met in practice, computed from the record
  standards::Band expected;  // nominal, low and high at two standard deviations; a range met in practice
  bool range = false;        // `expected` is a range met in practice, not a prediction
  double sigmas = 0;         // how far they lie apart in standard deviations; above 0 where the record gives too much
  absl::string_view rule;
};

// A field and what it should read instead.
struct Correction {
  std::string slip;      // row of the table of slips: "turns_doubled"
  std::string field;     // path below the record
  std::string what;      // the slip in words
  std::string recorded;  // "72"
  std::string reads;     // "36"
};

// One way to explain what was measured: the record as it stands, one slip or two at once.
struct Explanation {
  std::vector<Correction> corrections;  // empty: the record as it stands
  double probability = 0;               // over everything tried and "something not on the list"
  int group = 0;                        // explanations with the same number cannot be told apart by what was measured
  std::vector<double> sigmas;           // per agreement, in their order, with the corrections made
};

// What to measure or look at next to tell the two likeliest explanations apart.
struct NextMeasurement {
  std::string what;
  std::string how;
  double separation_sigmas = 0;  // between the two, at most 20; 0 where it settles a doubt and tells no two apart
};

struct RecordCheck {
  Moment moment = Moment::kIntact;
  Verdict verdict = Verdict::kUndecided;
  std::string summary;
  std::vector<Agreement> agreements;
  std::vector<Explanation> explanations;    // likeliest first, at most ten
  std::vector<double> group_probabilities;  // of the groups listed, with what is not listed of them
  double sound_probability = 0;
  double unexplained_probability = 0;
  // Slips that would not show in what was measured: a sound verdict says nothing about them.
  std::vector<Correction> unseen;
  // What stops the record whatever the chances, as the record at a glance names it.
  std::vector<std::string> stopped_by;
  std::optional<NextMeasurement> next;
  std::string may_be_destroyed_next;
  std::vector<std::string> still_to_record;  // what this moment asks for and the record lacks
  std::vector<absl::string_view> rules;
};

// Checks a record at a moment; without one, at the latest that its data speak of. Resistance, mass, flux densities,
// current density, electric loading, fullness, plate torque, plate power and mean turn, as far as the record has them,
// each with its standard deviation; resistance and mass share the uncertainty of mean turn and wire area. Tried are the
// record as it stands, every slip of the table `slips.csv` that this record permits, every pair of them, and something
// not on the list. A record without turns or wire is undecided. The inductance is kept for the rewound winding: without
// the air gap nothing predicts it.
//
// Accuracy: docs/record-check.md. Errors: as MakePlan, but counts that make no winding, and a plate speed that
// contradicts poles and frequency, are answered with the slip that would mend them. Takes under a millisecond, a few
// with hundreds of slots.
absl::StatusOr<RecordCheck> CheckRecord(const Record& record, const Settings& settings,
                                        std::optional<Moment> moment = std::nullopt);

// A value worked out from others, to be confirmed.
struct Estimate {
  std::string field;  // "winding.mean_turn", "winding.turns_per_coil", "winding.strands"
  std::string what;   // "mean turn from resistance"
  standards::Band value;
  std::string unit;
  std::string text;
  absl::string_view rule;
};

// From what is left of a winding: the mean turn back from resistance and from mass; missing turns or wire area from
// either and from both together; the conductor section from mass over resistance, which needs no turns; and the turns
// for which the densities of the iron stay within the ranges met in practice, as a range. Bands at two standard
// deviations. Turns, wire and mean turn may be missing; the rest as CheckRecord. Empty where nothing follows.
absl::StatusOr<std::vector<Estimate>> EstimateMissing(const Record& record, const Settings& settings);

}  // namespace coilwright::plan
