// The commands of docs/operations.md that make certificates and serve by them, run as they stand there.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <memory>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "calls/authority.h"
#include "calls/daemon.h"
#include "program.h"

namespace coilwright::cli {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

// What stands between ```bash and ```, one text per block.
std::vector<std::string> Blocks() {
  const std::string page = Text(COILWRIGHT_SOURCE_DIR "/docs/operations.md");
  std::vector<std::string> blocks;
  bool inside = false;
  for (absl::string_view line : absl::StrSplit(page, '\n')) {
    if (absl::StartsWith(line, "```")) {
      inside = line == "```bash";
      if (inside) blocks.emplace_back();
    } else if (inside) {
      absl::StrAppend(&blocks.back(), line, "\n");
    }
  }
  return blocks;
}

class Operations : public ::testing::Test {
 protected:
  // Runs a block in the folder; what it says goes to `out`.
  bool Runs(const std::string& block, std::string* out) const {
    const std::string script = folder_.Write(
        "block.sh",
        absl::StrCat("set -eu\ncd ", folder_.path(), "\nPATH=", COILWRIGHT_BINARY_DIR, "/bin:$PATH\n", block));
    FILE* pipe = popen(absl::StrCat("bash ", script, " 2>&1").c_str(), "r");
    if (pipe == nullptr) return false;
    for (int c = std::fgetc(pipe); c != EOF; c = std::fgetc(pipe)) *out += static_cast<char>(c);
    return pclose(pipe) == 0;
  }

  const calls::CertificateFolder folder_;
};

TEST_F(Operations, TheStepsToASecureServerWorkAsWritten) {
  std::filesystem::copy_file(COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json",
                             folder_.path() + "/can-seamer-servo.json");
  std::unique_ptr<calls::Daemon> daemon;
  int port = 0;
  int clients = 0;
  for (const std::string& block : Blocks()) {
    if (absl::StartsWith(block, "coilwrightd ")) {
      // The same server on a free port of this machine alone.
      std::vector<std::string> flags;
      for (absl::string_view word : absl::StrSplit(block, absl::ByAnyChar(" \n"), absl::SkipEmpty())) {
        const std::pair<absl::string_view, absl::string_view> flag = absl::StrSplit(word, absl::MaxSplits('=', 1));
        if (flag.first == "coilwrightd" || flag.first == "--host") continue;
        flags.push_back(absl::StrCat(flag.first, "=", folder_.path(), "/", flag.second));
      }
      flags.emplace_back("--port=0");
      daemon = std::make_unique<calls::Daemon>(flags);
      port = calls::PortIn(daemon->Line());
      ASSERT_GT(port, 0) << daemon->Errors();
      continue;
    }
    std::string out;
    const std::string here = absl::StrReplaceAll(block, {{"bench-server:7360", absl::StrCat("127.0.0.1:", port)}});
    EXPECT_TRUE(Runs(here, &out)) << block << out;
    if (!absl::StartsWith(block, "coilwright ")) continue;
    ++clients;
    EXPECT_THAT(out, HasSubstr("jobs/seamer"));
    // The page says that only the foreman's certificate releases a machine.
    out.clear();
    const std::string release = here.substr(here.find("coilwright job sign-off"));
    EXPECT_FALSE(Runs(absl::StrReplaceAll(release, {{"foreman.", "bench-3."}}), &out));
    EXPECT_THAT(out, HasSubstr("the certificate \"bench-3\" has the role record; "
                               "coilwright.v1.JobService/SignOffJob needs the role sign off"));
  }
  EXPECT_EQ(clients, 1);
}

TEST_F(Operations, TheInstalledExampleOfRolesIsThatOfThePage) {
  EXPECT_THAT(Blocks(), Contains(HasSubstr(Text(COILWRIGHT_SOURCE_DIR "/clients/demo/roles.json"))));
}

}  // namespace
}  // namespace coilwright::cli
