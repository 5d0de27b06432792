#include "house/source_tree.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <sstream>

#include "absl/strings/match.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"

namespace coilwright::house {
namespace {

namespace fs = std::filesystem;

const fs::path& Root() {
  static const fs::path& root = *new fs::path(COILWRIGHT_SOURCE_DIR);
  return root;
}

// As in DEVELOPERS.md: the standards, the parts of a winding, the whole of it, its tests, the join, the door.
const std::map<std::string, int>& Levels() {
  static const auto& levels = *new std::map<std::string, int>{
      {"print", 0},      {"standards", 0}, {"wire", 1}, {"slot", 1},    {"electric", 1}, {"winding", 2},
      {"insulation", 2}, {"testing", 3},   {"plan", 4}, {"archive", 4}, {"sheet", 5},    {"rpc", 6}};
  return levels;
}

std::string RoomOf(absl::string_view include_path) {
  const std::vector<std::string> parts = absl::StrSplit(include_path, absl::MaxSplits('/', 1));
  return parts.size() == 2 && Levels().count(parts[0]) != 0 ? parts[0] : "";
}

}  // namespace

std::string Read(const std::string& path) {
  std::ifstream file(Root() / path);
  EXPECT_TRUE(file) << path;
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::vector<std::string> Files(const std::string& folder, const std::vector<std::string>& endings) {
  std::vector<std::string> files;
  if (!fs::exists(Root() / folder)) return files;
  for (auto entry = fs::recursive_directory_iterator(Root() / folder); entry != fs::recursive_directory_iterator();
       ++entry) {
    if (entry->is_directory()) {
      // What git ignores: installed, compiled or generated beside the sources.
      const std::string name = entry->path().filename();
      const fs::path made = Root() / "clients/typescript";
      if (name == "node_modules" || name == "__pycache__" || entry->path() == made / "dist" ||
          entry->path() == made / "generated") {
        entry.disable_recursion_pending();
      }
      continue;
    }
    const std::string path = fs::relative(entry->path(), Root()).generic_string();
    const bool wanted = endings.empty() || std::any_of(endings.begin(), endings.end(), [&](const std::string& ending) {
                          return absl::EndsWith(path, ending);
                        });
    if (wanted) files.push_back(path);
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::vector<std::string> Includes(const std::string& path) {
  static const std::regex& include = *new std::regex(R"(^\s*#\s*include\s*["<]([^">]+)[">])");
  std::vector<std::string> includes;
  std::istringstream lines(Read(path));
  std::smatch match;
  for (std::string line; std::getline(lines, line);) {
    if (std::regex_search(line, match, include)) includes.push_back(match[1]);
  }
  return includes;
}

std::set<std::string> RoomsIncluded(const std::string& path) {
  std::set<std::string> rooms;
  for (const std::string& include : Includes(path)) rooms.insert(RoomOf(include));
  rooms.erase("");
  const absl::string_view below_service = absl::StripPrefix(path, "service/");
  if (below_service.size() != path.size()) rooms.erase(RoomOf(below_service));
  return rooms;
}

Links LinksOf(const std::string& room) {
  const std::string text = Read("service/" + room + "/CMakeLists.txt");
  static const std::regex& call = *new std::regex(R"(coilwright_room\(\s*([a-z]+)([^)]*)\))");
  std::smatch match;
  EXPECT_TRUE(std::regex_search(text, match, call)) << room << " is not declared with coilwright_room()";
  EXPECT_EQ(match[1], room);
  const std::string list = match[2];
  Links links;
  bool is_public = false;
  for (absl::string_view word : absl::StrSplit(list, absl::ByAnyChar(" \n\t"), absl::SkipEmpty())) {
    if (word == "PUBLIC" || word == "PRIVATE") {
      is_public = word == "PUBLIC";
    } else if (const std::string name(absl::StripPrefix(word, "coilwright_")); Levels().count(name) != 0) {
      (is_public ? links.public_rooms : links.private_rooms).insert(name);
    } else {
      links.others.insert(std::string(word));
    }
  }
  return links;
}

const std::vector<std::string>& Rooms() {
  static const auto& rooms = *[] {
    auto* present = new std::vector<std::string>;
    for (const auto& [room, level] : Levels()) {
      if (fs::is_directory(Root() / "service" / room)) present->push_back(room);
    }
    std::stable_sort(present->begin(), present->end(),
                     [](const std::string& a, const std::string& b) { return Level(a) < Level(b); });
    return present;
  }();
  return rooms;
}

int Level(absl::string_view room) {
  const auto found = Levels().find(std::string(room));
  return found == Levels().end() ? -1 : found->second;
}

}  // namespace coilwright::house
