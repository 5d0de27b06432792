#include "process_figures.h"

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string>
#include <system_error>
#include <vector>

namespace coilwright {
namespace {

// Fields of /proc/self/stat from the third on: the second is a name in brackets that may hold anything. See proc(5).
std::vector<double> StatFields() {
  std::ifstream file("/proc/self/stat");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  std::istringstream rest(text.substr(text.rfind(')') == std::string::npos ? text.size() : text.rfind(')') + 2));
  std::string state;
  rest >> state;
  std::vector<double> fields{0};
  for (double field = 0; rest >> field;) fields.push_back(field);
  return fields;
}

double BootSeconds() {
  std::ifstream file("/proc/stat");
  for (std::string line; std::getline(file, line);) {
    if (line.rfind("btime ", 0) == 0) return std::stod(line.substr(6));
  }
  return 0;
}

}  // namespace

ProcessFigures ReadProcess() {
  ProcessFigures read;
  const auto ticks = static_cast<double>(sysconf(_SC_CLK_TCK));
  const std::vector<double> fields = StatFields();  // the first is number 3 of the manual
  if (fields.size() > 21) {
    read.cpu_seconds = (fields[11] + fields[12]) / ticks;
    read.start_seconds = BootSeconds() + fields[19] / ticks;
    read.resident_bytes = fields[21] * static_cast<double>(sysconf(_SC_PAGESIZE));
  }
  std::error_code error;
  for (std::filesystem::directory_iterator at("/proc/self/fd", error), end; !error && at != end; at.increment(error))
    ++read.open_files;
  return read;
}

}  // namespace coilwright
