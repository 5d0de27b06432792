#include "coilwright/v1/test_limit_service.grpc.pb.h"
#include "simulated/player.h"
#include "simulated/winding.h"

namespace coilwright::simulated {
namespace {

class LimitsBench final : public Player<v1::StreamTestLimitsRequest, v1::StreamTestLimitsResponse> {
 public:
  using Player::Player;

 private:
  void Ask(v1::StreamTestLimitsRequest* request) override {
    winding_ = Drawn(number() * 1000003u + static_cast<unsigned>(answered()));
    auto* machine = request->add_machines();
    machine->set_label(Label());
    machine->mutable_limits()->set_rated_volts(winding_.rated_volts);
    machine->mutable_limits()->mutable_rated_power()->set_kw(winding_.rated_kw);
  }

  void Check(const v1::StreamTestLimitsResponse& response) override {
    if (response.answers_size() != 1) return Fault("not one answer for one machine");
    const auto& answer = response.answers(0);
    if (answer.label() != Label()) return Fault("the answer for another machine");
    if (!answer.has_limits()) return Fault("no limits for a machine that has some");
    // IEEE Std 43, table of test voltages: never above 500 V DC for a winding under 1 kV, never under for another.
    const double volts_dc = answer.limits().megohm_test().test_volts();
    if (winding_.rated_volts < 1000 ? volts_dc > 500 : volts_dc < 500) Fault("a test voltage of another machine");
  }

  Winding winding_;
};

}  // namespace

Played PlayLimits(const std::shared_ptr<grpc::Channel>& channel, int windings, int messages,
                  std::chrono::milliseconds deadline, std::atomic<bool>* all_answered_once) {
  const auto stub = v1::TestLimitService::NewStub(channel);
  Floor floor;
  floor.running = floor.unanswered = windings;
  floor.all_answered_once = all_answered_once;
  const auto end = std::chrono::system_clock::now() + deadline;
  for (int i = 0; i < windings; ++i) {
    auto* bench = new LimitsBench(&floor, static_cast<unsigned>(i), messages);
    bench->context()->set_deadline(end);
    stub->async()->StreamTestLimits(bench->context(), bench);
    bench->Begin();
  }
  return floor.WaitUntilOver();
}

}  // namespace coilwright::simulated
