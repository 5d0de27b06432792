#pragma once

#include <atomic>
#include <condition_variable>
#include <mutex>
#include <string>
#include <utility>

#include "grpcpp/grpcpp.h"
#include "simulated/play.h"

namespace coilwright::simulated {

// What the benches of one play share.
struct Floor {
  std::mutex mutex;
  std::condition_variable over;
  Played played;
  int running = 0;
  int unanswered = 0;
  std::atomic<bool>* all_answered_once = nullptr;

  Played WaitUntilOver() {
    std::unique_lock<std::mutex> lock(mutex);
    over.wait(lock, [this] { return running == 0; });
    return std::move(played);
  }
};

// One bench: says a message, waits for its answer, and says the next; after the last it closes its side and reads what
// is left. Deletes itself when its stream is over.
template <typename Request, typename Response>
class Player : public grpc::ClientBidiReactor<Request, Response> {
 public:
  Player(Floor* floor, unsigned number, int messages) : floor_(floor), number_(number), messages_(messages) {}

  // Once the stream is bound to this.
  void Begin() {
    Say();
    this->StartCall();
  }
  grpc::ClientContext* context() { return &context_; }

  void OnReadDone(bool ok) override {
    if (!ok) return;
    if (closed_) {
      Closing(response_);
      this->StartRead(&response_);
    } else {
      Next();
    }
  }
  void OnWriteDone(bool ok) override {
    if (ok) Next();
  }
  void OnDone(const grpc::Status& status) override {
    if (status.ok()) Over();
    const std::lock_guard<std::mutex> lock(floor_->mutex);
    Played& played = floor_->played;
    played.answers += answered_;
    if (status.ok()) {
      ++played.ended_ok;
      if (answered_ != messages_) Fault("ended before every message was answered");
    } else {
      played.ended_otherwise.push_back(status);
    }
    played.faults.insert(played.faults.end(), faults_.begin(), faults_.end());
    if (--floor_->running == 0) floor_->over.notify_all();
    delete this;
  }

 protected:
  virtual void Ask(Request* request) = 0;
  virtual void Check(const Response& response) = 0;
  virtual void Closing(const Response&) { Fault("an answer after the last"); }
  virtual void Over() {}

  void Fault(const std::string& what) { faults_.push_back(Label() + ": " + what); }
  std::string Label() const { return std::to_string(number_) + "/" + std::to_string(answered_); }
  unsigned number() const { return number_; }
  int answered() const { return answered_; }

 private:
  void Say() {
    request_.Clear();
    Ask(&request_);
    awaited_ = 2;
    this->StartRead(&response_);
    this->StartWrite(&request_);
  }

  // The answer may be told before the end of the write that asked for it.
  void Next() {
    if (--awaited_ > 0) return;
    Check(response_);
    if (++answered_ == 1) {
      const std::lock_guard<std::mutex> lock(floor_->mutex);
      if (--floor_->unanswered == 0 && floor_->all_answered_once != nullptr) *floor_->all_answered_once = true;
    }
    if (answered_ < messages_) return Say();
    closed_ = true;
    this->StartRead(&response_);
    this->StartWritesDone();
  }

  Floor* const floor_;
  const unsigned number_;
  const int messages_;
  std::atomic<int> awaited_ = 0;
  std::atomic<bool> closed_ = false;
  int answered_ = 0;
  grpc::ClientContext context_;
  Request request_;
  Response response_;
  std::vector<std::string> faults_;
};

}  // namespace coilwright::simulated
