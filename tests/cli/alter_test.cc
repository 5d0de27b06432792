// alter and reconnect, from the words typed to the page printed.
#include <gmock/gmock.h>

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
Answer Json(const Ran& ran) {
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
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
                        "--to-connection", "delta", "--to-power", "2hp", "--alternate", "--to-layers", "double"}));
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
  one_line(RunProgram({"reconnect"}), 2, "missing: a FILE");
  one_line(Fed("pm", {"reconnect", "-", "--hertz", "60"}), 2, "--hertz (frequency_hz)");
}

TEST(Reconnect, PrintsTheWaysNearestFirst) {
  const Ran ran = Fed("induction", {"reconnect", "-", "--volts", "230"});
  ExpectPage(ran);
  EXPECT_LT(ran.out.find("delta, 1 circuit "), ran.out.find("star, 2 circuits"));
  EXPECT_THAT(ran.out, HasSubstr("star, 1 circuit (recorded)"));
  EXPECT_THAT(ran.out, HasSubstr("-0.4 %"));  // 230 sqrt 3 / 400
  const auto answer = Json<v1::ListReconnectionsResponse>(Fed("pm", {"reconnect", "-", "--json"}));
  EXPECT_EQ(answer.reconnections_size(), 4);
}

}  // namespace
}  // namespace coilwright::cli
