#pragma once

#include <string>
#include <vector>

namespace coilwright::manual {

struct ServerFlag {
  std::string name;
  std::string value;  // what stands after it, "" for a switch: "PORT", "calls|errors|none"
  std::string fallback;
  std::string help;
};

// The flags of the server in the order of its usage. Ends the program where that does not name one of them.
std::vector<ServerFlag> ServerFlags();

}  // namespace coilwright::manual
