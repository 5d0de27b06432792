#include "archive/writer.h"

#include <algorithm>
#include <utility>

#include "absl/strings/str_cat.h"
#include "archive/pause.h"

namespace coilwright::archive {
namespace {

using Clock = std::chrono::steady_clock;

// How long a round waits for the callers of the one before to come back, as part of what a commit takes: those who
// write one after the other then share every commit, instead of every other one.
constexpr int kPartOfCommit = 8;
constexpr std::chrono::milliseconds kLongestWait{2};

}  // namespace

Writer::Writer(OpenDatabase open, std::unique_ptr<Database> first, const ArchiveOptions& options)
    : open_(std::move(open)), options_(options), db_(std::move(first)), thread_([this] { Loop(); }) {}

Writer::~Writer() {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    stopping_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

int Writer::waiting() const {
  const std::lock_guard<std::mutex> lock(mutex_);
  return waiting_;
}

Activity Writer::done() const {
  Activity done;
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    done.writes_waiting = waiting_;
    done.greatest_waiting = greatest_waiting_;
  }
  done.writes = writes_;
  done.failed_commits = failed_commits_;
  done.commit_times = commits_.Read();
  for (const uint64_t step : done.commit_times.steps) done.commits += static_cast<int64_t>(step);
  return done;
}

absl::StatusOr<Entry> Writer::Write(NewEntry entry) {
  std::vector<NewEntry> one;
  one.push_back(std::move(entry));
  size_t place = 0;
  auto round = Answered(std::move(one), false, place);
  if (!round.ok()) return round.status();
  return std::move((*round)->calls[place].answer);
}

absl::StatusOr<Imported> Writer::Import(std::vector<NewEntry> entries) {
  if (entries.empty()) return Imported();
  size_t place = 0;
  auto round = Answered(std::move(entries), true, place);
  if (!round.ok()) return round.status();
  const Call& call = (*round)->calls[place];
  if (!call.answer.ok()) return call.answer.status();
  return call.imported;
}

absl::StatusOr<std::shared_ptr<Writer::Round>> Writer::Answered(std::vector<NewEntry> entries, bool import,
                                                                size_t& place) {
  std::shared_ptr<Round> round;
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    if (waiting_ >= options_.most_writes_waiting) {
      return absl::ResourceExhaustedError(
          absl::StrCat(waiting_, " writes wait for the archive already; try again in a moment"));
    }
    const size_t most = static_cast<size_t>(options_.most_in_one_commit);
    if (rounds_.empty() || import || rounds_.back()->import || rounds_.back()->calls.size() >= most) {
      rounds_.push_back(std::make_shared<Round>());
      rounds_.back()->import = import;
    }
    round = rounds_.back();
    place = round->calls.size();
    round->calls.emplace_back(std::move(entries));
    greatest_waiting_ = std::max(greatest_waiting_, ++waiting_);
    // Within the lock: once it is let go this round may be answered, and this object gone.
    changed_.notify_one();
  }
  std::unique_lock<std::mutex> lock(round->mutex);
  round->answered.wait(lock, [&] { return round->done; });
  return round;
}

std::shared_ptr<Writer::Round> Writer::Next() {
  std::unique_lock<std::mutex> lock(mutex_);
  changed_.wait(lock, [&] { return stopping_ || !rounds_.empty(); });
  if (rounds_.empty()) return nullptr;
  const auto gathered = [&] { return stopping_ || rounds_.size() > 1 || rounds_.front()->calls.size() >= last_round_; };
  changed_.wait_for(lock, std::min<Clock::duration>(last_took_ / kPartOfCommit, kLongestWait), gathered);
  std::shared_ptr<Round> round = std::move(rounds_.front());
  rounds_.pop_front();
  return round;
}

void Writer::Loop() {
  while (const std::shared_ptr<Round> round = Next()) {
    const Clock::time_point begun = Clock::now();
    Settle(*round);
    last_took_ = Clock::now() - begun;
    last_round_ = round->calls.size();
    writes_ += static_cast<int64_t>(round->calls.size());
    {
      const std::lock_guard<std::mutex> lock(mutex_);
      waiting_ -= static_cast<int>(round->calls.size());
    }
    {
      const std::lock_guard<std::mutex> lock(round->mutex);
      round->done = true;
    }
    round->answered.notify_all();
  }
}

void Writer::Settle(Round& round) {
  Pause pause(options_.patience);
  while (true) {
    absl::Status done = Attempt(round);
    if (done.ok()) return;
    if (db_ != nullptr) db_->Rollback();
    if (absl::IsUnavailable(done)) db_.reset();
    bool stopping = false;
    {
      const std::lock_guard<std::mutex> lock(mutex_);
      stopping = stopping_;
    }
    if (!stopping && WorthAnotherTry(done) && pause.Once()) continue;
    for (Call& call : round.calls) call.answer = AsTold(done);
    return;
  }
}

absl::Status Writer::Attempt(Round& round) {
  if (db_ == nullptr) {
    absl::StatusOr<std::unique_ptr<Database>> opened = open_();
    if (!opened.ok()) return opened.status();
    db_ = *std::move(opened);
  }
  const Clock::time_point begun_at = Clock::now();
  if (absl::Status begun = db_->BeginWrite(); !begun.ok()) return begun;
  if (round.in_doubt.has_value()) {
    // A transaction is whole or absent, so that its last entry speaks for all; the answers are those of that time.
    const absl::StatusOr<bool> held = Apply::Holds(*db_, *round.in_doubt);
    if (!held.ok()) return held.status();
    if (*held) {
      db_->Rollback();
      return absl::OkStatus();
    }
    round.in_doubt.reset();
  }
  absl::StatusOr<Apply> apply = Apply::Begin(*db_);
  if (!apply.ok()) return apply.status();
  std::vector<const NewEntry*> all;
  for (const Call& call : round.calls) {
    for (const NewEntry& entry : call.entries) all.push_back(&entry);
  }
  if (absl::Status foreseen = apply->Foresee(all); !foreseen.ok()) return foreseen;
  for (Call& call : round.calls) {
    const absl::StatusOr<bool> stays = ApplyCall(*apply, round.import, call);
    if (!stays.ok()) return stays.status();
    if (!*stays) {
      db_->Rollback();
      return absl::OkStatus();
    }
  }
  if (absl::Status finished = apply->Finish(); !finished.ok()) return finished;
  absl::Status committed = db_->Commit();
  if (committed.ok()) {
    commits_.Add(Clock::now() - begun_at);
  } else {
    ++failed_commits_;
  }
  if (absl::IsUnavailable(committed)) round.in_doubt = apply->last();
  return committed;
}

absl::StatusOr<bool> Writer::ApplyCall(Apply& apply, bool import, Call& call) {
  call.imported = Imported();
  for (const NewEntry& entry : call.entries) {
    bool added = false;
    absl::Status store = import ? apply.Import(entry, call.answer, added) : apply.Write(entry, call.answer);
    if (!store.ok()) return store;
    if (import && !call.answer.ok()) return false;
    ++(added ? call.imported.added : call.imported.passed_over);
  }
  return true;
}

}  // namespace coilwright::archive
