// The commands of the archive as a person gives them, each test with an archive of its own in a file.
#include <gmock/gmock.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <thread>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "archive_folder.h"
#include "coilwright/v1/archive_service.pb.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/winding_archive_service.pb.h"
#include "json.h"
#include "page.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

class Archive : public ArchiveFolder {
 protected:
  // 72 is what is counted where both sides of a coil are taken for turns: the check says so (docs/record-check.md).
  std::string Slip() {
    return absl::StrReplaceAll(Template("pm"), {{"\"turns_per_coil\": 36", "\"turns_per_coil\": 72"}});
  }
};

TEST_F(Archive, SavesShowsAndPlansAgain) {
  const Ran saved = Do({"archive", "save", "-", "--by", "Ana Ruiz", "--id", "applicator"}, Template("pm"));
  EXPECT_EQ(saved.exit_status, 0) << saved.err;
  EXPECT_THAT(saved.out,
              AllOf(StartsWith("windings/applicator\n"), HasSubstr("by Ana Ruiz"), HasSubstr("check: sound")));
  const Ran record = Do({"archive", "show", "applicator", "--record"});
  EXPECT_EQ(record.exit_status, 0) << record.err;
  const Ran plan = Do({"plan", "-"}, record.out);
  EXPECT_EQ(plan.exit_status, 0) << plan.err;
  EXPECT_EQ(plan.out, Do({"plan", "-"}, Template("pm")).out);
  const Ran shown = Do({"archive", "show", "windings/applicator"});
  EXPECT_THAT(shown.out,
              AllOf(StartsWith("windings/applicator: Label applicator, axis 2\n"), HasSubstr("2 x 0.80 mm grade 2"),
                    HasSubstr("pitch 1 (throw 1-2)"), HasSubstr("60 mm"), HasSubstr("1.1, 1.1, 1.11 ohm at 21 C")));
  EXPECT_THAT(Do({"archive", "show", "applicator", "--units", "shop"}).out,
              AllOf(HasSubstr("2.362 in"), HasSubstr("at 69.8 F")));
  for (absl::string_view line : absl::StrSplit(shown.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
}

// A mistyped name is not answered by an empty archive, and what makes one says so.
TEST_F(Archive, IsMadeOnlyByWhatWritesSomethingNew) {
  const std::string path = folder() + "/typo.db";
  for (const bool emptied : {false, true}) {
    if (emptied) File("typo.db", "");
    for (const std::vector<std::string>& words :
         std::vector<std::vector<std::string>>{{"archive", "find"},
                                               {"archive", "show", "motor"},
                                               {"archive", "history", "motor"},
                                               {"archive", "compare", "a", "b"},
                                               {"archive", "near", "--slots", "12", "--bore", "60mm"},
                                               {"archive", "change", "motor", "--set", "title=x", "--by", "Bo"},
                                               {"archive", "set-aside", "motor", "--by", "Bo"},
                                               {"archive", "status"},
                                               {"archive", "export", folder() + "/out.jsonl"},
                                               {"archive", "backup", folder() + "/out.jsonl"},
                                               {"job", "find"},
                                               {"job", "show", "j"},
                                               {"job", "history", "j"},
                                               {"job", "trend", "--serial", "X"},
                                               {"job", "stage", "j", "treated", "--by", "Bo"},
                                               {"call", "ArchiveService/GetArchive", "--data", "{}"}}) {
      ExpectOneLine(Do(words, "", "typo.db"), 3, "there is no archive in " + path + "; archive save, ");
      EXPECT_EQ(std::filesystem::exists(path), emptied) << words[1];
      EXPECT_FALSE(std::filesystem::exists(path + ".lock") || std::filesystem::exists(folder() + "/out.jsonl"));
    }
  }
  const std::string made = "coilwright: new archive " + path + "\n";
  const Ran saved = Do({"archive", "save", "-", "--by", "Ana", "--id", "one"}, Template("pm"), "typo.db");
  EXPECT_EQ(saved.exit_status, 0);
  EXPECT_EQ(saved.err, made);
  EXPECT_EQ(Do({"archive", "save", "-", "--by", "Ana", "--id", "two"}, Template("pm"), "typo.db").err, "");
  EXPECT_THAT(Do({"archive", "find"}, "", "typo.db").out, HasSubstr("2 found"));
  const std::string backup = folder() + "/backup.jsonl";
  ASSERT_EQ(Do({"archive", "backup", backup}, "", "typo.db").exit_status, 0);
  EXPECT_THAT(Do({"archive", "restore", backup}, "", "second.db").err, HasSubstr("new archive "));
  EXPECT_THAT(Do({"archive", "import", backup}, "", "third.db").err, HasSubstr("new archive "));
  EXPECT_EQ(Do({"plan", "-"}, Template("pm"), "fourth.db").err, "");
  EXPECT_FALSE(std::filesystem::exists(folder() + "/fourth.db")) << "a plan that is not saved needs none";
}

TEST_F(Archive, SavesFromPlanAndCheck) {
  const Ran plan = Do({"plan", "-", "--save", "--by", "Ana", "--id", "planned"}, Template("pm"));
  EXPECT_EQ(plan.exit_status, 0) << plan.err;
  EXPECT_THAT(plan.out, AllOf(StartsWith("saved as windings/planned; its check: sound\n"), HasSubstr("Rewind plan: ")));
  // Standard output stays the plan alone for who reads it as JSON.
  const Ran json = Do({"plan", "-", "--save", "--by", "Ana", "--id", "as-json", "--json"}, Template("pm"));
  v1::PlanRewindResponse answer;
  EXPECT_TRUE(ParseJson(*ReadJson("", json.out), &answer).ok()) << json.out;
  EXPECT_EQ(json.err, "coilwright: saved as windings/as-json; its check: sound\n");
  const Ran check = Do({"check", "-", "--save", "--by", "Ana", "--id", "checked", "--moment", "intact"}, Slip());
  EXPECT_EQ(check.exit_status, 5);
  EXPECT_THAT(check.out, StartsWith("saved as windings/checked; its check: NOT sound\n"));
  EXPECT_EQ(Get("checked").check().moment(), v1::CHECK_MOMENT_INTACT);
  ExpectOneLine(Do({"plan", "-", "--by", "Ana"}, Template("pm")), 2, "--by: only beside --save");
  ExpectOneLine(Do({"plan", "-", "--save"}, Template("pm")), 2, "missing: --by");
  // What cannot be planned is not saved either.
  EXPECT_EQ(Do({"plan", "-", "--save", "--by", "Ana", "--id", "wrong"},
               absl::StrReplaceAll(Template("pm"), {{"\"slots\": 12", "\"slots\": 2"}}))
                .exit_status,
            2);
  ExpectOneLine(Do({"archive", "show", "wrong"}), 3, "windings/wrong");
}

TEST_F(Archive, KeepsARecordThatIsNotSoundAndSaysSo) {
  const Ran saved = Do({"archive", "save", "-", "--by", "Ana", "--id", "slip"}, Slip());
  EXPECT_EQ(saved.exit_status, 5);
  EXPECT_THAT(saved.out, AllOf(HasSubstr("does NOT agree"), HasSubstr("Kept as it was given"),
                               HasSubstr("coilwright archive change slip --set")));
  EXPECT_THAT(Do({"archive", "find"}).out, HasSubstr("NOT sound"));
  const Ran changed =
      Do({"archive", "change", "slip", "--set", "winding.turns_per_coil=36", "--by", "Bo", "--reason", "recounted"});
  EXPECT_EQ(changed.exit_status, 0) << changed.err;
  EXPECT_THAT(changed.out, AllOf(HasSubstr("Record check: sound"), HasSubstr("recounted"),
                                 HasSubstr("winding.turns_per_coil  72   0.5000  36")));
  const Ran history = Do({"archive", "history", "slip"});
  EXPECT_THAT(history.out, AllOf(HasSubstr("Bo  "), HasSubstr("recounted"), HasSubstr("Ana")));
  // Nothing is overwritten.
  EXPECT_THAT(Do({"archive", "show", "slip@1"}).out, HasSubstr("turns per coil     72"));
  EXPECT_EQ(Do({"archive", "show", "slip", "--revision", "1"}).out, Do({"archive", "show", "slip@1"}).out);
  const Ran compared = Do({"archive", "compare", "slip@1", "slip"});
  EXPECT_THAT(compared.out, AllOf(HasSubstr("1 differ, "), HasSubstr("  72      0.5000  36")));
}

TEST_F(Archive, ChangesFollowWhatWasRead) {
  Save("motor");
  ASSERT_EQ(Change("motor", {"--set", "title=First"}).exit_status, 0);
  // A file that was made from revision 1 does not take back what came after it.
  const std::string file = File("old.json", Template("pm"));
  const Ran stale = Do({"archive", "change", "motor", file, "--revision", "1", "--by", "Bo"});
  ExpectOneLine(stale, 6, "made from revision 1, but the latest is revision 2");
  ExpectOneLine(Do({"archive", "change", "motor", file, "--by", "Bo"}), 2, "missing: --revision N");
  const std::string etag = Get("motor@1").revision().etag();
  ExpectOneLine(Change("motor", {"--set", "title=Second", "--etag", etag}), 6,
                "windings/motor has been changed meanwhile: look at what changed");
  ExpectOneLine(Change("motor", {"--set", "title=First"}), 3, "windings/motor is like that already");
  EXPECT_EQ(Get("motor").record().title(), "First");
  const Ran whole = Do({"archive", "change", "motor", file, "--revision", "2", "--by", "Bo"});
  EXPECT_EQ(whole.exit_status, 0) << whole.err;
  EXPECT_EQ(Get("motor").record().title(), "Label applicator, axis 2");
  // Several values at once, in the units they were read in.
  const Ran several = Change("motor", {"--set", "machine.core.bore_diameter=2.37in", "--set", "record.note=", "--set",
                                       "winding.strands[0].wires_in_hand=3", "--taken-down", "2017-05-03"});
  EXPECT_THAT(several.exit_status, testing::AnyOf(0, 5)) << several.err;
  const v1::ArchivedWinding now = Get("motor");
  EXPECT_EQ(now.record().machine().core().bore_diameter().inches(), 2.37);
  EXPECT_EQ(now.record().winding().strands(0).wires_in_hand(), 3);
  EXPECT_EQ(now.record().winding().strands(0).wire().designation(), "0.80 mm grade 2");
  EXPECT_THAT(Do({"archive", "show", "motor"}).out, HasSubstr("taken down  2017-05-03"));
}

TEST_F(Archive, NamesWhatIsWrong) {
  Save("motor");
  ExpectOneLine(Do({"archive", "save", "-"}, Template("pm")), 2, "missing: --by PERSON");
  ExpectOneLine(Do({"archive", "save", "-", "--by", "A", "--id", "motor"}, Template("pm")), 2, "windings/motor");
  ExpectOneLine(Do({"archive", "save", "-", "--by", "A", "--id", "no spaces"}, Template("pm")), 2,
                "--id (winding_id): got \"no spaces\"");
  ExpectOneLine(Do({"archive", "save", "-", "--by", "A", "--taken-down", "03.05.2017"}, Template("pm")), 2,
                "--taken-down: got \"03.05.2017\", accepted: a day such as");
  const std::string slots = absl::StrReplaceAll(Template("pm"), {{"\"slots\": 12", "\"slots\": -1"}});
  const auto line =
      std::count(slots.begin(), slots.begin() + static_cast<std::ptrdiff_t>(slots.find("\"slots\"")), '\n');
  ExpectOneLine(Do({"archive", "save", "-", "--by", "A"}, slots), 2,
                absl::StrCat("standard input: line ", line + 1, ": machine.core.slots: got -1"));
  ExpectOneLine(Do({"archive", "show", "nobody"}), 3, "windings/nobody");
  ExpectOneLine(Do({"archive", "show", "motor@9"}), 3, "revision 9");
  ExpectOneLine(Do({"archive", "show", "jobs/motor"}), 2, "accepted: a name such as windings/...");
  ExpectOneLine(Do({"archive", "compare", "motor"}), 2, "missing: two NAMEs");
  ExpectOneLine(Change("motor", {"--set", "winding.turn_per_coil=3"}), 2, "did you mean turns_per_coil?");
  ExpectOneLine(Change("motor", {"--set", "winding.turns_per_coil=-3"}), 2,
                "--set (winding.record.winding.turns_per_coil)");
  ExpectOneLine(Change("motor", {}), 2, "missing: either --set");
  ExpectOneLine(Do({"archive", "find", "--bore", "60"}), 2, "--bore: got \"60\", accepted: a length with its unit");
  ExpectOneLine(Do({"archive", "find", "--page", "x"}), 2, "--page");
  ExpectOneLine(Do({"archive", "find", "--most", "0"}), 2, "--most: got \"0\"");
  ExpectOneLine(Do({"archive"}), 2, "archive what?");
  EXPECT_EQ(RunProgram({"archive", "status", "--archive", folder() + "/no/such\n/x.db", "--server", "h:1"}).exit_status,
            2);
  std::ofstream(folder() + "/not.db") << std::string(8192, 'x');
  const Ran not_ours = RunProgram({"archive", "status", "--archive", folder() + "/not.db"});
  EXPECT_NE(not_ours.exit_status, 0);
  EXPECT_THAT(not_ours.err, HasSubstr("not.db"));
}

TEST_F(Archive, RefusesAStatorThatCannotBe) {
  Save("motor");
  const auto near = [&](std::vector<std::string> flags) {
    flags.insert(flags.begin(), {"archive", "near", "--slots", "12", "--bore", "60mm"});
    return Do(flags);
  };
  ExpectOneLine(near({"--poles", "9"}), 2, "--poles (machine.nameplate.poles): got 9, accepted: an even number");
  ExpectOneLine(near({"--poles", "0"}), 2, "--poles (machine.nameplate.poles): got 0, accepted: 2 to 120");
  for (const char* most : {"0", "21"})
    ExpectOneLine(near({"--most", most}), 2, "accepted: a whole number from 1 to 20");
  ExpectOneLine(near({"--outer", "50mm"}), 2,
                "--outer (machine.core.outer_diameter): got 50 mm, accepted: more than the bore of 60 mm");
}

TEST_F(Archive, FindsByWordsPlateAndCore) {
  Save("servo");
  ASSERT_EQ(Do({"archive", "save", "-", "--by", "Ana", "--id", "pump"}, Template("induction")).exit_status, 0);
  const auto found = [&](std::vector<std::string> flags) {
    flags.insert(flags.begin(), {"archive", "find"});
    flags.push_back("--names");
    return Do(flags).out;
  };
  EXPECT_EQ(found({}), "windings/pump\nwindings/servo\n") << "newest first";
  EXPECT_EQ(found({"label", "AXIS"}), "windings/servo\n");
  EXPECT_EQ(found({"--slots", "12", "--poles", "8..12"}), "windings/servo\n");
  EXPECT_EQ(found({"--volts", "380..415"}), "windings/pump\n");
  EXPECT_EQ(found({"--bore", "60 mm"}), "windings/servo\n");
  EXPECT_EQ(found({"--bore", "2.36in"}), "windings/servo\n");
  EXPECT_EQ(found({"--bore", "60.1mm"}), "");
  EXPECT_EQ(found({"--kind", "induction"}), "windings/pump\n");
  EXPECT_EQ(found({"--kw", "1.0 hp"}), "windings/pump\n") << "0.75 kW is 1.006 hp";
  ExpectOneLine(Do({"archive", "find", "retort"}), 3, "no recorded winding fits");
  const Ran first = Do({"archive", "find", "--most", "1"});
  EXPECT_THAT(first.out, AllOf(HasSubstr("pump"), Not(HasSubstr("servo  ")), HasSubstr("1 shown, there are more")));
  const std::string token = first.out.substr(first.out.find("--page ") + 7);
  EXPECT_EQ(found({"--page", token.substr(0, token.find('\n'))}), "windings/servo\n");
  v1::ListWindingsResponse list;
  EXPECT_TRUE(ParseJson(*ReadJson("", Do({"archive", "find", "--json"}).out), &list).ok());
  EXPECT_EQ(list.windings_size(), 2);
  const Ran table = Do({"archive", "find"});
  EXPECT_THAT(table.out, AllOf(HasSubstr("60 / 104 / 80"), HasSubstr("12/10"), HasSubstr("\n2 found\n")));
  for (absl::string_view line : absl::StrSplit(table.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
}

TEST_F(Archive, SetsAsideAndBringsBack) {
  Save("motor");
  ExpectOneLine(Do({"archive", "set-aside", "motor"}), 2, "missing: --by");
  const Ran aside = Do({"archive", "set-aside", "motor", "--by", "Bo", "--reason", "twice in the archive"});
  EXPECT_EQ(aside.exit_status, 0) << aside.err;
  EXPECT_EQ(Do({"archive", "find"}).exit_status, 3);
  EXPECT_THAT(Do({"archive", "find", "--set-aside"}).out, HasSubstr("SET ASIDE"));
  EXPECT_THAT(Do({"archive", "show", "motor"}).out, HasSubstr("! SET ASIDE"));
  ExpectOneLine(Change("motor", {"--set", "title=x"}), 3, "coilwright archive bring-back");
  EXPECT_EQ(Do({"archive", "bring-back", "motor", "--by", "Bo"}).exit_status, 0);
  ExpectOneLine(Do({"archive", "bring-back", "motor", "--by", "Bo"}), 3, "is not set aside");
  EXPECT_EQ(Do({"archive", "find"}).exit_status, 0);
}

// One archive, several commands at once: each waits for its turn.
TEST_F(Archive, WaitsForACommandThatHasIt) {
  Save("motor");
  std::vector<std::string> lines;
  for (int i = 0; i < 4; ++i) {
    lines.push_back(absl::StrCat(COILWRIGHT_BINARY_DIR, "/bin/coilwright archive change motor --set note=", i,
                                 " --by Bo --archive ", folder(), "/shop.db > ", folder(), "/", i, ".txt & "));
  }
  ASSERT_EQ(std::system(absl::StrCat(lines[0], lines[1], lines[2], lines[3], "wait").c_str()), 0);

  EXPECT_GE(Get("motor").revision().number(), 2);
  for (int i = 0; i < 4; ++i) {
    const std::string out = Text(absl::StrCat(folder(), "/", i, ".txt"));
    EXPECT_THAT(out, testing::AnyOf(IsEmpty(), StartsWith("windings/motor\n")));
  }
  EXPECT_EQ(Get("motor").revision().number(), 5) << "the archive is held for the whole of a command";
}

// The same request id: one winding, however often it is sent.
TEST_F(Archive, KeepsARepeatedSaveOnce) {
  const std::vector<std::string> save = {"archive", "save", "-", "--by", "Ana", "--request-id", "card-17", "--names"};
  const Ran first = Do(save, Template("pm"));
  EXPECT_EQ(first.exit_status, 0) << first.err;
  EXPECT_EQ(Do(save, Template("pm")).out, first.out);
  EXPECT_EQ(Count().windings(), 1);
  ExpectOneLine(Do(save, Template("induction")), 2, "--request-id \"card-17\" has been used for another call");
}

}  // namespace
}  // namespace coilwright::cli
