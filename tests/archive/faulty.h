#pragma once

#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "archive/database.h"

namespace coilwright::archive {

// What a store does wrong; shared by its connections and by the test.
class Faults {
 public:
  // One in `out_of` begins, statements, and commits loses its connection; a commit half of the time after it took
  // place.
  void LoseOneIn(int out_of) {
    const std::lock_guard<std::mutex> lock(mutex_);
    out_of_ = out_of;
  }
  // The store cannot be reached at all.
  void SetAway(bool away) {
    const std::lock_guard<std::mutex> lock(mutex_);
    away_ = away;
  }
  bool away() {
    const std::lock_guard<std::mutex> lock(mutex_);
    return away_;
  }
  bool Strikes() {
    const std::lock_guard<std::mutex> lock(mutex_);
    if (out_of_ == 0 || random_() % static_cast<unsigned>(out_of_) != 0) return away_;
    ++struck_;
    return true;
  }
  int struck() {
    const std::lock_guard<std::mutex> lock(mutex_);
    return struck_;
  }
  // Write transactions wait before they begin.
  void SetGate(bool closed) {
    {
      const std::lock_guard<std::mutex> lock(mutex_);
      closed_ = closed;
    }
    opened_.notify_all();
  }
  void PassGate() {
    std::unique_lock<std::mutex> lock(mutex_);
    opened_.wait(lock, [&] { return !closed_; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable opened_;
  std::minstd_rand random_{4711};
  int out_of_ = 0, struck_ = 0;
  bool away_ = false, closed_ = false;
};

class FaultyDatabase : public Database {
 public:
  FaultyDatabase(std::unique_ptr<Database> real, std::shared_ptr<Faults> faults)
      : real_(std::move(real)), faults_(std::move(faults)) {}
  Dialect dialect() const override { return real_->dialect(); }
  std::string version() const override { return real_->version(); }
  absl::StatusOr<std::vector<Row>> Query(absl::string_view sql, const std::vector<Value>& parameters) override {
    if (Lost()) return Gone();
    return real_->Query(sql, parameters);
  }
  absl::Status Later(absl::string_view sql, const std::vector<Value>& parameters) override {
    return Lost() ? Gone() : real_->Later(sql, parameters);
  }
  absl::Status Run(absl::string_view sql) override { return Lost() ? Gone() : real_->Run(sql); }
  absl::Status BeginWrite() override {
    faults_->PassGate();
    return Lost() ? Gone() : real_->BeginWrite();
  }
  absl::Status BeginRead() override { return Lost() ? Gone() : real_->BeginRead(); }
  absl::Status Commit() override {
    if (lost_) return Gone();
    if (!faults_->Strikes()) return real_->Commit();
    lost_ = true;
    took_place_ = !took_place_;
    if (took_place_) {
      real_->Commit().IgnoreError();
    } else {
      real_->Rollback();
    }
    return Gone();
  }
  void Rollback() override { real_->Rollback(); }

 private:
  // A lost connection stays lost, and what was not committed is gone.
  bool Lost() {
    if (!lost_ && faults_->Strikes()) {
      lost_ = true;
      real_->Rollback();
    }
    return lost_;
  }
  static absl::Status Gone() { return absl::UnavailableError("the connection was lost"); }

  const std::unique_ptr<Database> real_;
  const std::shared_ptr<Faults> faults_;
  bool lost_ = false;
  inline static bool took_place_ = false;  // of the last commit that was lost; one thread writes
};

inline OpenDatabase Faulty(const OpenDatabase& open, const std::shared_ptr<Faults>& faults) {
  return [open, faults]() -> absl::StatusOr<std::unique_ptr<Database>> {
    if (faults->away()) return absl::UnavailableError("the store cannot be reached");
    absl::StatusOr<std::unique_ptr<Database>> real = open();
    if (!real.ok()) return real;
    return std::make_unique<FaultyDatabase>(*std::move(real), faults);
  };
}

}  // namespace coilwright::archive
