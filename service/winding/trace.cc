
#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "standards/units.h"
#include "winding/connection.h"

namespace coilwright::winding {
namespace {

constexpr int kNowhere = -1;

// For every coil end the joint that holds it.
class Ties {
 public:
  Ties(const Layout& layout, const std::vector<Joint>& joints)
      : layout_(layout), joint_of_(2 * layout.coils.size(), kNowhere) {
    for (size_t j = 0; j < joints.size() && status_.ok(); ++j) {
      for (const CoilEnd& end : joints[j].ends) Tie(end, static_cast<int>(j));
    }
    for (size_t e = 0; e < joint_of_.size() && status_.ok(); ++e) {
      if (joint_of_[e] == kNowhere) status_ = Fault({static_cast<int>(e / 2), e % 2 != 0}, "is loose");
    }
  }

  const absl::Status& status() const { return status_; }
  int JointOf(const CoilEnd& end) const { return joint_of_[Place(end)]; }

  absl::Status Fault(const CoilEnd& end, absl::string_view what) const {
    const Coil& coil = layout_.coils[static_cast<size_t>(end.coil)];
    return absl::FailedPreconditionError(absl::StrCat("the ", end.finish ? "finish" : "start", " of coil ",
                                                      coil.go_slot, "-", coil.return_slot, " ", what));
  }

 private:
  static size_t Place(const CoilEnd& end) { return 2 * static_cast<size_t>(end.coil) + (end.finish ? 1 : 0); }

  void Tie(const CoilEnd& end, int joint) {
    if (end.coil < 0 || static_cast<size_t>(end.coil) >= layout_.coils.size()) {
      status_ = absl::FailedPreconditionError("a joint names a coil that the layout does not have");
    } else if (joint_of_[Place(end)] != kNowhere) {
      status_ = Fault(end, "is tied twice");
    } else {
      joint_of_[Place(end)] = joint;
    }
  }

  const Layout& layout_;
  std::vector<int> joint_of_;
  absl::Status status_;
};

bool IsTerminal(const Joint& joint) {
  return joint.kind == JointKind::kLead || joint.kind == JointKind::kStarPoint || joint.kind == JointKind::kEndLead;
}

}  // namespace

absl::StatusOr<std::vector<TracedCircuit>> TraceJoints(const Layout& layout, const std::vector<Joint>& joints) {
  const Ties ties(layout, joints);
  if (!ties.status().ok()) return ties.status();
  std::vector<bool> passed(layout.coils.size());
  std::vector<TracedCircuit> circuits;
  const double slot_angle = standards::kPi * layout.poles / layout.slots;
  for (const Joint& from : joints) {
    if (from.kind != JointKind::kLead) continue;
    for (CoilEnd entry : from.ends) {
      TracedCircuit circuit = {from.lead, {}, 0};
      const Joint* to = nullptr;
      // In delta the ends of the phase before lie on this lead too: they are followed from their own.
      std::vector<size_t> met;
      while (to == nullptr) {
        const size_t index = static_cast<size_t>(entry.coil);
        met.push_back(index);
        if (met.size() > layout.coils.size()) return ties.Fault(entry, "is passed again and again");
        Coil coil = layout.coils[index];
        coil.sign = entry.finish ? -1 : 1;
        circuit.coils.push_back(coil);
        circuit.emf_ratio += static_cast<double>(coil.sign) * (std::polar(1.0, slot_angle * (coil.go_slot - 1)) -
                                                               std::polar(1.0, slot_angle * (coil.return_slot - 1)));
        const CoilEnd exit = {entry.coil, !entry.finish};
        const Joint& joint = joints[static_cast<size_t>(ties.JointOf(exit))];
        if (IsTerminal(joint)) {
          to = &joint;
          continue;
        }
        if (joint.ends.size() != 2) return ties.Fault(exit, "meets other than one more end at a jumper");
        const bool first = joint.ends[0].coil == exit.coil && joint.ends[0].finish == exit.finish;
        entry = joint.ends[first ? 1 : 0];
      }
      if (to->kind == JointKind::kEndLead && to->lead != from.lead) {
        return ties.Fault(entry, "leads to the second lead of another phase");
      }
      if (to->kind == JointKind::kLead && to->lead == from.lead) return ties.Fault(entry, "leads back to its own lead");
      if (to->kind == JointKind::kLead && to->lead != (from.lead + 1) % 3) continue;
      for (const size_t index : met) {
        if (passed[index]) return ties.Fault({static_cast<int>(index), false}, "is in two circuits");
        passed[index] = true;
      }
      circuit.emf_ratio /= 2.0 * static_cast<double>(circuit.coils.size());
      circuits.push_back(std::move(circuit));
    }
  }
  for (size_t i = 0; i < passed.size(); ++i) {
    if (!passed[i]) return ties.Fault({static_cast<int>(i), false}, "is in no circuit");
  }
  return circuits;
}

bool EqualCircuits(const std::vector<TracedCircuit>& circuits) {
  if (circuits.empty()) return false;
  const TracedCircuit& first = circuits.front();
  for (const int way : {1, -1}) {
    std::array<size_t, 3> found{};
    bool equal = true;
    for (const TracedCircuit& circuit : circuits) {
      ++found[static_cast<size_t>(circuit.phase)];
      const std::complex<double> turn = std::polar(1.0, way * (circuit.phase - first.phase) * 2 * standards::kPi / 3);
      equal = equal && circuit.coils.size() == first.coils.size() &&
              std::abs(circuit.emf_ratio - first.emf_ratio * turn) < kSameEmf;
    }
    if (equal && found[0] == found[1] && found[1] == found[2]) return true;
  }
  return false;
}

}  // namespace coilwright::winding
