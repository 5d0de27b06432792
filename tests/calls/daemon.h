#pragma once

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <string>
#include <thread>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/strip.h"

namespace coilwright::calls {

// A running coilwrightd, killed at the end of the test that forgot it. It keeps no archive unless the test names one:
// the default is that of whoever runs the tests.
class Daemon {
 public:
  explicit Daemon(std::vector<std::string> arguments) {
    int out[2], err[2];
    if (pipe2(out, O_CLOEXEC) != 0 || pipe2(err, O_CLOEXEC) != 0) std::abort();
    const auto names_one = [](const std::string& argument) { return absl::StartsWith(argument, "--archive"); };
    if (std::none_of(arguments.begin(), arguments.end(), names_one)) arguments.emplace_back("--archive=none");
    arguments.insert(arguments.begin(), COILWRIGHT_BINARY_DIR "/bin/coilwrightd");
    std::vector<char*> argv;
    for (std::string& argument : arguments) argv.push_back(argument.data());
    argv.push_back(nullptr);
    pid_ = vfork();
    if (pid_ == 0) {
      dup2(out[1], 1);
      dup2(err[1], 2);
      execv(argv[0], argv.data());
      _exit(127);
    }
    close(out[1]);
    close(err[1]);
    out_ = out[0];
    err_ = err[0];
  }
  ~Daemon() {
    if (pid_ > 0) {
      kill(pid_, SIGKILL);
      waitpid(pid_, nullptr, 0);
    }
    close(out_);
    close(err_);
  }
  Daemon(const Daemon&) = delete;
  Daemon& operator=(const Daemon&) = delete;

  std::string Line() const {
    std::string line;
    for (char c = 0; read(out_, &c, 1) == 1 && c != '\n';) line += c;
    return line;
  }
  void Signal(int number) const { kill(pid_, number); }
  // Exit status, or -1 after `limit`; a signal counts as 128 more.
  int Wait(std::chrono::milliseconds limit = std::chrono::seconds(30)) {
    const auto give_up = std::chrono::steady_clock::now() + limit;
    int status = 0;
    while (waitpid(pid_, &status, WNOHANG) == 0) {
      if (std::chrono::steady_clock::now() > give_up) return -1;
      std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
    pid_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }
  std::string Errors() const {
    std::string all;
    char part[4096];
    for (ssize_t size = 0; (size = read(err_, part, sizeof part)) > 0;) all.append(part, static_cast<size_t>(size));
    return all;
  }

 private:
  pid_t pid_ = -1;
  int out_ = -1, err_ = -1;
};

// 0 where the line is another.
inline int PortIn(absl::string_view line) {
  int port = 0;
  return absl::ConsumePrefix(&line, "coilwrightd listening on 127.0.0.1:") && absl::SimpleAtoi(line, &port) ? port : 0;
}

}  // namespace coilwright::calls
