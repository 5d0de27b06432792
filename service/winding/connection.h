#pragma once

#include <complex>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "winding/field.h"
#include "winding/layout.h"

namespace coilwright::winding {

// What becomes of the ends of the phases: joined inside, or all six brought out.
enum class PhaseEnds { kStar, kDelta, kOpen };

// Beyond this share of one another, EMFs in parallel differ.
inline constexpr double kSameEmf = 1e-9;

// The start of a coil is the end in its go slot, the finish that in its return slot, whatever its sense.
struct CoilEnd {
  int coil;  // index into Layout::coils
  bool finish;
};

enum class JointKind {
  kWithinGroup,    // finish of a coil to start of the next: wound in one length, or a jumper
  kBetweenGroups,  // a jumper from group to group
  kLead,           // the phase lead and every end on it; in delta two phases meet here
  kStarPoint,
  kEndLead,  // open: the second lead of a phase and every end on it
};

// Ends tied together. Nothing is tied anywhere else.
struct Joint {
  JointKind kind;
  int lead = -1;  // phase of the lead, where kind is kLead or kEndLead
  std::vector<CoilEnd> ends;
};

// One group on the way through a circuit.
struct GroupPass {
  int group;      // index into ConnectionList::groups
  bool reversed;  // entered at the finish of its last coil
};

// One circuit from its lead to the star point, in delta to the lead of the next phase (U to V, V to W, W to U), open to
// the second lead of its phase.
struct CircuitPath {
  int phase;
  int circuit;  // from 0
  std::vector<GroupPass> passes;
};

struct ConnectionList {
  PhaseEnds ends;
  int circuits;  // parallel circuits per phase
  std::vector<Group> groups;
  std::vector<CircuitPath> paths;  // by phase, then circuit
  std::vector<Joint> joints;  // leads U, V, W first, the star point or second leads after them, then along the paths
  std::vector<absl::string_view> rules;
};

// How to connect the layout of `placement`. A circuit takes equal neighbouring runs of the phase's groups, so that it
// lies in one part of the bore; the first circuit begins with the group next to slot 1. In delta the lead of U holds
// the beginnings of U and the ends of W. `layout` is LaidOut(placement). Rule winding.connection_list.
// INVALID_ARGUMENT (field "circuits") unless CheckSymmetry permits the number.
absl::StatusOr<ConnectionList> Connect(const Placement& placement, const Layout& layout, PhaseEnds ends, int circuits);

// The same for a layout traced coil by coil, which permits the numbers of CheckTraced.
absl::StatusOr<ConnectionList> ConnectTraced(const Layout& layout, PhaseEnds ends, int circuits);

// Why the emfs of the phases are not equal and 120 electrical degrees apart, with the coils, factor and axis of each
// and the phase that would make them so if it were reversed; empty where they are. `field` is FieldOf(layout).
std::string WhyUneven(const Layout& layout, const Field& field);

// What CheckSymmetry says of a pattern, of coils that were traced and turned the short way round: balanced where the
// emfs of the phases are equal and 120 electrical degrees apart, either way round. Permitted are the circuits that
// neighbouring whole groups make equal in emf and in the spans of their coils; the reason names factors and angles, and
// no neighbours are sought. Rules winding.star_of_slots and winding.parallel_circuits.
Symmetry CheckTraced(const Layout& layout);

// One way through the joints from a lead, found from the joints alone.
struct TracedCircuit {
  int phase;                // of the lead it leaves; in delta that of the phase between its two leads
  std::vector<Coil> coils;  // in the order met; sign +1 entered at the start
  // Sum of the emfs of its turns over that of the same turns at full pitch in one slot: magnitude is the winding factor
  // of the circuit, angle its electrical position against slot 1.
  std::complex<double> emf_ratio;
};

// Follows the joints as current would. Uses slots of coils and joints only: neither the groups, nor the paths, nor the
// phases and signs of the layout. FAILED_PRECONDITION naming the fault where an end is loose or tied
// twice, a coil is in no circuit or passed twice, a circuit ends at its own lead or at the second lead of another
// phase, or joints join more than they should.
absl::StatusOr<std::vector<TracedCircuit>> TraceJoints(const Layout& layout, const std::vector<Joint>& joints);

// Whether the traced circuits are as many in every phase, alike in coils and emf to 1e-9, and the phases 120 electrical
// degrees apart, either way round.
bool EqualCircuits(const std::vector<TracedCircuit>& circuits);

}  // namespace coilwright::winding
