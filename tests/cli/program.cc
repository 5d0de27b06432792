#include "program.h"

#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include "gtest/gtest.h"

namespace coilwright::cli {
namespace {

std::string ReadAndRemove(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(file), {}};
  std::remove(path.c_str());
  return text;
}

}  // namespace

Ran RunProgram(const std::vector<std::string>& words, const std::string& input) {
  const std::string base = testing::TempDir() + "coilwright_run_" + std::to_string(getpid());
  std::ofstream(base + ".in", std::ios::binary) << input;
  const std::string program = std::string(COILWRIGHT_BINARY_DIR) + "/bin/coilwright";
  std::vector<std::string> owned = {program};
  owned.insert(owned.end(), words.begin(), words.end());
  std::vector<char*> argv;
  for (std::string& word : owned) argv.push_back(&word[0]);
  argv.push_back(nullptr);
  const std::string in = base + ".in", out = base + ".out", err = base + ".err";
  const pid_t child = fork();
  if (child == 0) {
    const bool ready = std::freopen(in.c_str(), "rb", stdin) != nullptr &&
                       std::freopen(out.c_str(), "wb", stdout) != nullptr &&
                       std::freopen(err.c_str(), "wb", stderr) != nullptr;
    if (ready) execv(program.c_str(), argv.data());
    _exit(127);
  }
  int status = 0;
  waitpid(child, &status, 0);
  std::remove(in.c_str());
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, ReadAndRemove(out), ReadAndRemove(err)};
}

}  // namespace coilwright::cli
