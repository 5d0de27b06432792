#pragma once

#include <string>
#include <vector>

namespace coilwright::cli {

// What a run of the program left behind.
struct Ran {
  int exit_status = -1;
  std::string out;
  std::string err;
};

// Runs build/bin/coilwright with these words; `input` is its standard input.
Ran RunProgram(const std::vector<std::string>& words, const std::string& input = "");
// Likewise another program of the build.
Ran RunFile(const std::string& file, const std::vector<std::string>& words, const std::string& input = "");

// The record that the program gives to begin with, of a machine of this kind.
std::string Template(const std::string& kind);

// What a file holds.
std::string Text(const std::string& path);

// One line on standard error, nothing on standard output, this exit status.
void ExpectOneLine(const Ran& ran, int exit_status, const std::string& part);

}  // namespace coilwright::cli
