#include "rpc/stream.h"

#include <algorithm>

#include "absl/strings/str_cat.h"
#include "rpc/status.h"

namespace coilwright::rpc {

// One stream. At any time one read or one write is under way, until Finish; nothing is started after it.
class Streams::Reactor final : public BytesReactor {
 public:
  Reactor(Streams* streams, Call call, grpc::CallbackServerContext* context, std::unique_ptr<BytesSession> session)
      : streams_(streams),
        call_(std::move(call)),
        context_(context),
        session_(std::move(session)),
        moved_(Clock::now()) {}

  const absl::Status& permitted() const { return call_.permitted(); }

  void Begin() { StartRead(&in_); }
  void Refuse(const absl::Status& status) {
    streams_ = nullptr;
    Stop(ToGrpcStatus(status));
  }

  void OnReadDone(bool ok) override {
    const std::lock_guard<std::mutex> lock(mutex_);
    if (ended_) return;
    moved_ = Clock::now();
    if (!ok) {
      // The client has closed its side, or has gone.
      context_->IsCancelled() ? Stop(grpc::Status::CANCELLED) : End(grpc::Status::OK);
      return;
    }
    call_.Received();
    const absl::StatusOr<bool> answered = session_->Take(&in_, &out_);
    in_.Clear();
    if (!answered.ok()) {
      End(ToGrpcStatus(answered.status()));
    } else if (*answered) {
      Write();
    } else {
      StartRead(&in_);
    }
  }

  void OnWriteDone(bool ok) override {
    const std::lock_guard<std::mutex> lock(mutex_);
    writing_ = false;
    out_.Clear();
    moved_ = Clock::now();
    if (ok) call_.Sent();
    if (!ok) {
      Stop(grpc::Status::CANCELLED);
    } else if (ended_) {
      summed_up_ ? Stop(final_) : SumUp();
    } else {
      StartRead(&in_);
    }
  }

  void OnDone() override {
    if (streams_ != nullptr) streams_->Leave(this);
    delete this;
  }

  // Ends the stream from outside.
  void Close(const absl::Status& status) {
    const std::lock_guard<std::mutex> lock(mutex_);
    if (!ended_) End(ToGrpcStatus(status));
  }

  void CloseIfIdle(Clock::time_point since) {
    const std::lock_guard<std::mutex> lock(mutex_);
    if (moved_ > since) return;
    if (writing_) {
      context_->TryCancel();  // a status would wait behind the answer that is not read
    } else if (!ended_) {
      End(ToGrpcStatus(absl::DeadlineExceededError("the stream was idle for too long; open another")));
    }
  }

 private:
  // What is being sent goes out first, then what the session has to say at the end, then the status.
  void End(const grpc::Status& status) {
    ended_ = true;
    final_ = status;
    if (!writing_) SumUp();
  }

  void SumUp() {
    summed_up_ = true;
    const absl::StatusOr<bool> answered = session_->Finish(&out_);
    if (!answered.ok() && final_.ok()) final_ = ToGrpcStatus(answered.status());
    answered.ok() && *answered ? Write() : Stop(final_);
  }

  void Write() {
    writing_ = true;
    StartWrite(&out_);
  }

  void Stop(const grpc::Status& status) {
    ended_ = true;
    call_.End(status);
    Finish(status);
  }

  Streams* streams_;  // null where it was refused
  Call call_;
  grpc::CallbackServerContext* const context_;
  std::mutex mutex_;  // reads and writes come one after the other, but the watch comes from outside
  const std::unique_ptr<BytesSession> session_;
  grpc::ByteBuffer in_;
  grpc::ByteBuffer out_;
  grpc::Status final_;
  Clock::time_point moved_;
  bool writing_ = false;
  bool ended_ = false;
  bool summed_up_ = false;
};

Streams::~Streams() {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  if (watch_.joinable()) watch_.join();
}

BytesReactor* Streams::Open(grpc::CallbackServerContext* context, const MethodEntry& method,
                            std::unique_ptr<BytesSession> session) {
  auto* reactor = new Reactor(this, Call(calls_, method, *context), context, std::move(session));
  const std::lock_guard<std::mutex> lock(mutex_);
  if (!reactor->permitted().ok()) {
    reactor->Refuse(reactor->permitted());
  } else if (Clock::now() >= close_at_) {
    reactor->Refuse(absl::UnavailableError("the server is stopping"));
  } else if (open_.size() >= static_cast<size_t>(most_open_)) {
    reactor->Refuse(absl::ResourceExhaustedError(
        absl::StrCat(most_open_, " streams are open, which is all this server holds; try again later")));
  } else {
    open_.insert(reactor);
    if (!watch_.joinable()) watch_ = std::thread([this] { Watch(); });
    reactor->Begin();
  }
  return reactor;
}

int Streams::open() const {
  const std::lock_guard<std::mutex> lock(mutex_);
  return static_cast<int>(open_.size());
}

void Streams::CloseAt(Clock::time_point when) {
  {
    const std::lock_guard<std::mutex> lock(mutex_);
    close_at_ = when;
  }
  wake_.notify_all();
}

void Streams::Leave(Reactor* reactor) {
  const std::lock_guard<std::mutex> lock(mutex_);
  open_.erase(reactor);
}

void Streams::Watch() {
  std::unique_lock<std::mutex> lock(mutex_);
  while (!stopping_) {
    const Clock::time_point now = Clock::now();
    const bool closing = now >= close_at_;
    for (Reactor* reactor : open_) {
      if (closing) reactor->Close(absl::UnavailableError("the server is stopping"));
      reactor->CloseIfIdle(now - idle_);
    }
    const Clock::time_point look = now + idle_ / 4;
    wake_.wait_until(lock, closing ? look : std::min(look, close_at_));
  }
}

}  // namespace coilwright::rpc
