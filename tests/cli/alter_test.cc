// alter and reconnect, from the words typed to the page printed.
#include <gmock/gmock.h>

#include <regex>

#include "absl/strings/str_split.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "json.h"
#include "page.h"
#include "program.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

Ran Fed(const std::string& kind, std::vector<std::string> words) {
  return RunProgram(words, RunProgram({"plan", "--template", kind}).out);
}

void ExpectPage(const Ran& ran) {
  ASSERT_EQ(ran.exit_status, 0) << ran.err;
  for (absl::string_view line : absl::StrSplit(ran.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
}

template <class Answer>
Answer Json(const Ran& ran, int exit_status = 0) {
  EXPECT_EQ(ran.exit_status, exit_status) << ran.err;
  Answer answer;
  const auto source = ReadJson("answer", ran.out);
  EXPECT_TRUE(source.ok() && ParseJson(*source, &answer).ok()) << ran.out;
  return answer;
}

TEST(Alter, ShowsBeforeAndAfterFirst) {
  const Ran ran = Fed("induction", {"alter", "-", "--to-volts", "460", "--to-hertz", "60", "--to-circuits", "2"});
  ExpectPage(ran);
  size_t at = 0;
  for (const char* part : {"Changed winding: ", "Before and after", "volts line to line", "400 V", "460 V",
                           "turns per coil", "Flux and constants", "The new winding at a glance",
                           "What the change brings with it", "Ways to wind it", "Cautions"}) {
    const size_t found = ran.out.find(part, at);
    EXPECT_NE(found, std::string::npos) << part;
    at = found == std::string::npos ? at : found;
  }
  EXPECT_THAT(ran.out, Not(HasSubstr("Tests of")));
  const Ran full = Fed("induction", {"alter", "-", "--to-volts", "460", "--full"});
  ExpectPage(full);
  EXPECT_THAT(full.out, HasSubstr("Turns: CHANGED from the original"));
  EXPECT_THAT(full.out, HasSubstr("Wire to order"));
}

// Every flag lands in its field: the answer repeats it.
TEST(Alter, TakesEveryChange) {
  const auto mixed = Json<v1::PlanRewindResponse>(
      Fed("induction", {"alter", "-", "--json", "--to-poles", "2", "--hold", "back-iron", "--to-pitch", "10",
                        "--to-connection", "delta", "--to-power", "2hp", "--alternate", "--to-layers", "double"}),
      5);  // twice the current in the same slots
  EXPECT_EQ(mixed.pattern_planned().poles(), 2);
  EXPECT_EQ(mixed.pattern_planned().mean_pitch_slots(), 10);
  EXPECT_EQ(mixed.turns().connection(), v1::CONNECTION_DELTA);
  EXPECT_NEAR(mixed.turns().rated_kw(), 2 * 0.7457, 1e-6);
  const auto groups = Json<v1::PlanRewindResponse>(
      Fed("induction", {"alter", "-", "--json", "--to-form", "concentric", "--group", "12:9/4,11/6"}));
  ASSERT_EQ(groups.turns().groups_size(), 1);
  EXPECT_EQ(groups.turns().groups(0).count(), 12);
  EXPECT_EQ(groups.pattern_planned().coil_form(), v1::COIL_FORM_CONCENTRIC);
  const auto servo = Json<v1::PlanRewindResponse>(Fed("pm", {"alter", "-", "--json", "--to-speed", "1500"}));
  EXPECT_EQ(servo.turns().speed_rpm(), 1500);
}

TEST(Alter, RefusalsAreOneLineThatNamesTheFlag) {
  const auto one_line = [](const Ran& ran, int exit_status, const std::string& part) {
    EXPECT_EQ(ran.exit_status, exit_status);
    EXPECT_THAT(ran.out, IsEmpty());
    EXPECT_THAT(ran.err, HasSubstr(part));
    EXPECT_EQ(ran.err.find('\n'), ran.err.size() - 1) << ran.err;
  };
  one_line(Fed("pm", {"alter", "-"}), 2, "nothing is to change");
  one_line(Fed("pm", {"alter", "-", "--to-poles", "8"}), 2, "--to-poles (change.poles): got 8 poles");
  one_line(Fed("induction", {"alter", "-", "--to-poles", "6"}), 2, "--to-pitch");
  one_line(Fed("induction", {"alter", "-", "--to-poles", "6", "--to-pitch", "4"}), 3, "no balanced");
  one_line(Fed("induction", {"alter", "-", "--to-circuits", "3"}), 2, "--to-circuits");
  one_line(Fed("induction", {"alter", "-", "--group", "12:9,11"}), 2, "--group: got \"12:9,11\"");
  one_line(Fed("induction", {"alter", "-", "--group", "12:9/4,11/6"}), 2,
           "--group: the recorded coils are not concentric");
  one_line(Fed("induction", {"alter", "-", "--to-form", "concentric", "--group", "12:9/4,11/99"}), 2,
           "--group (change.groups[0].coils[1].span_slots): got 99");
  one_line(Fed("induction", {"alter", "-", "--to-form", "concentric", "--group", "12:9/4,20000/6"}), 2,
           "--group (change.groups[0].coils[1].turns): got 20000");
  one_line(Fed("induction", {"alter", "-", "--to-connection", "open"}), 2,
           "--to-connection (change.connection): got CONNECTION_OPEN");
  one_line(Fed("induction", {"alter", "-", "--to-volts", "400,5"}), 2,
           "--to-volts: got \"400,5\", accepted: a decimal point");
  one_line(Fed("induction", {"alter", "-", "--to-poles", "10000000000"}), 2,
           "--to-poles: got \"10000000000\", accepted: a whole number from -2147483648 to 2147483647");
  // What stands in the file is named by its line there, not by a flag that nobody typed.
  one_line(RunProgram({"alter", "-"},
                      "{\n\"record\": " + RunProgram({"plan", "--template", "induction"}).out +
                          ",\n\"change\": {\n\"groups\": [{\"count\": 12, \"coils\": [{\"turns\": 9, \"span_slots\": "
                          "4}]}]}}"),
           2, "change.groups: got groups of");
  one_line(RunProgram({"reconnect"}), 2, "missing: a FILE");
  one_line(Fed("pm", {"reconnect", "-", "--hertz", "60"}), 2, "--hertz (frequency_hz)");
}

// Ranges a shop watches come with the request, and move a finding from one level to another.
TEST(Alter, WarnsAgainstTheRangesOfTheShop) {
  const auto level = [](std::vector<std::string> flags, const std::string& what, int exit_status = 0) {
    std::vector<std::string> words = {"alter", "-", "--json", "--to-power", "0.8kW"};
    words.insert(words.end(), flags.begin(), flags.end());
    const auto plan = Json<v1::PlanRewindResponse>(Fed("induction", words), exit_status);
    for (const v1::Finding& finding : plan.findings_planned()) {
      if (finding.what() == what) return finding.level();
    }
    return v1::FINDING_LEVEL_UNSPECIFIED;
  };
  for (const auto& [flag, what] :
       {std::pair{"--watch-gap", "air-gap flux density, peak"}, std::pair{"--watch-teeth", "tooth flux density"},
        std::pair{"--watch-back-iron", "back-iron flux density"}, std::pair{"--watch-density", "current density"},
        std::pair{"--watch-fullness", "slot fullness"}}) {
    EXPECT_EQ(level({"--act-fullness", "0.95", "--watch-fullness", "0.9"}, what), v1::FINDING_LEVEL_OK) << what;
    const bool tight = absl::string_view(what) == "slot fullness";  // a look, no stop
    EXPECT_EQ(level({flag, "0.3"}, what, tight ? 0 : 5), tight ? v1::FINDING_LEVEL_WATCH : v1::FINDING_LEVEL_ACT)
        << what;
  }
}

// No frame gives ten times its power, and no page that says so ends as if all were well.
TEST(Alter, SaysWhatTheFrameGivesWhereMoreIsAsked) {
  const Ran more = Fed("induction", {"alter", "-", "--to-power", "2kW"});
  EXPECT_EQ(more.exit_status, 5);
  EXPECT_THAT(more.out, HasSubstr("NOT TO BE WOUND: changed winding"));
  EXPECT_THAT(more.out, HasSubstr("frame gives about 0.9 kW, where the back-iron"));
  EXPECT_THAT(more.out, HasSubstr("STOP: the winding as changed is not to be wound (tooth flux density"));
  EXPECT_EQ(Fed("induction", {"alter", "-", "--to-power", "0.8kW"}).exit_status, 0);
  const Ran absurd = Fed("induction", {"alter", "-", "--to-power", "7500kW"});
  EXPECT_EQ(absurd.exit_status, 2);
  EXPECT_THAT(absurd.err, HasSubstr("--to-power (change.rated_power): got 7500 kW, accepted: what this frame can give: "
                                    "about 0.9 kW"));
}

TEST(Reconnect, PrintsTheWaysNearestFirst) {
  const Ran ran = Fed("induction", {"reconnect", "-", "--volts", "230"});
  ExpectPage(ran);
  EXPECT_LT(ran.out.find("delta, 1 circuit "), ran.out.find("star, 2 parallel circuits"));
  EXPECT_THAT(ran.out, HasSubstr("star, 1 circuit (recorded)"));
  EXPECT_THAT(ran.out, HasSubstr("-0.4 %"));  // 230 sqrt 3 / 400
  const auto answer = Json<v1::ListReconnectionsResponse>(Fed("pm", {"reconnect", "-", "--json"}));
  EXPECT_EQ(answer.reconnections_size(), 4);
}

TEST(Alter, ServesAnotherDcBus) {
  const std::vector<std::string> to_600 = {"alter", "-", "--to-bus-volts", "600", "--from-bus-volts", "300"};
  const Ran ran = Fed("pm", to_600);
  ExpectPage(ran);
  EXPECT_THAT(ran.out, HasSubstr("For a DC bus of 600 V instead of 300 V"));
  EXPECT_THAT(ran.out, HasSubstr("axis of U must not move"));
  std::vector<std::string> json = to_600;
  json.push_back("--json");
  const auto plan = Json<v1::PlanRewindResponse>(Fed("pm", json));
  EXPECT_NEAR(plan.turns().exact_turns_per_coil(), 2 * plan.turns().original_turns_per_coil(), 1e-9);
  EXPECT_THAT(Fed("induction", {"alter", "-", "--to-bus-volts", "600"}).err, HasSubstr("rated_volts instead"));
  EXPECT_THAT(Fed("pm", {"alter", "-", "--to-bus-volts", "600", "--to-volts", "300"}).err, HasSubstr("one of the two"));
}

TEST(Alter, SaysWhereTheAxisGoes) {
  const Ran star_delta = Fed("pm", {"alter", "-", "--to-connection", "delta"});
  ExpectPage(star_delta);
  EXPECT_THAT(star_delta.out, HasSubstr("moves by 30 electrical"));
  EXPECT_THAT(Fed("pm", {"reconnect", "-"}).out, HasSubstr("30 electrical"));
  EXPECT_THAT(Fed("induction", {"alter", "-", "--to-connection", "delta"}).out, Not(HasSubstr("30 electrical")));
}

TEST(Alter, NamesTheFormThatGroupsNeed) {
  EXPECT_THAT(Fed("induction", {"alter", "-", "--group", "12:8/4,14/6,17/8"}).err, HasSubstr("--to-form concentric"));
}

TEST(Alter, WarnsAboveTheRangeOfTheShopThoughTheOriginalWasThere) {
  const Ran ran = Fed("induction", {"alter", "-", "--to-circuits", "2", "--watch-teeth", "0.3"});
  ExpectPage(ran);
  EXPECT_THAT(ran.out, HasSubstr("as the original is"));
  EXPECT_THAT(ran.out, HasSubstr("look  "));
}

// Half the turns on the record: the volts and ohms of every way to join the coils would be of another motor.
TEST(Reconnect, ShowsTheCheckFirstWhereTheRecordFailsIt) {
  std::string record = RunProgram({"plan", "--template", "induction"}).out;
  EXPECT_THAT(RunProgram({"reconnect", "-"}, record).out, Not(HasSubstr("NOT TO BE")));
  const std::regex turns("\"turns_per_coil\": *([0-9]+)");
  std::smatch found;
  ASSERT_TRUE(std::regex_search(record, found, turns));
  record = std::regex_replace(record, turns, "\"turns_per_coil\": " + std::to_string(2 * std::stoi(found[1])));
  const Ran ran = RunProgram({"reconnect", "-"}, record);
  EXPECT_EQ(ran.exit_status, 5) << ran.err;
  EXPECT_EQ(RunProgram({"reconnect", "-", "--json"}, record).exit_status, 5);
  EXPECT_THAT(ran.out, HasSubstr("NOT TO BE RECONNECTED YET"));
  EXPECT_LT(ran.out.find("Record check"), ran.out.find("A rms"));
}

}  // namespace
}  // namespace coilwright::cli
