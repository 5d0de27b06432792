#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "absl/strings/string_view.h"
#include "grpcpp/support/status.h"
#include "rpc/access.h"

namespace coilwright::rpc {

// One call as it is logged: who called what, when, how it ended. Nothing of what it was asked or answered: a message or
// a status may hold what a customer wrote.
struct LoggedCall {
  std::chrono::system_clock::time_point ended;
  absl::string_view method;
  std::shared_ptr<const Client> client;  // null where nobody was asked
  std::string peer;                      // "ipv4:127.0.0.1:40112"
  grpc::StatusCode code = grpc::StatusCode::OK;
  std::chrono::nanoseconds took{};
  bool stream = false;
  // Bytes of the request and the answer, or messages of a stream.
  uint64_t in = 0, out = 0;
};

// One line for each call, as `name=value` with spaces between (logfmt): grep and people read it as it is, and log
// collectors take it apart without a format of ours.
std::string LineOf(const LoggedCall& call);

// Lines on their way to a file descriptor. They are written by a thread of its own: whoever adds one never waits, and
// where nobody takes the lines they are dropped and counted. Safe from any thread.
class CallLog {
 public:
  enum class Calls { kNone, kErrors, kAll };

  // `descriptor` stays open as long as this; lines wait at most `most` at a time.
  CallLog(Calls calls, int descriptor, size_t most = 4096);
  // Writes what waits, for a second at most.
  ~CallLog();
  CallLog(const CallLog&) = delete;
  CallLog& operator=(const CallLog&) = delete;

  // Whether a call that ended so is logged.
  bool Takes(grpc::StatusCode code) const {
    return calls_ == Calls::kAll || (calls_ == Calls::kErrors && code != grpc::StatusCode::OK);
  }
  void Add(LoggedCall call);
  // Any line, without its line feed, whatever calls are logged.
  void AddText(std::string line);
  uint64_t dropped() const { return dropped_; }

 private:
  struct Line {
    LoggedCall call;
    std::string text;  // instead of a call, where it is not empty
  };
  void Put(Line line);
  void Loop();
  // False where the time is up before all of it was taken.
  bool Write(const std::string& text);

  const Calls calls_;
  const int descriptor_;
  const size_t most_;
  std::atomic<uint64_t> dropped_{0};
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<Line> waiting_;
  std::atomic<bool> stopping_{false};
  std::chrono::steady_clock::time_point give_up_ = std::chrono::steady_clock::time_point::max();
  std::thread thread_;
};

}  // namespace coilwright::rpc
