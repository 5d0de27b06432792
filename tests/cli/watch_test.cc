// An insulation run followed by the program itself, from a file, from a pipe and against a server.
#include <gmock/gmock.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <fstream>
#include <iterator>
#include <thread>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "coilwright/v1/insulation_run_service.pb.h"
#include "google/protobuf/util/json_util.h"
#include "page.h"
#include "program.h"
#include "rpc/server.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

const char kRun[] = COILWRIGHT_SOURCE_DIR "/clients/demo/retort-pump-run.csv";

std::vector<std::string> Watch(const std::string& file, const std::vector<std::string>& more = {}) {
  std::vector<std::string> words = {"watch", file, "--volts", "690", "--kw", "90", "--kind", "form-wound"};
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

// 500 V over the current of the lines at 30 s, 60 s and 600 s.
TEST(WatchCommand, TellsMarksForecastsAndTheSummary) {
  const Ran ran = RunProgram(Watch(kRun));
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("\n60 s: 4337 megohms"), HasSubstr("\n600 s: 16689 megohms"),
                             HasSubstr("10 min / 1 min will be "), HasSubstr("insulation run of 600 s"),
                             HasSubstr("148 taken, 0 not taken"), HasSubstr("! The winding holds its charge")));
  // Forecasts come before what they foretell.
  EXPECT_LT(ran.out.find("10 min / 1 min will be "), ran.out.find("600 s: "));
  for (absl::string_view line : absl::StrSplit(ran.out, '\n')) EXPECT_LE(Width(line), kPageWidth) << line;
}

TEST(WatchCommand, NamesTheLineThatIsBroken) {
  const Ran ran = RunProgram(Watch("-"),
                             "seconds,volts,megohms,celsius\n30,500,1000,25\nlater,500,1100,25\n40,500\n\n"
                             "20,500,1200,25\n60,500,>1500,25\n");
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out,
              AllOf(HasSubstr("line 3 not taken: seconds: got \"later\", accepted: a number"),
                    HasSubstr("line 4 not taken: got 2 values, accepted: 4"), HasSubstr("line 6 not taken: seconds: "),
                    HasSubstr("60 s: at least 1500 megohms"), HasSubstr("2 taken, 3 not taken")));
  EXPECT_THAT(RunProgram(Watch("-"), "# nothing\nseconds,volts,ohms\n").err,
              HasSubstr("standard input: line 2: got column \"ohms\""));
  for (const char* nothing : {"", "seconds,volts,megohms\n"}) EXPECT_EQ(RunProgram(Watch("-"), nothing).exit_status, 2);
}

// As spreadsheets and loggers write it: byte order mark, capitals, quotation marks, spaces, CRLF.
TEST(WatchCommand, TakesTheFilesOfALogger) {
  const Ran ran =
      RunProgram(Watch("-"), "\xEF\xBB\xBFSeconds , \"Volts\",MEGOHMS,Celsius\r\n30,500,1000,25\r\n60,500,1500,25\r\n");
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("60 s: 1500 megohms"), HasSubstr("2 taken, 0 not taken")));
}

TEST(WatchCommand, TakesTheVoltageSetWhereNoneWasLogged) {
  const char lines[] = "seconds,megohms,celsius\n30,1000,25\n60,1500,25\n";
  EXPECT_THAT(RunProgram(Watch("-"), lines).err, HasSubstr("--test-volts"));
  const Ran ran = RunProgram(Watch("-", {"--test-volts", "500"}), lines);
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("no column of volts: 500 V from --test-volts throughout"),
                             HasSubstr("60 s: 1500 megohms"), HasSubstr("verdict              pass")));
  const Ran json = RunProgram(Watch("-", {"--test-volts", "500", "--json"}), lines);
  EXPECT_THAT(json.err, HasSubstr("no column of volts"));
}

// 0 uA from 2 s on: one line for all of it, with what to do; with the least current of the meter, a bound.
TEST(WatchCommand, TellsAFaultThatGoesOnAsOne) {
  std::string lines = "seconds,volts,microamps,celsius\n";
  for (int i = 1; i <= 299; ++i)
    absl::StrAppend(&lines, i, ",500,", i == 1 ? "0.5" : i == 299 ? "0.0015" : "0", ",25\n");
  const std::string path = absl::StrCat(testing::TempDir(), "coilwright_zero_", getpid(), ".csv");
  std::ofstream(path) << lines;
  const Ran ran = RunProgram(Watch(path));
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("lines 3 to 299 not taken: current_microamps: got 0 uA"),
                             HasSubstr("--least-microamps"), HasSubstr("2 taken, 297 not taken")));
  EXPECT_EQ(ran.out.find("not taken: "), ran.out.rfind("not taken: "));
  const Ran known = RunProgram(Watch(path, {"--least-microamps", "0.001"}));
  EXPECT_THAT(known.out, AllOf(HasSubstr("60 s: at least 500000 megohms"), HasSubstr("299 taken, 0 not taken"),
                               HasSubstr("verdict              pass")));
  std::remove(path.c_str());
}

// 10 V a second to 500 V, then held: the minute is that of the full voltage.
TEST(WatchCommand, CountsFromFullVoltageAfterARamp) {
  std::string lines = "seconds,volts,megohms,celsius\n";
  for (int i = 1; i <= 129; ++i) absl::StrAppend(&lines, i, ",", std::min(10 * i, 500), ",", 10 * i, ",25\n");
  const Ran ran = RunProgram(Watch("-"), lines);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("60 s: 1100 megohms (110 s from the first volt)"),
                             HasSubstr("full voltage         from 50 s on"), HasSubstr("verdict              pass"),
                             Not(HasSubstr("stood at"))));
}

// Megohms of 0 from first to last, all of them sent.
TEST(WatchCommand, CallsAnEarthFaultByItsName) {
  std::string lines = "seconds,volts,megohms,celsius\n";
  for (int i = 1; i <= 69; ++i) absl::StrAppend(&lines, i, ",500,0,25\n");
  const Ran ran = RunProgram(Watch("-"), lines);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("STOP at 1 s: 0 megohms"), HasSubstr("verdict              fail: earth fault"),
                             Not(HasSubstr("before the reading")), Not(HasSubstr("needs the reading"))));
}

// The example that streams limits: usage where asked for, and wrong lines by their number.
TEST(StreamLimitsExample, TellsItsUsageAndWrongLines) {
  const Ran help = RunFile("examples/stream_limits", {"--help"});
  EXPECT_EQ(help.exit_status, 0);
  EXPECT_THAT(help.out, HasSubstr("usage: stream_limits HOST:PORT"));
  EXPECT_EQ(RunFile("examples/stream_limits", {"--nonsense"}).exit_status, 2);
  const auto server = rpc::Server::Start(rpc::ServerOptions());
  ASSERT_TRUE(server.ok()) << server.status();
  const Ran ran = RunFile("examples/stream_limits", {absl::StrCat("127.0.0.1:", (*server)->port())},
                          "230\nhundred\n\n400 V\n690\n");
  EXPECT_EQ(ran.exit_status, 2);
  EXPECT_THAT(ran.err, AllOf(HasSubstr("line 2: got \"hundred\""), HasSubstr("line 4: got \"400 V\"")));
  EXPECT_THAT(ran.out,
              AllOf(HasSubstr("230.000000: withstand 1500 V AC"), HasSubstr("690.000000: withstand 2380 V AC")));
}

TEST(WatchCommand, NamesTheFlagThatIsWrong) {
  const Ran ran = RunProgram({"watch", kRun, "--volts", "0"});
  EXPECT_EQ(ran.exit_status, 2);
  EXPECT_THAT(ran.err, HasSubstr("--volts (rated_volts): got 0 V"));
  EXPECT_THAT(ran.out, IsEmpty());
  const Ran missing = RunProgram({"watch", "/no/such/file.csv", "--volts", "690"});
  EXPECT_EQ(missing.exit_status, 2);
  EXPECT_THAT(missing.err, HasSubstr("cannot be opened"));
  EXPECT_EQ(RunProgram(Watch(kRun, {"--server", "127.0.0.1:1"})).exit_status, 4);
}

TEST(WatchCommand, AnswersOfTheServiceLineByLine) {
  const Ran ran = RunProgram(Watch("-", {"--json"}), absl::StrCat(Text(kRun), "rubbish\n"));
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.err, HasSubstr("line 151 not taken: "));
  v1::RunInsulationTestResponse answer;
  int answers = 0, marks = 0;
  for (absl::string_view line : absl::StrSplit(ran.out, '\n', absl::SkipEmpty())) {
    EXPECT_FALSE(answer.final());
    answer.Clear();
    ASSERT_TRUE(google::protobuf::util::JsonStringToMessage(std::string(line), &answer).ok()) << line;
    ++answers;
    marks += answer.final() ? 0 : answer.marks_size();
  }
  EXPECT_GT(answers, 7);
  EXPECT_EQ(marks, 3);
  EXPECT_TRUE(answer.final());
  EXPECT_EQ(answer.samples_taken(), 148);
  EXPECT_TRUE(answer.has_judged());
}

TEST(WatchCommand, GivesTheSameFromAServer) {
  const auto server = rpc::Server::Start(rpc::ServerOptions());
  ASSERT_TRUE(server.ok()) << server.status();
  const std::string address = absl::StrCat("127.0.0.1:", (*server)->port());
  const Ran remote = RunProgram(Watch(kRun, {"--server", address}));
  EXPECT_EQ(remote.exit_status, 0) << remote.err;
  EXPECT_EQ(remote.out, RunProgram(Watch(kRun)).out);
}

// While the pipe is open: the mark at 60 s is told once its reading has come, the summary only at the end of the input.
TEST(WatchCommand, TellsMarksAsTheyPass) {
  const std::string out = absl::StrCat(testing::TempDir(), "coilwright_watch_", getpid());
  FILE* pipe = popen(
      absl::StrCat(COILWRIGHT_BINARY_DIR "/bin/coilwright watch - --volts 690 --kind form-wound > ", out).c_str(), "w");
  ASSERT_NE(pipe, nullptr);
  std::fputs("seconds,volts,megohms,celsius\n30,500,300,40\n60,500,400,40\n", pipe);
  std::fflush(pipe);
  std::string told;
  for (int i = 0; i < 300 && told.find("60 s: 400 megohms") == std::string::npos; ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
    told = Text(out);
  }
  EXPECT_THAT(
      told, AllOf(HasSubstr("30 s: 300 megohms"), HasSubstr("60 s: 400 megohms"), Not(HasSubstr("insulation run of"))));
  std::fputs("600,500,1000,40\n", pipe);
  EXPECT_EQ(pclose(pipe), 0);
  EXPECT_THAT(Text(out), AllOf(HasSubstr("600 s: 1000 megohms"), HasSubstr("insulation run of 600 s"),
                               HasSubstr("2.50 (least 2)")));
  std::remove(out.c_str());
}

// The server goes away after the first readings: what they came to is told all the same.
TEST(WatchCommand, SumsUpWhatItHasWhenTheServerGoesAway) {
  const auto server = rpc::Server::Start(rpc::ServerOptions());
  ASSERT_TRUE(server.ok()) << server.status();
  const std::string out = absl::StrCat(testing::TempDir(), "coilwright_watch_cut_", getpid());
  FILE* pipe =
      popen(absl::StrCat(COILWRIGHT_BINARY_DIR "/bin/coilwright watch - --volts 690 --kind form-wound --server ",
                         "127.0.0.1:", (*server)->port(), " > ", out, " 2>&1")
                .c_str(),
            "w");
  ASSERT_NE(pipe, nullptr);
  std::fputs("seconds,volts,megohms,celsius\n30,500,300,40\n60,500,400,40\n", pipe);
  std::fflush(pipe);
  for (int i = 0; i < 300 && Text(out).find("60 s: 400 megohms") == std::string::npos; ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
  }
  (*server)->Shutdown(std::chrono::milliseconds(0));
  std::fputs("61,500,400,40\n", pipe);
  EXPECT_NE(pclose(pipe), 0);
  const std::string told = Text(out);
  EXPECT_THAT(told,
              AllOf(HasSubstr("insulation run of 60 s"), HasSubstr("2 taken"), HasSubstr("the server is stopping")));
  EXPECT_GT(told.rfind("400 megohms"), told.find("insulation run of"));
  EXPECT_EQ(told.find("\n60 s: 400 megohms"), told.rfind("\n60 s: 400 megohms"));
  std::remove(out.c_str());
}

}  // namespace
}  // namespace coilwright::cli
