// The check of a record and what it holds back, by the program itself.
#include <gmock/gmock.h>

#include <string>

#include "absl/strings/str_replace.h"
#include "coilwright/v1/record_check_service.pb.h"
#include "json.h"
#include "program.h"

namespace coilwright::cli {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::StartsWith;

std::string With(const std::string& text, const std::string& from, const std::string& to) {
  EXPECT_THAT(text, HasSubstr(from));
  return absl::StrReplaceAll(text, {{from, to}});
}

TEST(CheckCommand, CallsTemplatesAndTheDemoSound) {
  for (const std::string& record : {Template("pm"), Template("induction")}) {
    const Ran ran = RunProgram({"check", "-"}, record);
    EXPECT_EQ(ran.exit_status, 0) << ran.err;
    EXPECT_THAT(ran.out, HasSubstr("Record check: sound\n"));
  }
  EXPECT_THAT(RunProgram({"check", COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json"}).out,
              AllOf(HasSubstr("Record check: sound\n"), HasSubstr("keep that group")));
}

TEST(CheckCommand, NamesTheSlipAndWhatToLookAt) {
  const std::string wrong = With(Template("pm"), "\"turns_per_coil\": 36", "\"turns_per_coil\": 72");
  const Ran ran = RunProgram({"check", "-"}, wrong);
  EXPECT_EQ(ran.exit_status, 5) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("does NOT agree; explained"), HasSubstr("36, not 72"),
                             HasSubstr("Measure or look next"), HasSubstr("nothing: settle the record first")));
}

// A plan of a record that fails is told, and told first.
TEST(CheckCommand, PlanHoldsBackARecordThatFails) {
  const std::string wrong = With(Template("pm"), "CONNECTION_STAR", "CONNECTION_DELTA");
  const std::string plan = RunProgram({"plan", "-"}, wrong).out;
  EXPECT_EQ(RunProgram({"plan", "-"}, wrong).exit_status, 5);
  // The sheet is made all the same, and the terminal says what its frame says.
  for (const char* kind : {"rewind", "label"}) {
    const Ran sheet = RunProgram({"sheet", kind, "-", "--out", "-"}, wrong);
    EXPECT_EQ(sheet.exit_status, 5);
    EXPECT_THAT(sheet.err, testing::StartsWith("coilwright: NOT TO BE WOUND YET: "));
    EXPECT_THAT(sheet.out, testing::StartsWith("%PDF-1."));
  }
  EXPECT_EQ(RunProgram({"plan", "-", "--json"}, wrong).exit_status, 5);
  EXPECT_EQ(RunProgram({"alter", "--to-volts", "400", "-"}, wrong).exit_status, 5);
  EXPECT_EQ(RunProgram({"plan", "-"}, Template("pm")).exit_status, 0);
  EXPECT_THAT(plan, StartsWith("NOT TO BE WOUND YET: rewind plan"));
  EXPECT_LT(plan.find("Record check: does NOT agree"), plan.find("The record at a glance"));
  EXPECT_THAT(RunProgram({"alter", "--to-volts", "400", "-"}, wrong).out,
              StartsWith("NOT TO BE WOUND YET: changed winding"));
  EXPECT_THAT(RunProgram({"plan", "-"}, Template("pm")).out, StartsWith("Rewind plan"));
}

// Figures and headings of the plan, the changed winding and the check; what the service says in words stays metric.
TEST(CheckCommand, PrintsShopUnitsThroughout) {
  for (const char* machine : {"pm", "induction"}) {
    const std::string record = Template(machine);
    for (const std::vector<std::string>& words : std::vector<std::vector<std::string>>{
             {"plan", "-"}, {"alter", "-", "--to-volts", "300"}, {"reconnect", "-"}, {"check", "-"}}) {
      std::vector<std::string> shop = words;
      shop.insert(shop.end(), {"--units", "shop"});
      const std::string page = RunProgram(shop, record).out;
      for (const char* metric : {"ohm 20 C", ", 20 C", "A/m ", "Nm"}) EXPECT_THAT(page, Not(HasSubstr(metric))) << page;
      EXPECT_EQ(page.find("ohm 68 F") == std::string::npos, words[0] == "check") << page;
    }
    EXPECT_THAT(RunProgram({"check", "-", "--units", "shop"}, record).out, HasSubstr("A/in"));
  }
  EXPECT_THAT(RunProgram({"plan", "-", "--units", "shop"}, Template("pm")).out,
              AllOf(HasSubstr("motor constant, 68 F"), HasSubstr("lb-in per root W")));
}

TEST(CheckCommand, AsksWhereWindingAndAirDisagree) {
  const std::string warm = With(Template("induction"), "\"winding_temperature\": {\"celsius\": 22}",
                                "\"winding_temperature\": {\"celsius\": 45}");
  const Ran ran = RunProgram({"check", "-"}, warm);
  EXPECT_THAT(ran.out, ::testing::Not(HasSubstr("Record check: sound")));
  EXPECT_THAT(ran.out, HasSubstr("as warm as the air"));
}

TEST(CheckCommand, RefusesEvidenceThatContradictsOrNamesNoField) {
  const auto with = [](const std::string& entry) {
    return With(Template("induction"), "\"note\": \"\"\n}", "\"evidence\": [" + entry + "], \"note\": \"\"\n}");
  };
  const Ran film = RunProgram({"check", "-"}, with(R"({"field": "winding.strands[0].wire", "repeats": [0.67, 0.67]})"));
  EXPECT_EQ(film.exit_status, 2) << film.out;
  EXPECT_EQ(
      RunProgram({"check", "-"}, with(R"({"field": "winding.strands[0].wire", "repeats": [0.60, 0.59]})")).exit_status,
      0);
  const Ran misspelt = RunProgram({"check", "-"}, with(R"({"field": "winding.turns_per_coils", "repeats": [72]})"));
  EXPECT_EQ(misspelt.exit_status, 2);
  EXPECT_THAT(misspelt.err, HasSubstr("winding.turns_per_coil"));
}

TEST(CheckCommand, LeavesTheMassOutBeforeStripping) {
  std::string heavy = With(Template("pm"), "// After stripping: \"mass\": {\"mass\": {\"kg\": 0.86}",
                           ", \"mass\": {\"mass\": {\"kg\": 12}");
  EXPECT_THAT(RunProgram({"check", "-", "--moment", "cut"}, heavy).out, HasSubstr("Record check: sound\n"));
  EXPECT_THAT(RunProgram({"check", "-"}, heavy).out, HasSubstr("unexplained"));
}

TEST(CheckCommand, EstimatesTurnsOfABurntWinding) {
  const std::string burnt = With(Template("pm"), "\"turns_per_coil\": 36,", "");
  const Ran ran = RunProgram({"estimate", "-", "--json"}, burnt);
  ASSERT_EQ(ran.exit_status, 0) << ran.err;
  v1::EstimateMissingResponse answer;
  const auto source = ReadJson("answer", ran.out);
  ASSERT_TRUE(source.ok() && ParseJson(*source, &answer).ok()) << ran.out;
  ASSERT_EQ(answer.estimates_size(), 2);
  for (const v1::Estimate& estimate : answer.estimates()) {
    EXPECT_EQ(estimate.field(), "winding.turns_per_coil");
    EXPECT_LE(estimate.value().low(), 36) << estimate.what();
    EXPECT_GE(estimate.value().high(), 36) << estimate.what();
  }
  EXPECT_THAT(RunProgram({"estimate", "-"}, burnt).out, HasSubstr("confirm it"));
}

// Burnt to the core: how it was wound is taken as the commonest, and said.
TEST(CheckCommand, EstimatesWithoutKnowingHowItWasWound) {
  std::string burnt = Template("induction");
  for (const char* line : {"\"turns_per_coil\": 72,", "\"coil_form\": \"COIL_FORM_LAP\",",
                           "\"layers\": \"LAYERS_DOUBLE\",", "\"coil_pitch_slots\": 5,", "\"parallel_circuits\": 1,"}) {
    burnt = With(burnt, line, "");
  }
  const Ran ran = RunProgram({"estimate", "-", "--width", "200"}, burnt);
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("turns for densities met in practice"),
                             HasSubstr("lap coils, two coil sides in a slot, one circuit, a pitch of 6")));
}

TEST(CheckCommand, TellsWhatIsWrongByItsExitStatus) {
  EXPECT_EQ(RunProgram({"check"}).exit_status, 2);
  EXPECT_EQ(RunProgram({"check", "no such file"}).exit_status, 2);
  EXPECT_EQ(RunProgram({"check", "-", "--moment", "later"}, Template("pm")).exit_status, 2);
  const Ran unbalanced = RunProgram({"check", "-"}, With(Template("induction"), "\"slots\": 24", "\"slots\": 26"));
  EXPECT_EQ(unbalanced.exit_status, 3) << unbalanced.err;
  EXPECT_THAT(unbalanced.out, IsEmpty());
}

// One page, one band: the check and the record at a glance predict the same.
TEST(CheckCommand, AgreesWithTheRecordAtAGlance) {
  const auto band = [](const std::string& out, size_t from) {
    const size_t at = out.find("line-to-line resistance", from);
    EXPECT_NE(at, std::string::npos) << out;
    const std::string line = out.substr(at, out.find('\n', at) - at);
    const size_t to = line.find(" to ");
    return line.substr(to - 5, 14);
  };
  for (const std::string& record : {Template("pm"), Template("induction")}) {
    EXPECT_EQ(band(RunProgram({"check", "-"}, record).out, 0), band(RunProgram({"plan", "-"}, record).out, 0));
  }
}

TEST(CheckCommand, RefusesLeadsThatLeaveNothingAndInductancesTheWrongWayRound) {
  const Ran leads = RunProgram({"check", "-"}, With(Template("pm"), "// \"leads_ohms\": 0.02", "\"leads_ohms\": 1.10"));
  EXPECT_EQ(leads.exit_status, 2);
  EXPECT_THAT(leads.err, AllOf(HasSubstr("leads_ohms"), HasSubstr("1.1 ohms")));
  const Ran inductance = RunProgram({"check", "-"}, With(Template("pm"), "\"resistance\": {",
                                                         "\"inductance\": {\"least_mh\": 7, \"greatest_mh\": 5}, "
                                                         "\"resistance\": {"));
  EXPECT_EQ(inductance.exit_status, 2);
  EXPECT_THAT(inductance.err, AllOf(HasSubstr("greatest_mh"), HasSubstr("least_mh")));
}

}  // namespace
}  // namespace coilwright::cli
