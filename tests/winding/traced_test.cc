// Coils traced one by one in the direction of their current, against the patterns they were traced from.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "absl/strings/str_format.h"
#include "winding/connection.h"
#include "winding/field.h"
#include "winding/short_names.h"

namespace coilwright::winding {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

// As a person writes it down: no sign, the slot first in which the current goes away, in any order.
Layout Traced(const Layout& laid) {
  std::vector<Coil> coils;
  for (const Coil& coil : laid.coils) {
    const bool forward = coil.sign > 0;
    coils.push_back(
        {coil.phase, forward ? coil.go_slot : coil.return_slot, forward ? coil.return_slot : coil.go_slot, 1});
  }
  std::reverse(coils.begin(), coils.end());
  absl::StatusOr<Layout> traced = winding::Traced(laid.slots, laid.poles, laid.connection_end, std::move(coils));
  EXPECT_TRUE(traced.ok()) << traced.status();
  return *std::move(traced);
}

bool SameCoils(const Layout& a, const Layout& b) {
  return std::equal(a.coils.begin(), a.coils.end(), b.coils.begin(), b.coils.end(), [](const Coil& x, const Coil& y) {
    return x.phase == y.phase && x.go_slot == y.go_slot && x.return_slot == y.return_slot && x.sign == y.sign;
  });
}

// A trace of a pattern gives back its coils, senses, groups and circuits: those that the star of slots permits.
TEST(TracedCoils, OfEveryPatternAreThatPattern) {
  int traced = 0;
  for (int slots = 3; slots <= 48; slots += 3) {
    for (int poles = 2; poles <= 2 * slots && poles <= 40; poles += 2) {
      for (const Layers layers : {kOne, kTwo}) {
        for (const CoilForm form : {CoilForm::kLap, CoilForm::kConcentric, CoilForm::kChain, CoilForm::kToothCoil}) {
          for (int pitch = 1; pitch <= slots / poles + 1 && 2 * pitch < slots; ++pitch) {
            const Placement placement = {{slots, poles, pitch, layers, form}, 1 + poles % slots};
            const absl::StatusOr<Symmetry> symmetry = CheckSymmetry(placement.pattern);
            if (!symmetry.ok() || !symmetry->balanced) continue;
            const Layout laid = *LaidOut(placement);
            // Concentric coils of a two-pole group may span more than half the bore: the trace turns those round.
            const bool short_ways = std::all_of(laid.coils.begin(), laid.coils.end(), [&](const Coil& coil) {
              return 2 * ((coil.return_slot - coil.go_slot + slots) % slots) < slots;
            });
            if (!short_ways) continue;
            SCOPED_TRACE(testing::Message() << slots << "/" << poles << " pitch " << pitch << " layers "
                                            << static_cast<int>(layers) + 1 << " form " << static_cast<int>(form));
            const Layout turned = TurnedShortWay(Traced(laid));
            ASSERT_TRUE(SameCoils(turned, laid));
            const Symmetry found = CheckTraced(turned);
            ASSERT_TRUE(found.balanced) << found.reason;
            ASSERT_EQ(found.permitted_circuits, symmetry->permitted_circuits);
            ASSERT_EQ(found.greatest_circuits, symmetry->greatest_circuits);
            ASSERT_EQ(found.cogging_periods_per_rev, symmetry->cogging_periods_per_rev);
            ++traced;
          }
        }
      }
    }
  }
  EXPECT_GT(traced, 1000);
}

// Two poles, full pitch: half of the coils run over the half turn from the slots in which the others come back.
TEST(TracedCoils, OverHalfTheBoreStartInEverySlotOnce) {
  const Placement placement = {{24, 2, 12}};
  const Layout turned = TurnedShortWay(Traced(*LaidOut(placement)));
  std::vector<int> starts;
  for (const Coil& coil : turned.coils) starts.push_back(coil.go_slot);
  for (int slot = 1; slot <= 24; ++slot) EXPECT_EQ(starts[static_cast<size_t>(slot - 1)], slot);
  EXPECT_THAT(CheckTraced(turned).permitted_circuits, ElementsAre(1, 2));
  EXPECT_EQ(Groups(turned).size(), 6u);
}

// T. Singh, Electrical Machines II, Ex 1.2 p28, as in print: six coils go into the slots of phase A away from the
// connection end, and the factor is the printed 0.933.
TEST(TracedCoils, OfThePrintedExampleConnectAsPrinted) {
  const std::string letters = "AAccBBaaCCbbAAccBBaaCCbb";
  std::vector<Coil> coils;
  for (int slot = 1; slot <= 24; ++slot) {
    const char letter = letters[static_cast<size_t>(slot - 1)];
    const int other = (slot + 4) % 24 + 1;
    const bool forward = letter < 'a';
    coils.push_back({(letter | 0x20) - 'a', forward ? slot : other, forward ? other : slot, 1});
  }
  const Layout layout = TurnedShortWay(*winding::Traced(24, 4, MachineEnd::kNonDrive, coils));
  EXPECT_THAT(CheckTraced(layout).permitted_circuits, ElementsAre(1, 2, 4));
  for (const PhaseEnds ends : {PhaseEnds::kStar, PhaseEnds::kDelta, PhaseEnds::kOpen}) {
    const absl::StatusOr<ConnectionList> list = ConnectTraced(layout, ends, 2);
    ASSERT_TRUE(list.ok()) << list.status();
    const auto circuits = TraceJoints(layout, list->joints);
    ASSERT_TRUE(circuits.ok()) << circuits.status();
    EXPECT_TRUE(EqualCircuits(*circuits));
    EXPECT_NEAR(std::abs(circuits->front().emf_ratio), 0.933, 5e-4);
  }
  EXPECT_FALSE(ConnectTraced(layout, PhaseEnds::kStar, 3).ok());
}

TEST(TracedCoils, ThatDoNotBalanceAreToldPhaseByPhase) {
  Layout wrong = *LaidOut({{24, 4, 5}});
  wrong.coils[4].sign = -wrong.coils[4].sign;  // 5-10, the first of V
  const Symmetry symmetry = CheckTraced(wrong);
  EXPECT_FALSE(symmetry.balanced);
  EXPECT_THAT(symmetry.permitted_circuits, IsEmpty());
  EXPECT_EQ(symmetry.greatest_circuits, 0);
  EXPECT_THAT(symmetry.reason, HasSubstr("U has 8 coils, factor 0.9330"));
  // Six of eight coils' worth, one moved by its phasor: by hand |0.933 x 8 - 2 x 0.9659 at 15 degrees| / 8.
  const double along = 0.9330127 * 8 - 2 * 0.9659258 * std::cos(15 * std::acos(-1.0) / 180);
  const double across = 2 * 0.9659258 * std::sin(15 * std::acos(-1.0) / 180);
  EXPECT_THAT(symmetry.reason, HasSubstr(absl::StrFormat("V has 8 coils, factor %.4f", std::hypot(along, across) / 8)));
  EXPECT_FALSE(ConnectTraced(wrong, PhaseEnds::kStar, 1).ok());
  // A phase with a coil too few.
  wrong = *LaidOut({{24, 4, 5}});
  wrong.coils.erase(wrong.coils.begin());
  EXPECT_THAT(CheckTraced(wrong).reason, HasSubstr("U has 7 coils"));
}

}  // namespace
}  // namespace coilwright::winding
