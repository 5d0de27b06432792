#include <condition_variable>
#include <mutex>

#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "simulated/play.h"
#include "simulated/winding.h"

namespace coilwright::simulated {
namespace {

// What the benches of one play share.
struct Floor {
  std::mutex mutex;
  std::condition_variable over;
  Played played;
  int running = 0;
  int unanswered = 0;
  std::atomic<bool>* all_answered_once = nullptr;
};

class LimitsBench final : public grpc::ClientBidiReactor<v1::StreamTestLimitsRequest, v1::StreamTestLimitsResponse> {
 public:
  LimitsBench(Floor* floor, v1::TestLimitService::Stub* stub, unsigned number, int messages,
              std::chrono::system_clock::time_point deadline)
      : floor_(floor), number_(number), messages_(messages) {
    context_.set_deadline(deadline);
    stub->async()->StreamTestLimits(&context_, this);
    Ask();
    StartCall();
  }

  void OnReadDone(bool ok) override {
    if (ok) Next();
  }
  void OnWriteDone(bool ok) override {
    if (ok) Next();
  }

  void OnDone(const grpc::Status& status) override {
    const std::lock_guard<std::mutex> lock(floor_->mutex);
    Played& played = floor_->played;
    played.answers += answered_;
    if (status.ok()) {
      ++played.ended_ok;
      if (answered_ != messages_) faults_.push_back("ended before every machine was answered");
    } else {
      played.ended_otherwise.push_back(status);
    }
    played.faults.insert(played.faults.end(), faults_.begin(), faults_.end());
    if (--floor_->running == 0) floor_->over.notify_all();
    delete this;
  }

 private:
  void Ask() {
    winding_ = Drawn(number_ * 1000003u + static_cast<unsigned>(answered_));
    request_.Clear();
    auto* machine = request_.add_machines();
    machine->set_label(Label());
    machine->mutable_limits()->set_rated_volts(winding_.rated_volts);
    machine->mutable_limits()->mutable_rated_power()->set_kw(winding_.rated_kw);
    awaited_ = 2;
    StartRead(&response_);
    StartWrite(&request_);
  }

  // The answer may be told before the end of the write that asked for it.
  void Next() {
    if (--awaited_ > 0) return;
    Check();
    if (++answered_ == 1) {
      const std::lock_guard<std::mutex> lock(floor_->mutex);
      if (--floor_->unanswered == 0 && floor_->all_answered_once != nullptr) *floor_->all_answered_once = true;
    }
    answered_ < messages_ ? Ask() : StartWritesDone();
  }

  std::string Label() const { return std::to_string(number_) + "/" + std::to_string(answered_); }

  void Check() {
    const auto fault = [this](const char* what) { faults_.push_back(Label() + ": " + what); };
    if (response_.answers_size() != 1) return fault("not one answer for one machine");
    const auto& answer = response_.answers(0);
    if (answer.label() != Label()) return fault("the answer for another machine");
    if (!answer.has_limits()) return fault("no limits for a machine that has some");
    // IEEE Std 43, table of test voltages: never above 500 V DC for a winding under 1 kV, never under for another.
    const double volts_dc = answer.limits().megohm_test().test_volts();
    if (winding_.rated_volts < 1000 ? volts_dc > 500 : volts_dc < 500) fault("a test voltage of another machine");
  }

  Floor* const floor_;
  const unsigned number_;
  const int messages_;
  std::atomic<int> awaited_ = 0;
  int answered_ = 0;
  Winding winding_;
  grpc::ClientContext context_;
  v1::StreamTestLimitsRequest request_;
  v1::StreamTestLimitsResponse response_;
  std::vector<std::string> faults_;
};

}  // namespace

Played PlayLimits(const std::shared_ptr<grpc::Channel>& channel, int windings, int messages,
                  std::chrono::milliseconds deadline, std::atomic<bool>* all_answered_once) {
  const auto stub = v1::TestLimitService::NewStub(channel);
  Floor floor;
  floor.running = floor.unanswered = windings;
  floor.all_answered_once = all_answered_once;
  const auto end = std::chrono::system_clock::now() + deadline;
  for (int i = 0; i < windings; ++i) new LimitsBench(&floor, stub.get(), static_cast<unsigned>(i), messages, end);
  std::unique_lock<std::mutex> lock(floor.mutex);
  floor.over.wait(lock, [&floor] { return floor.running == 0; });
  return std::move(floor.played);
}

}  // namespace coilwright::simulated
