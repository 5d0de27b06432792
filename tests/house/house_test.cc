// The promises about the source tree itself: which room may know which, what is registered, how long a file may be.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <regex>
#include <set>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "house/source_tree.h"

namespace coilwright::house {
namespace {

using ::testing::IsEmpty;

const std::vector<std::string> kCode = {".h", ".cc"};

// But for the one with what is installed, in which nothing is compiled.
TEST(House, EveryFolderOfServiceIsARoom) {
  EXPECT_THAT(Files("service/install", kCode), IsEmpty());
  for (const auto& entry : std::filesystem::directory_iterator(COILWRIGHT_SOURCE_DIR "/service")) {
    if (entry.is_directory() && entry.path().filename() != "install") {
      EXPECT_GE(Level(entry.path().filename().string()), 0) << entry.path();
    }
  }
  EXPECT_GE(Rooms().size(), 8u);
}

TEST(House, ArrowsRunOneWay) {
  for (const std::string& room : Rooms()) {
    for (const std::string& path : Files("service/" + room, kCode)) {
      for (const std::string& other : RoomsIncluded(path)) {
        EXPECT_LT(Level(other), Level(room)) << path << " includes " << other;
      }
    }
  }
}

TEST(House, RoomsBelowRpcKnowNoMessageAndNoGrpc) {
  for (const std::string& room : Rooms()) {
    if (room == "rpc") continue;
    for (const std::string& path : Files("service/" + room, kCode)) {
      for (const std::string& include : Includes(path)) {
        EXPECT_FALSE(absl::EndsWith(include, ".pb.h") || absl::StartsWith(include, "grpc") ||
                     absl::StartsWith(include, "google/protobuf"))
            << path << " includes " << include;
      }
    }
    for (const std::string& library : LinksOf(room).others) {
      EXPECT_FALSE(std::regex_search(library, std::regex("proto|grpc", std::regex::icase)))
          << room << " links " << library;
    }
  }
}

// And how numbers are printed, which is the same on a screen and on paper.
TEST(House, AClientKnowsOnlyTheServer) {
  for (const std::string& path : Files("clients", kCode)) {
    for (const std::string& include : Includes(path)) {
      const std::vector<std::string> parts = absl::StrSplit(include, '/');
      if (parts.size() > 1 && Level(parts[0]) >= 0 && parts[0] != "print") {
        EXPECT_EQ(include, "rpc/server.h") << path;
      }
    }
  }
}

// What a header includes is linked PUBLIC, what only the sources include PRIVATE, and nothing else is linked.
TEST(House, RoomsAreLinkedAsTheyAreIncluded) {
  for (const std::string& room : Rooms()) {
    std::set<std::string> in_headers;
    std::set<std::string> in_sources;
    for (const std::string& path : Files("service/" + room, kCode)) {
      (absl::EndsWith(path, ".h") ? in_headers : in_sources).merge(RoomsIncluded(path));
    }
    for (const std::string& other : in_headers) in_sources.erase(other);
    const Links links = LinksOf(room);
    EXPECT_EQ(links.public_rooms, in_headers) << room << ": linked PUBLIC, included by headers";
    EXPECT_EQ(links.private_rooms, in_sources) << room << ": linked PRIVATE, included by sources alone";
  }
}

TEST(House, EveryTestFileIsRegistered) {
  const std::string lists = Read("tests/CMakeLists.txt");
  int count = 0;
  for (const std::string& path : Files("tests", {"_test.cc"})) {
    const std::vector<std::string> parts = absl::StrSplit(path, '/');
    ASSERT_EQ(parts.size(), 3u) << path << ": tests stand directly in a folder of tests/";
    EXPECT_TRUE(std::regex_search(lists, std::regex(absl::StrCat("\n *coilwright_tests\\(", parts[1], "[ )]"))))
        << path;
    ++count;
  }
  EXPECT_GT(count, 0);
}

TEST(House, EveryRoomHasTests) {
  for (const std::string& room : Rooms()) EXPECT_THAT(Files("tests/" + room, {"_test.cc"}), Not(IsEmpty())) << room;
}

// Tables, the licence, the lock file of the lint tools and the written rule pages are not there to be read in one go.
TEST(House, FilesAreShort) {
  for (const std::string folder : {"proto", "service", "clients", "tests", "docs"}) {
    for (const std::string& path : Files(folder)) {
      if (absl::EndsWith(path, ".csv") || absl::EndsWith(path, "package-lock.json")) continue;
      // Written by programs, not by hand.
      if (absl::StartsWith(path, "docs/rules/")) continue;
      if (absl::StartsWith(path, "tests/golden/") && absl::EndsWith(path, ".json")) continue;
      const std::string text = Read(path);
      EXPECT_LE(std::count(text.begin(), text.end(), '\n'), 600) << path;
    }
  }
}

TEST(House, NothingElseStandsAtTheTop) {
  const std::set<std::string> allowed = {"CMakeLists.txt", "CMakePresets.json", "README.md", "DEVELOPERS.md", "LICENSE",
                                         "proto",          "service",           "clients",   "tests",         "docs"};
  for (const auto& entry : std::filesystem::directory_iterator(COILWRIGHT_SOURCE_DIR)) {
    const std::string name = entry.path().filename().string();
    const bool ignored = name == "build" || absl::StartsWith(name, "build-");
    EXPECT_TRUE(ignored || name[0] == '.' || allowed.count(name) != 0) << name;
  }
}

TEST(House, EveryPromiseNamesTestsThatExist) {
  std::set<std::string> tests;
  const std::regex declared(R"(TEST(?:_F|_P)?\((\w+), (\w+)\))");
  for (const std::string& path : Files("tests", {"_test.cc"})) {
    const std::string text = Read(path);
    for (std::sregex_iterator at(text.begin(), text.end(), declared), end; at != end; ++at) {
      tests.insert(absl::StrCat((*at)[1].str(), ".", (*at)[2].str()));
    }
  }
  int named = 0;
  const std::string page = Read("docs/guarantees.md");
  const std::regex mention(R"(`([A-Z]\w+\.\w+)`)");
  for (std::sregex_iterator at(page.begin(), page.end(), mention), end; at != end; ++at) {
    ++named;
    EXPECT_TRUE(tests.count((*at)[1].str())) << (*at)[1].str();
  }
  EXPECT_GE(named, 30);
}

}  // namespace
}  // namespace coilwright::house
