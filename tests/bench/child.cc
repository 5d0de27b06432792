#include "bench/child.h"

#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>

extern char** environ;

namespace coilwright::bench {
namespace {

double Seconds(const timespec& time) {
  return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
}

void Demand(bool done, const std::string& program, const char* what) {
  if (done) return;
  std::fprintf(stderr, "%s: %s\n", program.c_str(), what);
  std::abort();
}

}  // namespace

double Now() {
  timespec time = {};
  clock_gettime(CLOCK_MONOTONIC, &time);
  return Seconds(time);
}

double OwnCpuSeconds() {
  timespec time = {};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
  return Seconds(time);
}

Child::Child(const std::vector<std::string>& command) : program_(command[0]) {
  int ends[2];
  Demand(pipe(ends) == 0, program_, "no pipe");
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_adddup2(&files, ends[1], STDOUT_FILENO);
  posix_spawn_file_actions_addclose(&files, ends[0]);
  posix_spawn_file_actions_addclose(&files, ends[1]);
  std::vector<char*> arguments;
  for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  Demand(posix_spawn(&pid_, arguments[0], &files, nullptr, arguments.data(), environ) == 0, program_, "not started");
  posix_spawn_file_actions_destroy(&files);
  close(ends[1]);
  output_ = ends[0];
}

Child::~Child() {
  if (pid_ > 0) {
    kill(pid_, SIGTERM);
    waitpid(pid_, nullptr, 0);
  }
  close(output_);
}

std::string Child::Line() const {
  std::string line;
  for (char byte = 0; read(output_, &byte, 1) == 1 && byte != '\n';) line += byte;
  return line;
}

void Child::Signal(int number) const { kill(pid_, number); }

void Child::Kill() {
  kill(pid_, SIGKILL);
  waitpid(pid_, nullptr, 0);
  pid_ = 0;
}

std::string Child::ListeningAddress() {
  const std::string line = Line();
  const std::string before = "listening on ";
  const size_t at = line.find(before);
  Demand(at != std::string::npos, program_, "did not say where it listens");
  return line.substr(at + before.size());
}

void Child::Finish(double* answered) {
  *answered = 0;
  char bytes[4096];
  while (read(output_, bytes, sizeof bytes) > 0) *answered = Now();
  int status = 0;
  Demand(waitpid(pid_, &status, 0) == pid_ && WIFEXITED(status) && WEXITSTATUS(status) == 0, program_, "failed");
  pid_ = 0;
}

double Child::CpuSeconds() const {
  clockid_t clock = 0;
  timespec time = {};
  Demand(clock_getcpuclockid(pid_, &clock) == 0 && clock_gettime(clock, &time) == 0, program_, "no processor clock");
  return Seconds(time);
}

double Child::ResidentMib() const {
  std::ifstream status("/proc/" + std::to_string(pid_) + "/status");
  std::string key;
  double kib = 0;
  while (status >> key && key != "VmRSS:") {
  }
  Demand(static_cast<bool>(status >> kib), program_, "no resident memory in /proc");
  return kib / 1024;
}

}  // namespace coilwright::bench
