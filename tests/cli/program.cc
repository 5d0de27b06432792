#include "program.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include "gmock/gmock.h"
#include "gtest/gtest.h"

namespace coilwright::cli {
namespace {

std::string ReadAndRemove(const std::string& path) {
  const std::string text = Text(path);
  std::remove(path.c_str());
  return text;
}

}  // namespace

Ran RunProgram(const std::vector<std::string>& words, const std::string& input) {
  return RunFile("bin/coilwright", words, input);
}

Ran RunFile(const std::string& file, const std::vector<std::string>& words, const std::string& input) {
  const std::string base = testing::TempDir() + "coilwright_run_" + std::to_string(getpid());
  std::ofstream(base + ".in", std::ios::binary) << input;
  const std::string program = std::string(COILWRIGHT_BINARY_DIR) + "/" + file;
  std::vector<std::string> owned = {program};
  owned.insert(owned.end(), words.begin(), words.end());
  std::vector<char*> argv;
  for (std::string& word : owned) argv.push_back(&word[0]);
  argv.push_back(nullptr);
  const std::string in = base + ".in", out = base + ".out", err = base + ".err";
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, STDIN_FILENO, in.c_str(), O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, out.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  posix_spawn_file_actions_addopen(&files, STDERR_FILENO, err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  pid_t child = 0;
  const int spawned = posix_spawn(&child, program.c_str(), &files, nullptr, argv.data(), environ);
  posix_spawn_file_actions_destroy(&files);
  EXPECT_EQ(spawned, 0) << program;
  if (spawned != 0) return {};
  int status = 0;
  waitpid(child, &status, 0);
  std::remove(in.c_str());
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, ReadAndRemove(out), ReadAndRemove(err)};
}

std::string Text(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::string Template(const std::string& kind) { return RunProgram({"plan", "--template", kind}).out; }

void ExpectOneLine(const Ran& ran, int exit_status, const std::string& part) {
  EXPECT_EQ(ran.exit_status, exit_status) << ran.err;
  EXPECT_THAT(ran.out, testing::IsEmpty());
  EXPECT_THAT(ran.err, testing::AllOf(testing::StartsWith("coilwright: "), testing::HasSubstr(part)));
  EXPECT_EQ(ran.err.find('\n'), ran.err.size() - 1) << ran.err;
}

}  // namespace coilwright::cli
