// The commands of a job from intake to release, and the trend of a machine, with an archive in a file.
#include <gmock/gmock.h>

#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "archive_folder.h"
#include "coilwright/v1/job_service.pb.h"
#include "json.h"
#include "page.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

class Job : public ArchiveFolder {
 protected:
  void Open(const std::string& id = "j1") {
    if (Count().windings() == 0) Save("motor");
    const Ran opened = Do({"job", "open", "--winding", "motor", "--serial", "HL-0417", "--customer",
                           "Harbour Lane cannery", "--id", id, "--by", "Ana"});
    ASSERT_EQ(opened.exit_status, 0) << opened.err;
  }
  Ran Read(const std::string& id, std::vector<std::string> flags, const std::string& input = "") {
    flags.insert(flags.begin(), {"job", "readings", id});
    flags.insert(flags.end(), {"--by", "Ana"});
    return Do(flags, input);
  }
  template <class Answer>
  Answer Json(std::vector<std::string> words) {
    words.push_back("--json");
    const Ran ran = Do(words);
    Answer answer;
    const auto source = ReadJson("", ran.out);
    EXPECT_TRUE(source.ok() && ParseJson(*source, &answer).ok()) << ran.out << ran.err;
    return answer;
  }
};

TEST_F(Job, GoesFromIntakeToRelease) {
  Open();
  EXPECT_EQ(Do({"job", "stage", "j1", "as-received", "--by", "Ana", "--note", "wet"}).exit_status, 0);
  const Ran read = Read("j1", {"--stage", "as-received", "--uv", "1.10", "--vw", "1.10", "--wu", "1.11", "--at", "21C",
                               "--megohms", "850@22C"});
  EXPECT_EQ(read.exit_status, 0) << read.err;
  EXPECT_THAT(read.out, AllOf(StartsWith("jobs/j1/readings/1\n"), HasSubstr("No fault found")));
  const Ran planned = Do({"job", "plan", "j1", "--way", "2", "--by", "Bo"});
  EXPECT_EQ(planned.exit_status, 0) << planned.err;
  EXPECT_THAT(planned.out, AllOf(HasSubstr("Plan chosen: way 2"), HasSubstr("Resistance to expect")));
  // Not judged when assembled: no release but for a reason.
  const std::vector<std::string> release = {
      "job", "sign-off", "j1", "--person", "Bo Lind", "--qualification", "licensed electrician, card 4711"};
  ExpectOneLine(Do(release), 3, "or where --despite says why");
  std::vector<std::string> despite = release;
  despite.insert(despite.end(), {"--despite", "goes to the surge tester of the customer"});
  const Ran released = Do(despite);
  EXPECT_EQ(released.exit_status, 0) << released.err;
  EXPECT_THAT(released.out, AllOf(HasSubstr("Bo Lind, licensed electrician, card 4711"),
                                  HasSubstr("NONE: the assembled"), HasSubstr("goes to the surge tester")));
  const Ran shown = Do({"job", "show", "jobs/j1"});
  EXPECT_THAT(shown.out,
              AllOf(HasSubstr("serial HL-0417"), HasSubstr("Harbour Lane cannery"), HasSubstr("wet"),
                    HasSubstr("Plan chosen: way 2"), HasSubstr("as received"), HasSubstr("NONE: the assembled")));
  for (absl::string_view line : absl::StrSplit(shown.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
  const Ran history = Do({"job", "history", "j1"});
  EXPECT_THAT(history.out, AllOf(HasSubstr("readings 1"), HasSubstr("released: goes to"), HasSubstr("opened")));
  EXPECT_THAT(Do({"job", "show", "j1@1"}).out, HasSubstr("Stages: none yet"));
}

TEST_F(Job, TakesReadingsOfAFileAndKeepsThemAll) {
  const std::string file = COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-readings.json";
  Open("another");
  const Ran refused = Read("another", {file});
  EXPECT_EQ(refused.exit_status, 2) << "the file is of another machine";
  EXPECT_THAT(refused.err, HasSubstr("line 12: machine.nameplate.poles: got 8 poles, accepted: 10 poles"));
  const Ran opened =
      Do({"job", "open", COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json", "--id", "j1", "--by", "Ana"});
  ASSERT_EQ(opened.exit_status, 0) << opened.err;
  EXPECT_THAT(Read("j1", {file}).out, HasSubstr("Rewind: the winding is at fault"));
  const Ran again = Read("j1", {"--stage", "as-received", "--megohms", "2@22C", "--replaces", "1", "--note",
                                "leads were damp", "--taken", "2026-05-03 14:30"});
  EXPECT_EQ(again.exit_status, 0) << again.err;
  EXPECT_THAT(again.out, AllOf(HasSubstr("in place of  jobs/j1/readings/1"), HasSubstr("2026-05-03 14:30")));
  // Kept, and not to be gone by: without a voltage there is no limit.
  ASSERT_EQ(Do({"job", "open", "-", "--id", "j3", "--by", "Ana"}, R"({"kind": "MACHINE_KIND_INDUCTION"})").exit_status,
            0);
  const Ran not_judged = Read("j3", {"--stage", "as-received", "--megohms", "2@22C"});
  EXPECT_EQ(not_judged.exit_status, 5) << not_judged.out << not_judged.err;
  EXPECT_THAT(not_judged.out, HasSubstr("Kept, but not judged"));
  const Ran list = Do({"job", "readings", "j1"});
  EXPECT_THAT(list.out, AllOf(HasSubstr("leads were damp"), HasSubstr("Rewind: the winding")));
  EXPECT_THAT(Do({"job", "readings", "jobs/j1/readings/1"}).out, HasSubstr("Surge comparison"));
  EXPECT_EQ(Json<v1::ListReadingsResponse>({"job", "readings", "j1", "--stage", "as-received"}).readings_size(), 2);
  EXPECT_EQ(Json<v1::ListReadingsResponse>({"job", "readings", "j1", "--stage", "treated"}).readings_size(), 0);
  // The wrong value of a file is named by its line.
  const std::string wrong =
      absl::StrReplaceAll(Text(file), {{"\"insulation_megohms\": 410", "\"insulation_megohms\": -1"}});
  const auto line = std::count(wrong.begin(), wrong.begin() + static_cast<std::ptrdiff_t>(wrong.find("-1")), '\n') + 1;
  const Ran named = Read("j1", {"-"}, wrong);
  EXPECT_THAT(named.err, HasSubstr(absl::StrCat("standard input: line ", line)));
}

TEST_F(Job, IsFoundAndChanged) {
  Open();
  Open("j2");
  EXPECT_EQ(Do({"job", "stage", "j2", "treated", "--by", "Ana"}).exit_status, 0);
  EXPECT_EQ(Do({"job", "find", "--names"}).out, "jobs/j2\njobs/j1\n");
  EXPECT_EQ(Do({"job", "find", "--stage", "treated", "--names"}).out, "jobs/j2\n");
  EXPECT_EQ(Do({"job", "find", "harbour", "--winding", "motor", "--names"}).out, "jobs/j2\njobs/j1\n");
  ExpectOneLine(Do({"job", "find", "nobody"}), 3, "no job fits");
  const Ran changed = Do({"job", "change", "j1", "--set", "title=Label applicator", "--set",
                          "machine.nameplate.serial_text=HL-0418", "--by", "Bo"});
  EXPECT_EQ(changed.exit_status, 0) << changed.err;
  const auto job = Json<v1::GetJobResponse>({"job", "show", "j1"}).job();
  EXPECT_EQ(job.title(), "Label applicator");
  EXPECT_EQ(job.machine().nameplate().serial_text(), "HL-0418");
  EXPECT_EQ(job.machine().core().slots(), 12) << "the machine of the winding but for its serial number";
  EXPECT_THAT(Do({"job", "find"}).out, AllOf(HasSubstr("Label applicator"), HasSubstr("treated")));
  EXPECT_EQ(Do({"archive", "set-aside", "jobs/j1", "--by", "Bo"}).exit_status, 0);
  EXPECT_EQ(Do({"job", "find", "--names"}).out, "jobs/j2\n");
}

TEST_F(Job, NamesWhatIsWrong) {
  Open();
  ExpectOneLine(Do({"job", "open", "--by", "Ana"}), 2, "missing: --winding NAME, or a FILE");
  ExpectOneLine(Do({"job", "open", "--winding", "motor"}), 2, "missing: --by");
  ExpectOneLine(Do({"job", "open", "--winding", "nobody", "--by", "Ana"}), 3, "windings/nobody");
  ExpectOneLine(Do({"job", "open", "--winding", "motor", "--id", "j1", "--by", "Ana"}), 2, "jobs/j1");
  ExpectOneLine(Do({"job", "stage", "j1", "--by", "Ana"}), 2, "missing: the NAME of a job");
  ExpectOneLine(Do({"job", "stage", "j1", "varnished", "--by", "Ana"}), 2,
                "STAGE: got \"varnished\", accepted: as-received");
  ExpectOneLine(Do({"job", "stage", "nobody", "treated", "--by", "Ana"}), 3, "jobs/nobody");
  ExpectOneLine(Read("j1", {"--megohms", "850@22C"}), 2, "missing: --stage");
  ExpectOneLine(Read("j1", {}), 2, "--by: no readings to add");
  ExpectOneLine(Do({"job", "readings", "j1", "--megohms", "850@22C"}), 2, "missing: --by");
  ExpectOneLine(Read("jobs/j1/readings/1", {"--megohms", "850@22C"}), 2, "readings are never changed");
  ExpectOneLine(Do({"job", "sign-off", "j1", "--person", "Bo"}), 2, "missing: --qualification");
  ExpectOneLine(Do({"job", "change", "j1", "--by", "Bo"}), 2, "missing: --set");
  ExpectOneLine(Do({"job", "change", "j1", "--set", "plan.way=2", "--by", "Bo"}), 2,
                "--set: got \"plan.way\", accepted: ");
  ExpectOneLine(Do({"job", "trend"}), 2, "missing: either the NAME");
  ExpectOneLine(Do({"job", "plan", "j1", "--way", "999", "--by", "Bo"}), 2, "--way");
}

TEST_F(Job, TellsWhatNoLongerHolds) {
  Open();
  EXPECT_EQ(Do({"job", "plan", "j1", "--by", "Bo"}).exit_status, 0);
  EXPECT_EQ(Do({"archive", "change", "motor", "--set", "note=card 12", "--by", "Bo", "--reason", "found the card"})
                .exit_status,
            0);
  const std::string earlier = "! The plan is of revision 1 of windings/motor, which is at revision 2 now";
  EXPECT_THAT(Do({"job", "show", "j1"}).out, HasSubstr(earlier));
  Save("other");
  EXPECT_THAT(Do({"job", "change", "j1", "--set", "winding=other", "--by", "Bo"}).out,
              HasSubstr("revision  3, changed: winding; plan taken off\n"));
  EXPECT_THAT(Do({"job", "show", "j1"}).out, Not(HasSubstr(earlier)));
  // Released for a reason, read again after it, and released again.
  const std::vector<std::string> release = {"job", "sign-off", "j1", "--person", "Bo", "--qualification", "card 4711"};
  std::vector<std::string> despite = release;
  despite.insert(despite.end(), {"--despite", "for scrap"});
  EXPECT_EQ(Do(despite).exit_status, 0);
  EXPECT_EQ(Read("j1", {"--stage", "in-service", "--megohms", "0.01@22C", "--taken", "2026-05-03"}).exit_status, 0);
  const std::string shown = Do({"job", "show", "j1"}).out;
  EXPECT_THAT(shown, AllOf(HasSubstr("! After its release jobs/j1/readings/1 found: "),
                           HasSubstr("Read after the release"), HasSubstr("despite that  for scrap")));
  EXPECT_THAT(Do({"job", "history", "j1"}).out,
              AllOf(HasSubstr("released: for scrap"), HasSubstr("changed: winding; plan taken off"),
                    HasSubstr("plan chosen: way 1"), HasSubstr("opened")));
}

TEST_F(Job, ADayIsShownAsADay) {
  Save("motor");
  EXPECT_EQ(
      Do({"job", "open", "--winding", "motor", "--id", "j1", "--opened", "2019-05-03", "--by", "Ana"}).exit_status, 0);
  EXPECT_THAT(Do({"job", "find"}).out, HasSubstr("2019-05-03"));
  EXPECT_THAT(Do({"job", "change", "j1", "--opened", "2019-05-02", "--by", "Ana"}).out,
              HasSubstr("changed: opened_time"));
  EXPECT_THAT(Do({"job", "stage", "j1", "as-received", "--time", "2019-05-04", "--by", "Ana"}).out,
              HasSubstr("as received, 2019-05-04 by Ana"));
  EXPECT_THAT(Read("j1", {"--stage", "as-received", "--megohms", "850@22C", "--taken", "2019-05-05"}).out,
              HasSubstr("taken  2019-05-05 by Ana"));
  EXPECT_THAT(Read("j1", {"--stage", "as-received", "--megohms", "850@22C", "--taken", "2019-05-06 08:15"}).out,
              HasSubstr("taken  2019-05-06 08:15 by Ana"));
  const std::string shown = Do({"job", "show", "j1"}).out;
  EXPECT_THAT(shown, AllOf(HasSubstr("opened    2019-05-02\n"), HasSubstr("2019-05-04  as received"),
                           HasSubstr("2019-05-05        Ana"), HasSubstr("2019-05-06 08:15")));
  ExpectOneLine(Do({"job", "stage", "j1", "treated", "--time", "1818-05-04", "--by", "Ana"}), 2,
                "--time (time.seconds): got a time in 1818, accepted: 1900 or later");
  ExpectOneLine(Read("j1", {"--stage", "as-received", "--megohms", "850@22C", "--replaces", "1"}), 2, "--note");
}

// A machine whose insulation falls to a half every two years, read every year: 2^-0.5 = 0.707 a year, closed form.
class Trend : public Job {
 protected:
  void Years(int count, double half_life) {
    Open("y0");
    for (int i = 0; i < count; ++i) {
      // Readings at 40 C are taken as they are (IEEE 43), and a few per cent of scatter are there.
      const double megohms = 400 * std::pow(0.5, i / half_life) * (i % 2 == 0 ? 1.01 : 0.99);
      const Ran read = Read("y0", {"--stage", "in-service", "--megohms", absl::StrCat(megohms, "@40C"), "--taken",
                                   absl::StrCat(2010 + i, "-06-01")});
      ASSERT_EQ(read.exit_status, 0) << read.err;
    }
  }
};

TEST_F(Trend, ForetellsWhereTheReadingsCarryIt) {
  Years(9, 2);
  const auto trend = Json<v1::GetMegohmTrendResponse>({"job", "trend", "y0"});
  EXPECT_NEAR(trend.fit().ratio_per_year().nominal(), std::sqrt(0.5), 0.01);
  const Ran told = Do({"job", "trend", "y0"});
  // 400 falls to 5 in 2 x log2(80) = 12.6 years: late in 2022 or about the turn of the year.
  EXPECT_THAT(told.out, AllOf(HasSubstr("falls to the least allowed, 5 megohms: likeliest 202"),
                              HasSubstr("That month is past and nothing was read since"),
                              HasSubstr("29 % less every year"), HasSubstr("9 visits over 8 years"),
                              HasSubstr("o reading; . line through them; - least allowed, 5"), HasSubstr(" 2014")));
  for (absl::string_view line : absl::StrSplit(told.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
  // As many marks as readings, none of them lost behind another.
  const size_t from = told.out.find("Megohms at 40 C"), to = told.out.find("o reading;");
  const std::string plot = told.out.substr(from + 40, to - from - 40);
  EXPECT_EQ(std::count(plot.begin(), plot.end(), 'o'), 9) << plot;
  EXPECT_EQ(Do({"job", "trend", "--serial", "hl-0417", "--json"}).out, Do({"job", "trend", "y0", "--json"}).out);
  const Ran narrow = Do({"job", "trend", "y0", "--width", "60"});
  const size_t until = narrow.out.find("Readings, all");
  for (absl::string_view line : absl::StrSplit(narrow.out.substr(0, until), '\n')) EXPECT_LE(Width(line), 60) << line;
}

TEST_F(Trend, GivesNoDateWhereTheyDoNot) {
  Years(2, 2);
  const Ran told = Do({"job", "trend", "y0"});
  EXPECT_EQ(told.exit_status, 0) << told.err;
  EXPECT_THAT(told.out, AllOf(HasSubstr("No forecast: "), Not(HasSubstr("likeliest"))));
  EXPECT_EQ(Do({"archive", "set-aside", "jobs/y0", "--by", "Bo"}).exit_status, 0);
  ExpectOneLine(Do({"job", "trend", "y0"}), 3, "jobs/y0 is set aside; coilwright archive bring-back");
  Open("none");
  ExpectOneLine(Do({"job", "trend", "--serial", "nobody"}), 3, "nobody");
}

}  // namespace
}  // namespace coilwright::cli
