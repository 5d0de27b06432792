#include "coilwright/v1/insulation_run_service.grpc.pb.h"
#include "simulated/player.h"
#include "simulated/winding.h"

namespace coilwright::simulated {
namespace {

constexpr int kSamplesPerMessage = 10;
constexpr int kMessages = 62;  // 620 s at one reading a second

class RunBench final : public Player<v1::RunInsulationTestRequest, v1::RunInsulationTestResponse> {
 public:
  RunBench(Floor* floor, unsigned number)
      : Player(floor, number, kMessages), winding_(Drawn(number)), random_(number) {}

 private:
  double TestVolts() const { return winding_.rated_volts < 1000 ? 500 : winding_.rated_volts < 2500 ? 1000 : 2500; }

  void Ask(v1::RunInsulationTestRequest* request) override {
    if (answered() == 0) {
      request->mutable_setup()->set_rated_volts(winding_.rated_volts);
      request->mutable_setup()->mutable_rated_power()->set_kw(winding_.rated_kw);
      request->mutable_setup()->set_test_volts_dc(TestVolts());
    }
    for (int i = 1; i <= kSamplesPerMessage; ++i) {
      const double seconds = answered() * kSamplesPerMessage + i;
      auto* sample = request->add_samples();
      sample->set_seconds(seconds);
      sample->set_winding_celsius(winding_.CelsiusAt(seconds));
      // After a flashover the instrument gives what it can at a few volts.
      const bool holds = winding_.HoldsAt(seconds);
      sample->set_test_volts_dc(holds ? TestVolts() : 0.02 * TestVolts());
      const double scatter = std::exp(winding_.scatter_ratio * std::normal_distribution<double>()(random_));
      sample->set_current_microamps(holds ? winding_.MicroampsAt(seconds, TestVolts()) * scatter : 5000);
    }
    // A bench that sends again what it has sent, and what comes late.
    if (answered() % 7 == 3) {
      *request->add_samples() = request->samples(kSamplesPerMessage - 1);
      *request->add_samples() = request->samples(2);
      wrong_ += 2;
    }
  }

  void Check(const v1::RunInsulationTestResponse& response) override {
    if (response.samples_taken() != (answered() + 1LL) * kSamplesPerMessage) Fault("samples lost or taken twice");
    if (response.samples_refused() != wrong_) Fault("repeated or late samples not refused");
    for (const auto& mark : response.marks()) CheckMark(mark);
  }

  // Against what the winding was made of, with six times the scatter of its readings.
  void CheckMark(const v1::InsulationMark& mark) {
    ++marks_;
    if (!winding_.HoldsAt(mark.mark_seconds()) || !mark.has_insulation_megohms()) return;
    const double truth = winding_.MegohmsAt(mark.mark_seconds(), TestVolts());
    if (std::abs(mark.insulation_megohms() / truth - 1) > 6 * winding_.scatter_ratio + 0.001)
      Fault("a mark at " + std::to_string(mark.mark_seconds()) + " s that is not that of this winding");
  }

  void Closing(const v1::RunInsulationTestResponse& response) override {
    summed_up_ = response.final();
    const bool sound = !winding_.flashover_seconds;
    if (response.stop() == sound && (!sound || winding_.kelvin_per_minute <= 0))
      Fault(sound ? "told to stop a sound winding" : "not told to stop after a flashover");
    if (sound && marks_ != 3) Fault("not three marks in ten minutes");
  }

  void Over() override {
    if (!summed_up_) Fault("not summed up");
  }

  const Winding winding_;
  std::mt19937 random_;
  int wrong_ = 0;
  int marks_ = 0;
  bool summed_up_ = false;
};

}  // namespace

Played PlayRuns(const std::shared_ptr<grpc::Channel>& channel, int windings, std::chrono::milliseconds deadline) {
  const auto stub = v1::InsulationRunService::NewStub(channel);
  Floor floor;
  floor.running = floor.unanswered = windings;
  const auto end = std::chrono::system_clock::now() + deadline;
  for (int i = 0; i < windings; ++i) {
    auto* bench = new RunBench(&floor, static_cast<unsigned>(i));
    bench->context()->set_deadline(end);
    stub->async()->RunInsulationTest(bench->context(), bench);
    bench->Begin();
  }
  return floor.WaitUntilOver();
}

}  // namespace coilwright::simulated
