#pragma once

#include <set>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"

namespace coilwright::house {

// Paths are relative to the root of the source tree: "service/wire/wire.h".

// The text of a file; a file that cannot be read fails the running test and is empty.
std::string Read(const std::string& path);

// Every file below `folder` whose name ends in one of `endings` (every file if none), sorted; build trees and installed
// packages left out.
std::vector<std::string> Files(const std::string& folder, const std::vector<std::string>& endings = {});

// What a C++ file includes, without quotes or angle brackets.
std::vector<std::string> Includes(const std::string& path);

// The other rooms that a file of service/ or clients/ includes.
std::set<std::string> RoomsIncluded(const std::string& path);

// The rooms linked by the coilwright_room() call of service/<room>/CMakeLists.txt, and everything else it links.
struct Links {
  std::set<std::string> public_rooms;
  std::set<std::string> private_rooms;
  std::set<std::string> others;
};
Links LinksOf(const std::string& room);

// The rooms, lowest first.
const std::vector<std::string>& Rooms();
// A room includes rooms of a lower level only.
int Level(absl::string_view room);

}  // namespace coilwright::house
