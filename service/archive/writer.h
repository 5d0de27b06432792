#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "archive/apply.h"
#include "archive/archive.h"

namespace coilwright::archive {

// The one thread that writes. Calls that wait are gathered into rounds; a round is one transaction and one commit, and
// all of its calls are answered together. Imports have rounds of their own. Safe from any thread.
class Writer {
 public:
  Writer(OpenDatabase open, std::unique_ptr<Database> first, const ArchiveOptions& options);
  // Finishes the writes that wait.
  ~Writer();

  // Block until the disk has it, or it is refused.
  absl::StatusOr<Entry> Write(NewEntry entry);
  absl::StatusOr<Imported> Import(std::vector<NewEntry> entries);
  int waiting() const;
  // All but what reading finds.
  Activity done() const;

 private:
  struct Call {
    explicit Call(std::vector<NewEntry> all) : entries(std::move(all)) {}
    std::vector<NewEntry> entries;  // one but in an import
    absl::StatusOr<Entry> answer = absl::UnknownError("not answered");
    Imported imported;
  };
  struct Round {
    bool import = false;
    std::vector<Call> calls;
    std::optional<Entry> in_doubt;  // the last one of a transaction whose commit nobody answered for
    std::mutex mutex;
    std::condition_variable answered;
    bool done = false;
  };

  // Puts a call into a round and waits for it; the call is that of the round it returns.
  absl::StatusOr<std::shared_ptr<Round>> Answered(std::vector<NewEntry> entries, bool import, size_t& place);
  void Loop();
  std::shared_ptr<Round> Next();
  void Settle(Round& round);
  absl::Status Attempt(Round& round);
  // False where an import is refused, and nothing of it may stay.
  static absl::StatusOr<bool> ApplyCall(Apply& apply, bool import, Call& call);

  const OpenDatabase open_;
  const ArchiveOptions options_;

  // Of the thread alone.
  std::unique_ptr<Database> db_;
  size_t last_round_ = 0;
  std::chrono::steady_clock::duration last_took_{};

  std::atomic<int64_t> writes_{0};
  std::atomic<int64_t> failed_commits_{0};
  Timings commits_;

  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::shared_ptr<Round>> rounds_;
  int waiting_ = 0;
  int greatest_waiting_ = 0;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace coilwright::archive
