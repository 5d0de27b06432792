#include "winding/connection.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "standards/errors.h"
#include "winding/short_names.h"

namespace coilwright::winding {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

ConnectionList Connected(const Placement& placement, PhaseEnds ends, int circuits) {
  const absl::StatusOr<ConnectionList> list = Connect(placement, *LaidOut(placement), ends, circuits);
  EXPECT_TRUE(list.ok()) << list.status();
  return list.value_or(ConnectionList{});
}

// From the joints alone: every coil once, as many circuits as asked for, alike in coils and emf, the emf of a phase
// that of the winding factor, the phases 120 degrees apart.
void ExpectSound(const Placement& placement, PhaseEnds ends, int circuits) {
  const Layout layout = *LaidOut(placement);
  const absl::StatusOr<ConnectionList> list = Connect(placement, layout, ends, circuits);
  ASSERT_TRUE(list.ok()) << list.status();
  const auto traced = TraceJoints(layout, list->joints);
  ASSERT_TRUE(traced.ok()) << traced.status();
  ASSERT_EQ(traced->size(), static_cast<size_t>(3 * circuits));
  const double factor = *WindingFactor(placement.pattern);
  const double turn = placement.phase_order == PhaseOrder::kWithSlots ? 2.0 / 3 : -2.0 / 3;
  const std::complex<double> first = traced->front().emf_ratio;
  ASSERT_NEAR(std::abs(first), factor, 1e-9);
  std::array<int, 3> found{};
  for (const TracedCircuit& circuit : *traced) {
    ++found[static_cast<size_t>(circuit.phase)];
    ASSERT_EQ(circuit.coils.size() * traced->size(), layout.coils.size());
    for (const Coil& coil : circuit.coils) ASSERT_EQ(coil.phase, circuit.phase);  // delta goes U to V, V to W, W to U
    const std::complex<double> expected = first * std::polar(1.0, circuit.phase * turn * std::acos(-1.0));
    ASSERT_NEAR(std::abs(circuit.emf_ratio - expected), 0, 1e-9) << "phase " << circuit.phase;
  }
  ASSERT_EQ(found, (std::array<int, 3>{circuits, circuits, circuits}));
  ASSERT_TRUE(EqualCircuits(*traced));
  // Two ends at every jumper; a star ties one end of every circuit, a delta lead those of two phases, each of six leads
  // those of one side of one phase.
  std::map<JointKind, int> joints;
  for (const Joint& joint : list->joints) {
    ++joints[joint.kind];
    const bool delta = ends == PhaseEnds::kDelta;
    const size_t tied = joint.kind == JointKind::kLead        ? static_cast<size_t>(delta ? 2 * circuits : circuits)
                        : joint.kind == JointKind::kEndLead   ? static_cast<size_t>(circuits)
                        : joint.kind == JointKind::kStarPoint ? static_cast<size_t>(3 * circuits)
                                                              : 2u;
    ASSERT_EQ(joint.ends.size(), tied);
  }
  ASSERT_EQ(joints[JointKind::kLead], 3);
  ASSERT_EQ(joints[JointKind::kStarPoint], ends == PhaseEnds::kStar ? 1 : 0);
  ASSERT_EQ(joints[JointKind::kEndLead], ends == PhaseEnds::kOpen ? 3 : 0);
}

TEST(Connection, IsSoundForEveryLayoutUpTo72Slots) {
  int connected = 0;
  for (int slots = 3; slots <= 72; slots += 3) {
    for (int poles = 2; poles <= 2 * slots && poles <= 120; poles += 2) {
      for (const Layers layers : {kOne, kTwo}) {
        for (const CoilForm form : {CoilForm::kLap, CoilForm::kConcentric, CoilForm::kChain, CoilForm::kToothCoil}) {
          for (int pitch = 1; pitch <= slots / poles + 2 && pitch < slots; ++pitch) {
            const Placement placement = {{slots, poles, pitch, layers, form},
                                         1 + poles % slots,
                                         poles % 4 == 0 ? PhaseOrder::kWithSlots : PhaseOrder::kAgainstSlots};
            const absl::StatusOr<Symmetry> symmetry = CheckSymmetry(placement.pattern);
            if (!symmetry.ok() || !symmetry->balanced) continue;
            for (const int circuits : symmetry->permitted_circuits) {
              SCOPED_TRACE(testing::Message()
                           << slots << "/" << poles << " pitch " << pitch << " layers " << static_cast<int>(layers) + 1
                           << " form " << static_cast<int>(form) << " circuits " << circuits);
              ExpectSound(placement, static_cast<PhaseEnds>(connected % 3), circuits);
              if (HasFatalFailure()) return;
              ++connected;
            }
          }
        }
      }
    }
  }
  EXPECT_GT(connected, 5000);
  ExpectSound({{720, 120, 2}, 1, PhaseOrder::kWithSlots}, PhaseEnds::kDelta, 120);
}

std::vector<int> GroupNumbers(const ConnectionList& list, int phase, int circuit) {
  std::vector<int> numbers;
  for (const CircuitPath& path : list.paths) {
    if (path.phase != phase || path.circuit != circuit) continue;
    for (const GroupPass& pass : path.passes) numbers.push_back(pass.reversed ? -(pass.group + 1) : pass.group + 1);
  }
  return numbers;
}

// NAVEDTRA 14344, chapter 7, figures 7-60 to 7-63: four poles, twelve groups; phase A is groups 1, 4, 7, 10 in series
// with alternate polarity, or 1 and 4 beside 7 and 10. The other phases begin two groups on.
TEST(Connection, OfFourPolesIsTheOneInPrint) {
  const Placement placement = {{36, 4, 8}};
  const ConnectionList series = Connected(placement, PhaseEnds::kStar, 1);
  ASSERT_EQ(series.groups.size(), 12u);
  EXPECT_THAT(GroupNumbers(series, 0, 0), ElementsAre(1, -4, 7, -10));
  EXPECT_THAT(GroupNumbers(series, 1, 0), ElementsAre(3, -6, 9, -12));
  EXPECT_THAT(GroupNumbers(series, 2, 0), ElementsAre(-2, 5, -8, 11));
  const ConnectionList parallel = Connected(placement, PhaseEnds::kStar, 2);
  EXPECT_THAT(GroupNumbers(parallel, 0, 0), ElementsAre(1, -4));
  EXPECT_THAT(GroupNumbers(parallel, 0, 1), ElementsAre(7, -10));
}

// Four leads of text for a torch: 24 slots, 4 poles, throw 1-6 in two layers, by hand. Group 1 is coils 1-6 and 2-7;
// its end, the finish of 2-7, goes to the end of group 4, the finish of 8-13.
TEST(Connection, TiesTheEndsFoundByHand) {
  const Placement placement = {{24, 4, 5}};
  const Layout layout = *LaidOut(placement);
  const ConnectionList list = Connected(placement, PhaseEnds::kStar, 1);
  const auto name = [&](const CoilEnd& end) {
    const Coil& coil = layout.coils[static_cast<size_t>(end.coil)];
    return absl::StrCat(end.finish ? "finish " : "start ", coil.go_slot, "-", coil.return_slot);
  };
  std::vector<std::string> joints;
  for (const Joint& joint : list.joints) {
    std::string text;
    for (const CoilEnd& end : joint.ends) absl::StrAppend(&text, text.empty() ? "" : ", ", name(end));
    joints.push_back(text);
  }
  EXPECT_EQ(joints[0], "start 1-6");                             // lead U
  EXPECT_EQ(joints[1], "start 5-10");                            // lead V
  EXPECT_EQ(joints[2], "finish 4-9");                            // lead W enters group 2 reversed
  EXPECT_EQ(joints[3], "start 19-24, start 23-4, finish 22-3");  // star
  EXPECT_EQ(joints[4], "finish 1-6, start 2-7");
  EXPECT_EQ(joints[5], "finish 2-7, finish 8-13");
}

// The same with six leads: U1, V1, W1 as in star, and each of the three ends of the star on a lead of its own, as the
// terminals of IEC 60034-8 want it (from memory).
TEST(Connection, OfSixLeadsBringsOutWhatTheStarTies) {
  const Placement placement = {{24, 4, 5}};
  const ConnectionList star = Connected(placement, PhaseEnds::kStar, 2),
                       open = Connected(placement, PhaseEnds::kOpen, 2);
  const auto same = [](const CoilEnd& a, const CoilEnd& b) { return a.coil == b.coil && a.finish == b.finish; };
  const auto equal = [&](const std::vector<CoilEnd>& a, const std::vector<CoilEnd>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), same);
  };
  std::vector<CoilEnd> brought_out;
  for (size_t lead = 0; lead < 3; ++lead) {
    EXPECT_TRUE(equal(open.joints[lead].ends, star.joints[lead].ends));
    EXPECT_EQ(open.joints[3 + lead].kind, JointKind::kEndLead);
    EXPECT_EQ(open.joints[3 + lead].lead, static_cast<int>(lead));
    brought_out.insert(brought_out.end(), open.joints[3 + lead].ends.begin(), open.joints[3 + lead].ends.end());
  }
  EXPECT_TRUE(equal(brought_out, star.joints[3].ends));
  EXPECT_EQ(open.joints.size(), star.joints.size() + 2);
}

TEST(Connection, RefusesCircuitsThatAreNotEqual) {
  const Placement placement = {{27, 6, 4}};
  for (const int circuits : {0, -1, 2, 4, 6}) {
    const auto errors =
        standards::FieldErrorsOf(Connect(placement, *LaidOut(placement), PhaseEnds::kStar, circuits).status());
    ASSERT_EQ(errors.size(), 1u);
    EXPECT_EQ(errors[0].field, "circuits");
    EXPECT_THAT(errors[0].accepted, HasSubstr("1, 3"));
  }
  EXPECT_FALSE(LaidOut({{42, 6, 7}}).ok());  // q = 7/3 is used as an example in print; no three phases balance in it
}

// Faults put into a sound list by hand are found in the joints.
TEST(Trace, FindsLooseEndsShortsAndCoilsLeftOut) {
  const Placement placement = {{12, 10, 1, kTwo, CoilForm::kToothCoil}};
  const Layout layout = *LaidOut(placement);
  const ConnectionList sound = Connected(placement, PhaseEnds::kDelta, 2);
  const auto fault = [&](auto spoil) {
    std::vector<Joint> joints = sound.joints;
    spoil(joints);
    return std::string(TraceJoints(layout, joints).status().message());
  };
  EXPECT_EQ(fault([](auto&) {}), "");
  EXPECT_THAT(fault([](auto& joints) { joints.back().ends.pop_back(); }), HasSubstr("is loose"));
  EXPECT_THAT(fault([](auto& joints) { joints[0].ends.push_back(joints[1].ends[0]); }), HasSubstr("is tied twice"));
  EXPECT_THAT(fault([](auto& joints) { joints[0].ends[0].coil = 99; }), HasSubstr("does not have"));
  EXPECT_THAT(fault([](auto& joints) {
                joints[3].ends.insert(joints[3].ends.end(), joints[4].ends.begin(), joints[4].ends.end());
                joints[4].ends.clear();
              }),
              HasSubstr("other than one more end"));
  ConnectionList six = Connected(placement, PhaseEnds::kOpen, 1);
  std::swap(six.joints[3].ends, six.joints[4].ends);
  EXPECT_THAT(std::string(TraceJoints(layout, six.joints).status().message()),
              HasSubstr("second lead of another phase"));
  // A coil turned round does not leave an end loose: the emf shows it.
  std::vector<Joint> turned = sound.joints;
  for (Joint& joint : turned) {
    for (CoilEnd& end : joint.ends) {
      if (end.coil == 0) end.finish = !end.finish;
    }
  }
  const auto traced = TraceJoints(layout, turned);
  ASSERT_TRUE(traced.ok());
  EXPECT_LT(std::abs(traced->front().emf_ratio), 0.5);
  EXPECT_FALSE(EqualCircuits(*traced));
  EXPECT_FALSE(EqualCircuits({}));
}

}  // namespace
}  // namespace coilwright::winding
