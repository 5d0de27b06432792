// The demo archive: every recorded winding is what its list says, so that the two planted slips are the only ones.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_split.h"
#include "cli/program.h"

namespace coilwright::cli {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

const char kFolder[] = COILWRIGHT_SOURCE_DIR "/clients/demo/archive/";

// Rows of a list, by the names in its first row.
std::vector<std::map<std::string, std::string>> List(const std::string& file) {
  std::ifstream in(kFolder + file);
  std::vector<std::string> header;
  std::vector<std::map<std::string, std::string>> rows;
  for (std::string line; std::getline(in, line);) {
    if (absl::StartsWith(line, "#")) continue;
    const std::vector<std::string> cells = absl::StrSplit(line, '\t');
    if (header.empty()) {
      header = cells;
      continue;
    }
    EXPECT_EQ(cells.size(), header.size()) << file << ": " << line;
    std::map<std::string, std::string>& row = rows.emplace_back();
    for (size_t i = 0; i < std::min(cells.size(), header.size()); ++i) row[header[i]] = cells[i];
  }
  return rows;
}

TEST(DemoArchive, EveryRecordChecksAsTheListSays) {
  std::set<std::string> listed, texts;
  int slips = 0;
  for (auto& row : List("windings.tsv")) {
    const std::string file = std::string(kFolder) + "windings/" + row["winding"] + ".json";
    listed.insert(row["winding"] + ".json");
    const Ran ran = RunProgram({"check", file});
    EXPECT_THAT(ran.out, HasSubstr("Record check: " + (row["check"] == "sound" ? std::string("sound") : "")))
        << file << ran.err;
    if (row["check"] == "explained") {
      ++slips;
      EXPECT_EQ(ran.exit_status, 5) << file;
    } else {
      EXPECT_EQ(ran.exit_status, 0) << file << ran.out;
      EXPECT_EQ(row["check"], "sound") << file;
    }
    std::ifstream in(file);
    EXPECT_TRUE(texts.insert(std::string(std::istreambuf_iterator<char>(in), {})).second) << file << " stands twice";
  }
  EXPECT_EQ(slips, 2);
  std::set<std::string> present;
  for (const auto& entry : std::filesystem::directory_iterator(std::string(kFolder) + "windings")) {
    present.insert(entry.path().filename());
  }
  EXPECT_EQ(present, listed);
  EXPECT_GE(listed.size(), 40u);
}

// What was planted comes out first: turns counted over two coils, and a gauge over the film.
TEST(DemoArchive, ThePlantedSlipsAreFound) {
  const auto first = [](const std::string& winding) {
    std::string out = RunProgram({"check", kFolder + ("windings/" + winding) + ".json"}).out;
    const std::vector<std::string> lines = absl::StrSplit(out, '\n');
    for (size_t i = 0; i + 1 < lines.size(); ++i) {
      if (absl::StrContains(lines[i], "group   chance")) return lines[i + 1];
    }
    return out;
  };
  EXPECT_THAT(first("effluent-pump"), AllOf(HasSubstr(" winding.turns_per_coil "), HasSubstr(" 14, not 28")));
  EXPECT_THAT(first("waste-auger"), AllOf(HasSubstr(" winding.strands "), HasSubstr(" 5 x 0.4478 mm bare, not ")));
}

TEST(DemoArchive, JobsAndStepsNameWhatIsThere) {
  std::set<std::string> windings, jobs;
  for (auto& row : List("windings.tsv")) windings.insert(row["winding"]);
  for (auto& row : List("jobs.tsv")) {
    EXPECT_TRUE(windings.count(row["winding"])) << row["job"];
    EXPECT_TRUE(jobs.insert(row["job"]).second) << row["job"];
  }
  EXPECT_GE(jobs.size(), 12u);
  std::set<std::string> used;
  std::string before;
  for (auto& row : List("steps.tsv")) {
    EXPECT_TRUE(jobs.count(row["job"])) << row["job"];
    used.insert(row["job"]);
    EXPECT_LE(before, row["when"]) << "in the order it happened";
    before = row["when"];
  }
  EXPECT_EQ(used, jobs);
}

// The whole of it by the one command: loaded in a temporary folder, found, followed, and the slips shown.
TEST(DemoArchive, IsLoadedAndShownByOneCommand) {
  FILE* pipe = popen("COILWRIGHT=" COILWRIGHT_BINARY_DIR "/bin/coilwright bash " COILWRIGHT_SOURCE_DIR
                     "/clients/demo_archive.sh 2>&1",
                     "r");
  ASSERT_NE(pipe, nullptr);
  std::string out;
  char part[4096];
  for (size_t n; (n = std::fread(part, 1, sizeof part, pipe)) > 0;) out.append(part, n);
  EXPECT_EQ(pclose(pipe), 0) << out;
  EXPECT_THAT(out, HasSubstr("demo: loading 45 windings and 15 jobs"));
  EXPECT_THAT(out, HasSubstr("1. windings/seamer-head-1"));
  EXPECT_THAT(out, HasSubstr("it falls to the least allowed, 5 megohms: likeliest 2031"));
  EXPECT_THAT(out, HasSubstr("No forecast: the slope does not differ from zero"));
  EXPECT_THAT(out, HasSubstr("No forecast: fewer than 3 readings with a value of their own"));
  // One job went all the way, on a sound verdict.
  const size_t job = out.find("job show exhaust-fan-2-rewind"), history = out.find("job history exhaust-fan-2-rewind");
  ASSERT_NE(history, std::string::npos);
  EXPECT_THAT(out.substr(job, history - job),
              AllOf(HasSubstr("Plan chosen: way 1"), HasSubstr("Released"),
                    HasSubstr("Oda Penwarden, licensed electrician, card 0419"), HasSubstr("verdict      sound")));
  EXPECT_THAT(out.substr(history), AllOf(HasSubstr("plan chosen: way 1"), HasSubstr("released")));
  // The two slips and no other.
  const size_t slips = out.find("archive find --verdict explained");
  ASSERT_NE(slips, std::string::npos);
  EXPECT_THAT(out.substr(slips), HasSubstr("\n2 found"));
  EXPECT_THAT(out.substr(slips), HasSubstr("28 should read 14"));
  EXPECT_THAT(out.substr(slips), HasSubstr("wire measured over its film"));
}

}  // namespace
}  // namespace coilwright::cli
