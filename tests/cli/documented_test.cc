// Runs every example of the README, of docs/command-line.md and of docs/archive.md and looks for every line they show.
#include <gmock/gmock.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <regex>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"

namespace coilwright::cli {
namespace {

// Standard output and standard error of a shell line, run in a folder for the purpose.
std::string Shell(const std::string& folder, const std::string& line) {
  const std::string script = absl::StrCat(folder, "/example.sh");
  // The archive of the user is one of the page's own.
  std::ofstream(script) << "cd " << folder << " || exit 1\nPATH=" << COILWRIGHT_BINARY_DIR
                        << "/bin:$PATH\nexport XDG_DATA_HOME=" << folder << "/data\n{ " << line << "\n} 2>&1\n";
  FILE* pipe = popen(absl::StrCat("sh ", script).c_str(), "r");
  std::string out;
  for (int c = pipe == nullptr ? EOF : std::fgetc(pipe); c != EOF; c = std::fgetc(pipe)) out += static_cast<char>(c);
  if (pipe != nullptr) pclose(pipe);
  return out;
}

// Without its dates and times: an archive says when something came in.
std::string Undated(absl::string_view text) {
  static const std::regex* const dates = new std::regex("20\\d\\d-\\d\\d-\\d\\d( \\d\\d:\\d\\d)?");
  return std::regex_replace(std::string(text), *dates, "DATE");
}

class Documented : public testing::TestWithParam<const char*> {};

TEST_P(Documented, ExamplesAnswerAsShown) {
  std::string folder = testing::TempDir() + "coilwright_docs_XXXXXX";
  ASSERT_NE(mkdtemp(&folder[0]), nullptr);
  // Examples name what they use by its place in the tree.
  ASSERT_EQ(symlink(COILWRIGHT_BINARY_DIR, absl::StrCat(folder, "/build").c_str()), 0);
  ASSERT_EQ(symlink(COILWRIGHT_SOURCE_DIR "/clients", absl::StrCat(folder, "/clients").c_str()), 0);
  std::ifstream file(absl::StrCat(COILWRIGHT_SOURCE_DIR, "/", GetParam()));
  const std::string page{std::istreambuf_iterator<char>(file), {}};
  bool in_example = false;
  int commands = 0;
  int lines = 0;
  std::string out;
  size_t at = 0;
  for (absl::string_view line : absl::StrSplit(page, '\n')) {
    if (absl::StartsWith(line, "```")) {
      in_example = line == "```console";
    } else if (in_example && absl::ConsumePrefix(&line, "$ ")) {
      out = Undated(Shell(folder, std::string(line)));
      at = 0;
      ++commands;
    } else if (in_example && !line.empty() && line != "...") {
      const std::string wanted = Undated(line);
      const size_t found = out.find(absl::StrCat(wanted, "\n"), at);
      EXPECT_NE(found, std::string::npos) << line;
      if (found != std::string::npos) at = found + wanted.size();
      ++lines;
    }
  }
  EXPECT_GE(commands, 2);
  EXPECT_GE(lines, 25);
  EXPECT_EQ(std::system(absl::StrCat("rm -r ", folder).c_str()), 0);
}

INSTANTIATE_TEST_SUITE_P(Pages, Documented, testing::Values("README.md", "docs/command-line.md", "docs/archive.md"),
                         [](const auto& page) { return absl::StrCat("page", page.index); });

}  // namespace
}  // namespace coilwright::cli
