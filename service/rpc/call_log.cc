#include "rpc/call_log.h"

#include <poll.h>
#include <pthread.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <climits>
#include <csignal>
#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/time/time.h"
#include "rpc/status.h"

namespace coilwright::rpc {
namespace {

// Lines are gathered for this long: one wake of the thread then serves many calls.
constexpr std::chrono::milliseconds kGather(10);
constexpr std::chrono::seconds kLastLines(1);
constexpr int kPollMilliseconds = 50;

}  // namespace

std::string LineOf(const LoggedCall& call) {
  const std::string time = absl::FormatTime("%Y-%m-%dT%H:%M:%E6SZ", absl::FromChrono(call.ended), absl::UTCTimeZone());
  std::string line = absl::StrFormat("time=%s method=%s code=%s seconds=%.6f peer=%s", time, call.method,
                                     NameOf(call.code), std::chrono::duration<double>(call.took).count(), call.peer);
  if (call.client != nullptr) absl::StrAppend(&line, " client=\"", call.client->name, "\"");
  absl::StrAppend(&line, call.stream ? " messages_in=" : " request_bytes=", call.in,
                  call.stream ? " messages_out=" : " answer_bytes=", call.out);
  return line;
}

CallLog::CallLog(Calls calls, int descriptor, size_t most)
    : calls_(calls), descriptor_(descriptor), most_(most), thread_([this] { Loop(); }) {}

CallLog::~CallLog() {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    give_up_ = std::chrono::steady_clock::now() + kLastLines;
    stopping_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

void CallLog::Add(LoggedCall call) { Put({std::move(call), ""}); }

void CallLog::AddText(std::string line) { Put({LoggedCall(), std::move(line)}); }

void CallLog::Put(Line line) {
  bool first = false;
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    if (waiting_.size() >= most_) {
      ++dropped_;
      return;
    }
    first = waiting_.empty();
    waiting_.push_back(std::move(line));
  }
  if (first) changed_.notify_one();
}

void CallLog::Loop() {
  // Nobody reads any more: an error of the write, not the end of the process.
  sigset_t pipe;
  sigemptyset(&pipe);
  sigaddset(&pipe, SIGPIPE);
  pthread_sigmask(SIG_BLOCK, &pipe, nullptr);
  uint64_t dropped_told = 0;
  std::vector<Line> lines;
  while (true) {
    {
      std::unique_lock<std::mutex> lock(mutex_);
      changed_.wait(lock, [this] { return stopping_ || !waiting_.empty(); });
      if (waiting_.empty()) return;
      changed_.wait_for(lock, kGather, [this] { return stopping_.load(); });
      lines.swap(waiting_);
    }
    for (const Line& line : lines) {
      if (!Write(absl::StrCat(line.text.empty() ? LineOf(line.call) : line.text, "\n"))) ++dropped_;
    }
    lines.clear();
    if (const uint64_t dropped = dropped_; dropped != dropped_told) {
      dropped_told = dropped;
      Write(absl::StrCat("log_lines_dropped=", dropped, "\n"));
    }
  }
}

bool CallLog::Write(const std::string& text) {
  size_t done = 0;
  while (done < text.size()) {
    if (stopping_ && std::chrono::steady_clock::now() > give_up_) return false;
    pollfd ready = {descriptor_, POLLOUT, 0};
    if (poll(&ready, 1, kPollMilliseconds) <= 0) continue;
    // What a pipe that is ready takes at once.
    const ssize_t wrote = write(descriptor_, text.data() + done, std::min<size_t>(text.size() - done, PIPE_BUF));
    if (wrote < 0 && errno != EINTR && errno != EAGAIN) return false;
    if (wrote > 0) done += static_cast<size_t>(wrote);
  }
  return true;
}

}  // namespace coilwright::rpc
