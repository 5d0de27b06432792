#pragma once

#include <string>
#include <utility>
#include <vector>

namespace coilwright::manual {

// What is told of the command line, from its table of commands.
struct Sources {
  std::string version;
  std::string documentation;  // pages with command lines that are run by a test
};

// Name of the file below share/man and its text: coilwright.1 and one page for every first word of a command.
std::vector<std::pair<std::string, std::string>> CommandPages(const Sources& sources);

// coilwrightd.8, from the flags of the server.
std::string ServerPage(const Sources& sources);

// The file of flags that an installed server reads: every flag with what it means, none set but the archive.
std::string ServerFlagFile();

// Completions for bash.
std::string CommandCompletion();
std::string ServerCompletion();

}  // namespace coilwright::manual
