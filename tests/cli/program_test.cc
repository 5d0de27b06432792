#include "program.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <regex>
#include <set>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "coilwright/v1/megohm_service.pb.h"
#include "coilwright/v1/reading_service.pb.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/rule_service.pb.h"
#include "coilwright/v1/test_limit_service.pb.h"
#include "coilwright/v1/wire_service.pb.h"
#include "json.h"
#include "page.h"
#include "rpc/server.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using testing::AllOf;
using testing::AnyOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

template <class Answer>
Answer Json(std::vector<std::string> words, const std::string& input = "") {
  words.push_back("--json");
  const Ran ran = RunProgram(words, input);
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  Answer answer;
  const auto source = ReadJson("answer", ran.out);
  EXPECT_TRUE(source.ok() && ParseJson(*source, &answer).ok()) << ran.out;
  EXPECT_THAT(answer.data_revision(), Not(IsEmpty()));
  return answer;
}

// A file of this process, gone at the end.
class File {
 public:
  explicit File(const std::string& text) {
    static int count = 0;
    path_ = absl::StrCat(testing::TempDir(), "coilwright_cli_", getpid(), "_", ++count, ".json");
    std::ofstream(path_, std::ios::binary) << text;
  }
  ~File() { std::remove(path_.c_str()); }
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

TEST(Program, HelpsWithEveryCommand) {
  const Ran help = RunProgram({"help"});
  EXPECT_EQ(help.exit_status, 0);
  for (const char* command : {"plan",
                              "alter",
                              "reconnect",
                              "layout",
                              "layout compare",
                              "wire show",
                              "wire list",
                              "wire identify",
                              "wire strands",
                              "limits",
                              "limits stage",
                              "megohm",
                              "rules list",
                              "rules show",
                              "call",
                              "version",
                              "archive find",
                              "archive near",
                              "archive history",
                              "archive save",
                              "archive show",
                              "archive change",
                              "archive compare",
                              "archive set-aside",
                              "archive bring-back",
                              "archive status",
                              "archive export",
                              "archive import",
                              "archive backup",
                              "archive restore",
                              "job open",
                              "job find",
                              "job show",
                              "job change",
                              "job history",
                              "job stage",
                              "job plan",
                              "job readings",
                              "job sign-off",
                              "job trend"}) {
    EXPECT_THAT(help.out, HasSubstr(absl::StrCat("\n  ", command, " ")));
    std::vector<std::string> words = absl::StrSplit(command, ' ');
    words.push_back("--help");
    const Ran page = RunProgram(words);
    EXPECT_EQ(page.exit_status, 0);
    EXPECT_THAT(page.out, HasSubstr(absl::StrCat("usage: coilwright ", command)));
    for (absl::string_view line : absl::StrSplit(page.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
  }
  EXPECT_EQ(RunProgram({}).out, help.out);
  EXPECT_THAT(RunProgram({"version"}).out, HasSubstr("data revision "));
}

TEST(Program, AnswersAWrongWordWithOneLine) {
  ExpectOneLine(RunProgram({"limits", "--volt", "230"}), 2, "unknown flag --volt; did you mean --volts?");
  ExpectOneLine(RunProgram({"limit", "--volts", "230"}), 2, "unknown command limit; did you mean limits?");
  ExpectOneLine(RunProgram({"limits", "--volts", "many"}), 2, "--volts: got \"many\", accepted: a number");
  ExpectOneLine(RunProgram({"limits", "--volts", "230", "--units", "cgs"}), 2,
                "--units: got \"cgs\", accepted: si, shop");
  ExpectOneLine(RunProgram({"limits", "--volts", "230", "--deadline", "0"}), 2, "--deadline: got \"0\"");
  ExpectOneLine(RunProgram({"wire"}), 2, "wire what?");
  ExpectOneLine(RunProgram({"wire", "show", "AWG 18 \xE9"}), 2, "not UTF-8");
  ExpectOneLine(RunProgram({"plan", "/no/such/file.json"}), 2, "cannot be opened");
  ExpectOneLine(RunProgram({"--json"}), 2, "the command comes first");
}

TEST(Program, TellsWhoCanHelpByExitStatus) {
  ExpectOneLine(RunProgram({"limits", "--volts", "-3"}), 2, "--volts (rated_volts): got -3 V");
  ExpectOneLine(RunProgram({"wire", "show", "AWG 99"}), 3, "AWG 99");
  ExpectOneLine(RunProgram({"rules", "show", "no.such_rule"}), 3, "no.such_rule");
  // NEMA MG 1 is written for new machines; it has no row for a reconditioned winding.
  ExpectOneLine(RunProgram({"limits", "--volts", "230", "--family", "nema", "--condition", "reconditioned"}), 3,
                "NEMA MG 1");
  ExpectOneLine(RunProgram({"limits", "--volts", "230", "--server", "127.0.0.1:1"}), 4, "no answer from 127.0.0.1:1");
}

TEST(Program, GivesTheSameAnswerFromAServer) {
  const auto server = rpc::Server::Start(rpc::ServerOptions());
  ASSERT_TRUE(server.ok()) << server.status();
  const std::string address = absl::StrCat("127.0.0.1:", (*server)->port());
  const std::string record = Template("induction");
  const Ran remote = RunProgram({"plan", "-", "--server", address}, record);
  EXPECT_EQ(remote.exit_status, 0) << remote.err;
  EXPECT_EQ(remote.out, RunProgram({"plan", "-"}, record).out);
  ExpectOneLine(RunProgram({"limits", "--volts", "-3", "--server", address}), 2, "--volts (rated_volts): got -3 V");
}

TEST(Program, PlansEveryTemplateAsItStands) {
  for (const char* kind : {"pm", "induction"}) {
    const Ran ran = RunProgram({"plan", "-"}, Template(kind));
    ASSERT_EQ(ran.exit_status, 0) << ran.err;
    // An example with which something is wrong would teach the wrong thing.
    EXPECT_THAT(ran.out, Not(HasSubstr("\n  stop ")));
    EXPECT_THAT(ran.out, Not(HasSubstr("\n  look ")));
    size_t at = 0;
    for (const char* part :
         {"Rewind plan: ", "The record at a glance", "Pattern", "Turns: as the original", "Wire of the original",
          "Ways to wind it", "Resistance to expect", "Wire to order", "Flux and constants", "Materials",
          "Tests, stage by stage", "Stages: intake = as received", "Cautions", "Rules used", "data revision "}) {
      const size_t found = ran.out.find(part, at);
      EXPECT_NE(found, std::string::npos) << part << " in its order";
      at = found == std::string::npos ? at : found;
    }
    for (absl::string_view line : absl::StrSplit(ran.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
  }
}

TEST(Program, PlansARecordAndARequestAlike) {
  const std::string record = Template("induction");
  const File file(absl::StrCat("{\"record\":\n", record, ", \"change\": {\"rated_volts\": 230}}"));
  const auto from_request = Json<v1::PlanRewindResponse>({"plan", file.path()});
  const auto from_flags = Json<v1::PlanRewindResponse>({"plan", "-", "--volts", "230"}, record);
  EXPECT_EQ(from_request.SerializeAsString(), from_flags.SerializeAsString());
  EXPECT_TRUE(from_flags.turns().changed());
  // At the same flux turns go with volts: 72 x 230 / 400 = 41.4.
  EXPECT_NEAR(from_flags.turns().exact_turns_per_coil(), 72.0 * 230 / 400, 1e-9);
  EXPECT_EQ(from_flags.turns().turns_per_coil(), 41);
}

TEST(Program, ChoosesFromTheShelf) {
  const File shelf(Template("shelf"));
  const auto plan = Json<v1::PlanRewindResponse>({"plan", "-", "--stock", shelf.path(), "--best", "3"}, Template("pm"));
  ASSERT_GT(plan.options_size(), 0);
  EXPECT_LE(plan.options_size(), 3);
  for (const auto& option : plan.options()) {
    for (const auto& strand : option.conductor().strands()) {
      EXPECT_THAT(strand.designation(), AnyOf("0.50 mm grade 2", "0.56 mm grade 2", "0.71 mm grade 2",
                                              "0.80 mm grade 2", "AWG 22 heavy", "AWG 20 heavy"));
    }
  }
}

TEST(Program, NamesTheLineOfAWrongValueInTheRecord) {
  std::string record = Template("pm");
  const std::string slots = "\"slots\": 12";
  record.replace(record.find(slots), slots.size(), "\"slots\": -1");
  const auto line =
      std::count(record.begin(), record.begin() + static_cast<std::ptrdiff_t>(record.find("\"slots\"")), '\n') + 1;
  ExpectOneLine(RunProgram({"plan", "-"}, record), 2,
                absl::StrCat("standard input: line ", line, ": machine.core.slots: got -1"));
}

TEST(Program, ShowsWires) {
  // NEMA MW 1000: AWG 18 is 0.0403 in bare.
  EXPECT_THAT(RunProgram({"wire", "show", "AWG", "18", "heavy", "--units", "shop"}).out, HasSubstr("0.0403 in"));
  EXPECT_THAT(RunProgram({"wire", "show", "AWG 18 heavy"}).out, HasSubstr("1.024 mm"));
  EXPECT_EQ(Json<v1::LookUpWireResponse>({"wire", "show", "AWG 18", "--celsius", "75"}).wire().celsius(), 75);
  EXPECT_EQ(Json<v1::LookUpWireResponse>({"wire", "show", "AWG 18", "--film", "single"}).wire().film(),
            v1::FILM_SINGLE);
}

TEST(Program, ListsAWholeSeriesAcrossPages) {
  const auto list = Json<v1::ListWiresResponse>({"wire", "list", "awg", "--film", "heavy"});
  EXPECT_GT(list.wires_size(), 40);
  EXPECT_THAT(list.next_page_token(), IsEmpty());
  for (const auto& wire : list.wires()) EXPECT_EQ(wire.film(), v1::FILM_HEAVY);
}

TEST(Program, IdentifiesAWireInAnyUnit) {
  const auto in_mm = Json<v1::IdentifyWireResponse>({"wire", "identify", "1.02", "1.03", "mm"});
  const auto mixed = Json<v1::IdentifyWireResponse>({"wire", "identify", "1.02mm", "1.03mm"});
  EXPECT_EQ(in_mm.SerializeAsString(), mixed.SerializeAsString());
  EXPECT_NEAR(in_mm.mean_mm(), 1.025, 1e-12);
  EXPECT_NEAR(Json<v1::IdentifyWireResponse>({"wire", "identify", "40.3", "mil"}).mean_mm(), 40.3 * 0.0254, 1e-12);
  ASSERT_GT(in_mm.candidates_size(), 0);
  ExpectOneLine(RunProgram({"wire", "identify", "1.02"}), 2, "a number with its unit");
  ExpectOneLine(RunProgram({"wire", "identify", "0,71"}), 2, "got \"0,71\", accepted: a decimal point");
  ExpectOneLine(RunProgram({"wire", "identify", "0,71", "mm"}), 2, "accepted: a decimal point");
  ExpectOneLine(RunProgram({"wire", "show", "AWG 18 heavy", "--film", "single"}), 2,
                "--film (wire.film): got single beside \"AWG 18 heavy\"");
}

TEST(Program, ReplacesAConductor) {
  // Three gauges halve the area: two AWG 18 for one AWG 15 (definition of the gauge, ASTM B258, to 0.4 %).
  const auto answer =
      Json<v1::ChooseStrandsResponse>({"wire", "strands", "--replace", "1 x AWG 15 heavy", "--have", "AWG 18 heavy"});
  ASSERT_EQ(answer.choices_size(), 1);
  EXPECT_EQ(answer.choices(0).wires_in_hand(), 2);
  EXPECT_THAT(RunProgram({"wire", "strands", "--replace", "1 x AWG 15 heavy", "--have", "AWG 18 heavy"}).out,
              HasSubstr("2 x AWG 18 heavy"));
  ExpectOneLine(RunProgram({"wire", "strands"}), 2, "missing: --replace");
  ExpectOneLine(RunProgram({"wire", "strands", "--area", "2mm2", "--have", "AWG 18 heavy", "--wires", "awg"}), 2,
                "--wires: a shelf already says which wires there are");
  const auto metric = Json<v1::ChooseStrandsResponse>({"wire", "strands", "--area", "3260cmil", "--wires", "metric"});
  ASSERT_GT(metric.choices_size(), 0);
  for (const auto& choice : metric.choices()) {
    for (const auto& strand : choice.strands()) EXPECT_THAT(strand.designation(), HasSubstr(" mm grade 2"));
  }
}

TEST(Program, GivesLimitsAndProgrammes) {
  // IEC 60034-1, table 16 item 2: 2U + 1000 V, at least 1500 V.
  EXPECT_EQ(Json<v1::GetTestLimitsResponse>({"limits", "--volts", "230"}).withstand_ac().test_volts(), 1500);
  EXPECT_EQ(Json<v1::GetTestLimitsResponse>({"limits", "--volts", "400"}).withstand_ac().test_volts(), 1800);
  EXPECT_THAT(RunProgram({"limits", "--volts", "400", "--kw", "0.75"}).out,
              AllOf(HasSubstr("1800 V ac rms"), HasSubstr("Cautions")));
  const File record(Template("pm"));
  const auto programme =
      Json<v1::GetTestProgrammeResponse>({"limits", "stage", "assembled", "--record", record.path()});
  EXPECT_EQ(programme.programme().stage(), v1::STAGE_ASSEMBLED);
  const Ran printed = RunProgram({"limits", "stage", "assembled", "--record", record.path()});
  for (const auto& caution : programme.programme().cautions()) {
    EXPECT_THAT(printed.out, HasSubstr(absl::StrCat("! ", caution.substr(0, 40))));
  }
  for (const auto& step : programme.programme().steps())
    EXPECT_THAT(printed.out, HasSubstr(step.title().substr(0, 60)));
}

TEST(Program, LetsAFlagStandOverTheRecord) {
  const File record(Template("induction"));
  const std::vector<std::string> words = {"limits", "stage", "assembled", "--record", record.path()};
  const auto level = [&](std::vector<std::string> flags) {
    flags.insert(flags.begin(), words.begin(), words.end());
    const auto answer = Json<v1::GetTestProgrammeResponse>(flags);
    for (const auto& step : answer.programme().steps()) {
      if (step.kind() == v1::TEST_KIND_WITHSTAND_AC) return step.test_volts();
    }
    return 0.0;
  };
  // IEC 60034-1, table 16 item 2: 2U + 1000 V, at least 1500 V; the record says 400 V and 0.75 kW.
  EXPECT_EQ(level({}), 1800);
  EXPECT_EQ(level({"--volts", "690", "--hp", "2"}), 2380);
}

// Every kind of reading of the contract stands in the file, and what stands in it is judged: none is not valid.
TEST(Program, JudgesItsTemplateOfReadingsAsItStands) {
  const std::string text = RunProgram({"judge", "--template"}).out;
  EXPECT_EQ(RunProgram({"job", "readings", "--template", "--archive", "/no/such/folder/x.db"}).out, text);
  v1::JudgeReadingsRequest request;
  ASSERT_TRUE(ParseJson(*ReadJson("template", text), &request).ok());
  std::set<int> kinds;
  for (const v1::Reading& reading : request.readings()) kinds.insert(reading.reading_case());
  EXPECT_EQ(static_cast<int>(kinds.size()), v1::Reading::descriptor()->oneof_decl(0)->field_count());
  const auto answer = Json<v1::JudgeReadingsResponse>({"judge", "-"}, text);
  EXPECT_EQ(answer.verdict(), v1::WINDING_VERDICT_SOUND) << answer.summary();
  for (const v1::JudgedTest& test : answer.tests())
    EXPECT_EQ(test.verdict(), v1::TEST_VERDICT_PASS) << test.title() << ": " << test.reason();
}

TEST(Program, JudgesMegohms) {
  // IEEE 43-2013: thermosetting readings at 40 C are taken as they are; 5 megohms is the least for random windings.
  const auto answer = Json<v1::JudgeMegohmsResponse>(
      {"megohm", "--volts", "230", "--reading", "U to frame:850@40C", "--reading", "4.9@40C"});
  ASSERT_EQ(answer.readings_size(), 2);
  EXPECT_EQ(answer.readings(0).label(), "U to frame");
  EXPECT_NEAR(answer.readings(0).corrected_megohms_40c(), 850, 1e-9);
  EXPECT_EQ(answer.readings(1).verdict(), v1::MEGOHM_VERDICT_FAIL);
  EXPECT_THAT(RunProgram({"megohm", "--volts", "230", "--reading", "4.9@104F"}).out,
              AllOf(HasSubstr("fail"), HasSubstr("Cautions")));
}

TEST(Program, ListsAndShowsRules) {
  const auto rules = Json<v1::ListRulesResponse>({"rules", "list"});
  EXPECT_GT(rules.rules_size(), 100);
  EXPECT_THAT(rules.next_page_token(), IsEmpty());
  const std::string id = rules.rules(0).name().substr(std::string("rules/").size());
  EXPECT_EQ(Json<v1::GetRuleResponse>({"rules", "show", id}).rule().name(), rules.rules(0).name());
  EXPECT_THAT(RunProgram({"rules", "show", id}).out, StartsWith(id));
}

TEST(Program, CallsAnyMethod) {
  const Ran list = RunProgram({"call", "--list"});
  for (const char* method :
       {"RewindPlanService/PlanRewind", "WireService/LookUpWire", "WireService/ListWires", "WireService/IdentifyWire",
        "WireService/ChooseStrands", "TestLimitService/GetTestLimits", "TestLimitService/GetTestProgramme",
        "MegohmService/JudgeMegohms", "RuleService/GetRule", "RuleService/ListRules"}) {
    EXPECT_THAT(list.out, HasSubstr(method));
  }
  const std::string request = "{\"rated_volts\": 230}";
  const Ran by_short_name = RunProgram({"call", "TestLimitService/GetTestLimits"}, request);
  const Ran by_full_name = RunProgram({"call", "coilwright.v1.TestLimitService/GetTestLimits", "--data", request});
  EXPECT_EQ(by_short_name.exit_status, 0) << by_short_name.err;
  EXPECT_EQ(by_short_name.out, by_full_name.out);
  EXPECT_EQ(by_short_name.out, RunProgram({"limits", "--volts", "230", "--json"}).out);
  const File file(request);
  EXPECT_EQ(RunProgram({"call", "TestLimitService/GetTestLimits", "--file", file.path()}).out, by_full_name.out);
  ExpectOneLine(RunProgram({"call", "TestLimitService/GetTestLimits", "--file", "x", "--data", "{}"}), 2,
                "one of the two");
  ExpectOneLine(RunProgram({"call", "RuleService/GetRul"}), 2, "did you mean RuleService/GetRule?");
  ExpectOneLine(RunProgram({"call", "RuleService/GetRule"}, "{\n\"nam\": \"x\"}"), 2,
                "standard input: line 2: nam: no such field; did you mean name?");
  ExpectOneLine(RunProgram({"call", "RuleService/GetRule"}, "{\"name\": \"\xFF\"}"), 2, "not UTF-8");
}

// The contract as it stands in its files is what call offers.
TEST(Call, ListsEveryMethodOfEveryService) {
  const std::string list = RunProgram({"call", "--list"}).out;
  int methods = 0;
  for (const auto& entry : std::filesystem::directory_iterator(COILWRIGHT_SOURCE_DIR "/proto/coilwright/v1")) {
    std::ifstream file(entry.path());
    std::string line, service;
    std::smatch found;
    while (std::getline(file, line)) {
      if (std::regex_search(line, found, std::regex("^service (\\w+)"))) service = found[1];
      if (!std::regex_search(line, found, std::regex("^ *rpc (\\w+)"))) continue;
      ++methods;
      EXPECT_THAT(list, testing::HasSubstr(service + "/" + found[1].str() + " ")) << entry.path();
    }
  }
  EXPECT_GE(methods, 15);
}

// Eleven steps under voltage need the same parts off: said once, so that the line that differs shows.
TEST(LimitsCommand, SaysRepeatedPreparationsOnce) {
  const std::string out =
      RunProgram({"limits", "stage", "assembled", "--volts", "400", "--kw", "2", "--feedback", "resolver"}).out;
  const size_t first = out.find("unplug the feedback");
  ASSERT_NE(first, std::string::npos);
  EXPECT_EQ(out.find("unplug the feedback", first + 1), std::string::npos);
  EXPECT_THAT(out, ::testing::HasSubstr("as in step 2"));
}

TEST(JudgeCommand, TakesWhatIsFittedAsFlags) {
  const Ran ran = RunProgram({"judge", "--volts", "230", "--kw", "2", "--rotor", "--star-open", "--brake-volts", "24",
                              "--feedback", "resolver", "--megohms", "2@22C"});
  EXPECT_THAT(ran.out, ::testing::HasSubstr("brake"));
  EXPECT_THAT(RunProgram({"judge", "--help"}).out, ::testing::HasSubstr("not-reconditioned"));
}

// Common practice, no source: no random winding is made for 50 kV.
TEST(Limits, DoubtARandomWindingOfManyVolts) {
  const std::string doubt = "random windings are not made for 50000 V";
  EXPECT_THAT(RunProgram({"limits", "--volts", "50000"}).out, ::testing::HasSubstr(doubt));
  EXPECT_THAT(RunProgram({"limits", "stage", "assembled", "--volts", "50000"}).out, ::testing::HasSubstr(doubt));
  EXPECT_THAT(RunProgram({"megohm", "--volts", "50000", "--reading", "850@22C"}).out, ::testing::HasSubstr(doubt));
  EXPECT_THAT(RunProgram({"limits", "--volts", "50000", "--kind", "form-wound"}).out,
              ::testing::Not(::testing::HasSubstr("random windings")));
}

TEST(JudgeCommand, NamesTheFlagOfAWrongReading) {
  EXPECT_THAT(RunProgram({"judge", "--volts", "400", "--megohms", "850@22C", "--uv", "1", "--vw", "1"}).err,
              ::testing::StartsWith("coilwright: --at (readings[1].resistance.line_to_line.winding_temperature)"));
  EXPECT_THAT(RunProgram({"judge", "--volts", "400", "--uv", "0", "--vw", "1", "--wu", "1", "--at", "22C"}).err,
              ::testing::StartsWith("coilwright: --uv ("));
  EXPECT_THAT(RunProgram({"judge", "--volts", "400", "--megohms", "-3@22C"}).err,
              ::testing::StartsWith("coilwright: --megohms (readings[0].megohms."));
}

}  // namespace
}  // namespace coilwright::cli
