#pragma once

#include <cstdio>
#include <cstdlib>
#include <string>

// GNU units, an independent program with its own definitions of gauges and constants, asked for one conversion.
namespace coilwright::standards {

// `what` in `unit` to twelve figures; aborts where the program is missing, so that no check passes unasked.
inline double GnuUnits(const std::string& what, const std::string& unit) {
  const std::string command = "units -o %.12g -t '" + what + "' '" + unit + "'";
  FILE* pipe = popen(command.c_str(), "r");
  char line[128] = "";
  const bool read = pipe != nullptr && std::fgets(line, sizeof line, pipe) != nullptr;
  const int status = pipe != nullptr ? pclose(pipe) : -1;
  if (!read || status != 0) {
    std::fprintf(stderr, "GNU units did not answer: %s\n", command.c_str());
    std::abort();
  }
  return std::strtod(line, nullptr);
}

}  // namespace coilwright::standards
