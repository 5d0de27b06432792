#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "layout_command.h"
#include "page.h"
#include "program.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string Read(absl::string_view text) {
  v1::Layout layout;
  const absl::Status status = ReadLayoutText(text, &layout);
  return status.ok() ? layout.ShortDebugString() : std::string(status.message());
}

TEST(LayoutText, IsAPatternOrTracedCoils) {
  EXPECT_EQ(Read("36/4,pitch=8"), "pattern { slots: 36 poles: 4 coil_pitch_slots: 8 }");
  EXPECT_EQ(Read("24/4,pitch=6,layers=single,form=concentric,first=3,order=against-slots,end=drive"),
            "pattern { slots: 24 poles: 4 coil_pitch_slots: 6 layers: LAYERS_SINGLE coil_form: COIL_FORM_CONCENTRIC "
            "first_slot: 3 phase_order: PHASE_ORDER_AGAINST_SLOTS connection_end: MACHINE_END_DRIVE }");
  EXPECT_EQ(Read("6/2,W2-5"), "pattern { slots: 6 poles: 2 } coils { phase: PHASE_W go_slot: 2 return_slot: 5 }");
  EXPECT_THAT(Read("12/8,form=tooth"), HasSubstr("COIL_FORM_TOOTH_COIL"));
}

TEST(LayoutText, SaysWhatItAcceptsWhereItIsWrong) {
  for (const char* text :
       {"", "36", "36/4/2", "a/4", "36/4,8", "36/4,U1", "36/4,X1-5", "36/4,U1-5-9", "36/4,", "36/4,pitches=8"}) {
    EXPECT_THAT(Read(text), HasSubstr("accepted: SLOTS/POLES")) << text;
  }
  EXPECT_THAT(Read("36/4,pitch=eight"), HasSubstr("pitch: got \"eight\""));
  EXPECT_THAT(Read("36/4,end=middle"), HasSubstr("end: got \"middle\""));
  EXPECT_EQ(Read("36/4,pitch=7,pitch=8"), "layout: pitch: given twice");
  EXPECT_EQ(Read("36/4,connect=star,pitch=7,connect=star"), "layout: connect: given twice");
}

void ExpectFits(const Ran& ran) {
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  for (absl::string_view line : absl::StrSplit(ran.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
}

TEST(Layout, FitsThePageFrom12To720Slots) {
  for (const auto& [slots, poles, pitch] :
       {std::tuple{12, 10, 1}, {24, 4, 5}, {72, 8, 7}, {90, 2, 37}, {108, 12, 8}, {720, 120, 5}, {720, 2, 299}}) {
    ExpectFits(RunProgram({"layout", "--slots", absl::StrCat(slots), "--poles", absl::StrCat(poles), "--pitch",
                           absl::StrCat(pitch), "--connect", "delta"}));
  }
}

TEST(Layout, FitsTheTerminal) {
  for (const int width : {80, 120}) {
    for (const auto& [slots, poles, pitch] : {std::tuple{12, 8, 1}, {36, 4, 8}, {72, 8, 7}, {9, 8, 1}, {108, 12, 8}}) {
      const Ran ran = RunProgram({"layout", absl::StrCat(slots, "/", poles, ",pitch=", pitch), "--circuits", "1",
                                  "--width", absl::StrCat(width)});
      EXPECT_EQ(ran.exit_status, 0) << ran.err;
      int widest = 0;
      for (absl::string_view line : absl::StrSplit(ran.out, '\n')) widest = std::max(widest, Width(line));
      EXPECT_LE(widest, width);
      EXPECT_GT(widest, width - 20);
    }
  }
  EXPECT_THAT(RunProgram({"layout", "36/4,pitch=8", "--width", "10"}).err, HasSubstr("--width: got \"10\""));
}

TEST(Layout, ShowsCoilsAndConnectionsBeforeFactors) {
  const Ran ran = RunProgram({"layout", "--slots", "24", "--poles", "4", "--pitch", "5"});
  ExpectFits(ran);
  const auto at = [&](const char* heading) { return ran.out.find(absl::StrCat("\n", heading)); };
  for (const char* heading : {"Coils", "Connections", "Slots", "Axes", "Winding factors", "Waves"}) {
    ASSERT_NE(at(heading), std::string::npos) << heading;
  }
  EXPECT_LT(at("Coils"), at("Connections"));
  EXPECT_LT(at("Connections"), at("Slots"));
  EXPECT_LT(at("Slots"), at("Winding factors"));
  EXPECT_LT(at("Winding factors"), at("Waves"));
}

TEST(Layout, PlacesToothCoilsSideBySideAndASingleLayerAlone) {
  EXPECT_THAT(RunProgram({"layout", "--slots", "12", "--poles", "10", "--form", "tooth-coil"}).out,
              AllOf(HasSubstr("to the slot before"), HasSubstr("to the slot after"), Not(HasSubstr("bottom"))));
  EXPECT_THAT(RunProgram({"layout", "--slots", "24", "--poles", "4", "--pitch", "5", "--form", "chain"}).out,
              AllOf(HasSubstr("one layer"), HasSubstr("  side"), Not(HasSubstr("bottom"))));
}

TEST(Layout, SaysWhyNothingBalances) {
  const Ran ran = RunProgram({"layout", "--slots", "42", "--poles", "6", "--pitch", "7"});
  ExpectFits(ran);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("No balanced winding"), HasSubstr("2 1/3 slots per pole and phase"),
                             HasSubstr("36 or 45"), HasSubstr("4 or 8"), Not(HasSubstr("Winding factors"))));
}

TEST(Layout, NamesTheFlagThatIsWrong) {
  const Ran ran = RunProgram({"layout", "--slots", "27", "--poles", "6", "--pitch", "4", "--circuits", "2"});
  EXPECT_EQ(ran.exit_status, 2);
  EXPECT_THAT(ran.err, AllOf(HasSubstr("--circuits (parallel_circuits)"), HasSubstr("1, 3")));
}

TEST(Layout, TakesCoilsAsTraced) {
  const Ran traced = RunProgram({"layout", "6/2,U1-4,V3-6,W5-2", "--connect", "open"});
  ExpectFits(traced);
  EXPECT_THAT(traced.out, AllOf(HasSubstr("6 slots, 2 poles, one layer, coils as traced, pitch 3 (throw 1-4)"),
                                HasSubstr("lead U1 > 1 > lead U2"), HasSubstr("in delta U1 meets W2")));
  const Ran two_layers = RunProgram({"layout", "6/2,U1-4,W5-2,V3-6,U1-4,W5-2,V3-6"});
  ExpectFits(two_layers);
  EXPECT_THAT(two_layers.out, AllOf(HasSubstr("one side"), HasSubstr("other side"), Not(HasSubstr("bottom"))));
  const Ran wrong = RunProgram({"layout", "6/2,U1-4,V3-6,W2-5"});
  EXPECT_EQ(wrong.exit_status, 0);
  EXPECT_THAT(wrong.out, AllOf(HasSubstr("No balanced winding"), HasSubstr("axis at"), Not(HasSubstr("poles that"))));
  EXPECT_EQ(RunProgram({"layout", "24/4,pitch=5"}).out,
            RunProgram({"layout", "--slots", "24", "--poles", "4", "--pitch", "5"}).out);
}

TEST(Compare, NamesTheLayoutThatIsWrong) {
  EXPECT_THAT(RunProgram({"layout", "compare", "24/4,pitch=5", "24/4,pitch=99"}).err,
              HasSubstr("24/4,pitch=99 (second.pattern.coil_pitch_slots): got 99"));
}

TEST(Compare, TellsTheDrive) {
  const Ran turned = RunProgram({"layout", "compare", "24/4,pitch=5", "24/4,pitch=5,first=2"});
  ExpectFits(turned);
  EXPECT_THAT(turned.out, AllOf(HasSubstr("equivalent"), HasSubstr("not a drop-in"), HasSubstr("turned 1 slot"),
                                HasSubstr("U by 30")));
  const Ran traced = RunProgram({"layout", "compare", "3/2,U1-2,V2-3,W3-1", "3/2,pitch=1"});
  EXPECT_THAT(traced.out, AllOf(HasSubstr("drop-in"), Not(HasSubstr("not a drop-in")), HasSubstr("nothing changes")));
  EXPECT_EQ(RunProgram({"layout", "compare", "24/4,pitch=5", "42/6,pitch=7"}).exit_status, 3);
}

TEST(Layout, TakesToothCoilsWhereOnlyTheyFit) {
  const Ran ran = RunProgram({"layout", "--slots", "12", "--poles", "10"});
  ExpectFits(ran);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("tooth coil"), HasSubstr("No pitch was given")));
  for (const char* common : {"9/6", "6/4", "12/8", "18/12", "3/2"}) {
    EXPECT_THAT(RunProgram({"layout", common}).out, HasSubstr("No pitch was given")) << common;
  }
  EXPECT_THAT(RunProgram({"layout", "--slots", "24", "--poles", "4"}).err, HasSubstr("--pitch"));
}

TEST(Layout, ShowsTheAxesOfTheLeadsInDelta) {
  const Ran ran = RunProgram({"layout", "24/4,pitch=5,connect=delta"});
  ExpectFits(ran);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("coils alone"), HasSubstr("120.00"), HasSubstr("30 electrical degrees")));
  EXPECT_THAT(RunProgram({"layout", "compare", "24/4,pitch=5", "24/4,pitch=5,connect=delta"}).out,
              AllOf(HasSubstr("not a drop-in"), HasSubstr("U by 30")));
}

TEST(Layout, NamesEveryWrongFieldAtOnce) {
  EXPECT_THAT(RunProgram({"layout", "--slots", "2", "--poles", "3", "--pitch", "1"}).err,
              AllOf(HasSubstr("--slots"), HasSubstr("--poles")));
  EXPECT_THAT(RunProgram({"layout", "24/4,pitch=5", "--first", "25", "--circuits", "0"}).err,
              AllOf(HasSubstr("--first"), HasSubstr("--circuits")));
  EXPECT_THAT(RunProgram({"layout", "--slots", "99999999999999", "--poles", "4"}).err, HasSubstr("3 to 720"));
  EXPECT_THAT(RunProgram({"layout", "compare", "24/4,pitch=5", "24/x"}).err, HasSubstr("the second layout"));
}

TEST(Layout, RefusesAChainOfEvenPitch) {
  EXPECT_THAT(RunProgram({"layout", "24/4,pitch=6,form=chain"}).out, HasSubstr("form lap"));
}

TEST(Layout, HelpsWithItsOwnPageFirst) {
  const std::string help = RunProgram({"layout", "--help"}).out;
  EXPECT_LT(help.find("coilwright layout: "), help.find("coilwright layout compare: "));
}

}  // namespace
}  // namespace coilwright::cli
