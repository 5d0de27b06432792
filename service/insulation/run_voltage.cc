// The voltage of a run: whether it stands, since when, and what its steps show.
#include <algorithm>
#include <cmath>
#include <utility>

#include "absl/strings/str_format.h"
#include "insulation/run.h"
#include "insulation/run_settings.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

constexpr double kChargeMostlyGoneSeconds = 2;
constexpr double kMostInScatters = 4;          // of one reading about the median
constexpr std::int64_t kScatterReadings = 12;  // from the first, where the scatter was there from the beginning

}  // namespace

bool InsulationRun::Steady(const Taken& taken, RunUpdate& update) {
  if (case_.kind == RunKind::kStepVoltage) return SteadyStep(taken, update);
  if (!Stands(taken, update)) return false;
  if (Age(taken.seconds) < case_.charge_seconds) return false;
  NoteLevel(taken);
  if (AtFullVoltage()) return true;
  if (Age(taken.seconds) >= Settings().settled_after_seconds) {
    Advise(AdviceKind::kTestVoltage, false, taken.seconds,
           absl::StrFormat("the voltage stands at %.4g V where %.4g V was set: no mark counts before it is reached",
                           stand_volts_, *case_.test_volts_dc),
           rules::run_full_voltage, update);
  }
  return false;
}

bool InsulationRun::AtFullVoltage() const {
  return reference_volts_ > 0 &&
         (!case_.test_volts_dc || reference_volts_ >= (1 - Settings().test_voltage_slack) * *case_.test_volts_dc);
}

void InsulationRun::BeginStand(const Taken& taken, double since) {
  reference_volts_ = stand_volts_ = taken.volts_dc;
  stand_samples_ = 0;
  stand_seconds_ = since;
  stood_ = steady_ = level_ = best_ = std::nullopt;
  bins_.clear();
  last_bin_ = -1;
  fit_.reset();
  next_fit_seconds_ = 0;
  RestartWatches();
}

void InsulationRun::RestartWatches() {
  climb_.Restart();
  jump_.Restart();
  held_.clear();
}

bool InsulationRun::Stands(const Taken& taken, RunUpdate& update) {
  const RunSettings& settings = Settings();
  if (reference_volts_ == 0) BeginStand(taken, 0);
  if (StandsInScatter(taken, update)) return true;
  const bool settling = Age(taken.seconds) < settings.settled_after_seconds;
  const double reference = settling ? reference_volts_ : stand_volts_;
  const double off = taken.volts_dc / reference - 1;
  if (std::abs(off) <= settings.voltage_slack) {
    stood_ = taken;
    if (settling) stand_volts_ += (taken.volts_dc - stand_volts_) / ++stand_samples_;
    return true;
  }
  const bool on = reference >= settings.voltage_on_from * case_.test_volts_dc.value_or(limits_.test_volts_dc_low);
  const bool fell = taken.volts_dc < settings.voltage_fell_to * reference;
  const bool shot_up = fell && (!held_.empty() || gross_.Pending().value_or(0) >= settings.leap_stops_from);
  const bool flashed =
      shot_up ||
      (off < 0 && stood_ && !taken.over_range &&
       (fell ? taken.microamps >= stood_->microamps
             : taken.microamps / taken.volts_dc > settings.leap_stops_from * stood_->microamps / stood_->volts_dc));
  if (on && (fell || flashed)) {
    voltage_kept_ = false;
    Advise(AdviceKind::kVoltageFell, flashed, taken.seconds,
           absl::StrFormat("%sthe voltage fell from %.4g V to %.4g V%s", shot_up ? "the current shot up and " : "",
                           reference, taken.volts_dc,
                           shot_up   ? ": a flashover"
                           : flashed ? " and the current did not: a flashover"
                                     : ": taken off, or the instrument tripped"),
           rules::run_constant_voltage, update);
  } else if (!stop_ && (settling || (off > 0 && !AtFullVoltage()))) {
    BeginStand(taken, taken.seconds);
    stood_ = taken;
    return true;
  } else {
    voltage_kept_ = false;
    Advise(
        AdviceKind::kVoltageNotConstant, false, taken.seconds,
        absl::StrFormat("%.4g V where the run stood at %.4g V: readings more than %g %% off are left out of marks and "
                        "fit, and the ratios do not count",
                        taken.volts_dc, reference, 100 * settings.voltage_slack),
        rules::run_constant_voltage, update);
  }
  RestartWatches();
  return false;
}

bool InsulationRun::StandsInScatter(const Taken& taken, RunUpdate& update) {
  scatter_.Add(taken.volts_dc);
  const std::optional<double> volts = scatter_.Volts();
  if (volts) scatter_slack_ = std::max(scatter_slack_, kMostInScatters * scatter_.Ratio());
  if (in_scatter_ && std::abs(taken.volts_dc / stand_volts_ - 1) <= scatter_slack_) {
    if (Age(taken.seconds) < Settings().settled_after_seconds) {
      stand_volts_ += (taken.volts_dc - stand_volts_) / ++stand_samples_;
    }
    stood_ = taken;
    return true;
  }
  if (!volts || std::abs(taken.volts_dc / *volts - 1) > kMostInScatters * scatter_.Ratio()) return false;
  const double slack = Settings().voltage_slack + scatter_.Ratio();
  if (!in_scatter_) {
    Advise(AdviceKind::kVoltageNotConstant, false, taken.seconds,
           absl::StrFormat("the volts scatter by %.1f %% from reading to reading: their median, %.4g V, counts",
                           100 * scatter_.Ratio(), *volts),
           rules::run_constant_voltage, update);
  }
  if (!stop_ && marks_.empty() && (!in_scatter_ || std::abs(*volts / stand_volts_ - 1) > slack)) {
    Taken at = taken;
    at.volts_dc = *volts;
    BeginStand(at, in_scatter_ || samples_ > kScatterReadings ? taken.seconds : 0);
  }
  in_scatter_ = true;
  if (std::abs(*volts / stand_volts_ - 1) > slack) return false;
  if (Age(taken.seconds) < Settings().settled_after_seconds) {
    stand_volts_ += (taken.volts_dc - stand_volts_) / ++stand_samples_;
  }
  stood_ = taken;
  return true;
}

bool InsulationRun::SteadyStep(const Taken& taken, RunUpdate& update) {
  if (taken.over_range) return false;
  const VoltageSteps::Event event = steps_.Add(taken.seconds, taken.volts_dc, taken.microamps);
  if (event == VoltageSteps::Event::kNewVoltage || event == VoltageSteps::Event::kLowered) {
    RestartWatches();
  }
  const bool lowered = event == VoltageSteps::Event::kLowered;
  if (event != VoltageSteps::Event::kNone) JudgeStep(taken.seconds, update);
  if (leap_ && (lowered || event == VoltageSteps::Event::kNewVoltage)) {
    EndOnLeap(taken.seconds, lowered ? "and the voltage fell" : "when the voltage was raised", update);
  }
  if (lowered) {
    const bool flashed = steady_ && taken.microamps >= steady_->microamps;
    Advise(AdviceKind::kVoltageFell, flashed, taken.seconds,
           flashed ? absl::StrFormat("the voltage fell to %.4g V and the current did not: a flashover", taken.volts_dc)
           : stop_ ? absl::StrFormat("the voltage fell to %.4g V: the steps end here", taken.volts_dc)
                   : absl::StrFormat("the voltage was lowered to %.4g V: the steps end here", taken.volts_dc),
           rules::run_constant_voltage, update);
    voltage_kept_ = false;
  }
  const bool charged = steps_.HeldSeconds(taken.seconds) >= case_.charge_seconds;
  if (!lowered && voltage_kept_) WatchLeaps(taken, charged, update);
  if (charged) NoteLevel(taken);
  return voltage_kept_ && event != VoltageSteps::Event::kNewVoltage && charged;
}

void InsulationRun::WatchLeaps(const Taken& taken, bool charged, RunUpdate& update) {
  const RunSettings& settings = Settings();
  // The first reading of a step has no moment to be compared with, and falls into the charge: no winding holds more.
  const double held = steps_.HeldSeconds(taken.seconds);
  const double over_charge = taken.microamps / (settings.greatest_winding_microfarads * steps_.Rise());
  const double over_most = steps_.OverMost().value_or(0);
  leaps_ = over_most > (charged ? settings.leap_stops_from : settings.charging_leap_from) ? leaps_ + 1 : 0;
  lesser_leaps_ = over_most > settings.leap_stops_from && held >= kChargeMostlyGoneSeconds ? lesser_leaps_ + 1 : 0;
  leap_.reset();
  if (leaps_ > 0 || lesser_leaps_ >= settings.leaps_to_stop) leap_.emplace(over_most, taken);
  if (held == 0 && over_charge > 1) leap_.emplace(over_charge, taken);
  if (leaps_ < settings.leaps_to_stop) return;
  steps_.End(true);
  StopForGross(
      AdviceKind::kOutOfProportion, over_most, taken.seconds,
      absl::StrFormat("%.4g uA at %.4g V is %.3g times the most that the same moment of the step before foretells",
                      taken.microamps, taken.volts_dc, over_most),
      rules::ieee95_out_of_proportion, update);
}

void InsulationRun::EndOnLeap(double seconds, absl::string_view how, RunUpdate& update) {
  const auto [times, taken] = *std::exchange(leap_, std::nullopt);
  if (stop_) return;
  steps_.End(true);
  StopForGross(AdviceKind::kOutOfProportion, times, seconds,
               absl::StrFormat("%.4g uA at %.4g V, %.3g times the most that charge and the step before foretell, %s",
                               taken.microamps, taken.volts_dc, times, how),
               rules::ieee95_out_of_proportion, update);
}

void InsulationRun::JudgeStep(double seconds, RunUpdate& update) {
  const std::vector<VoltageStep> steps = steps_.Read();
  if (steps.empty() || !steps.back().departure_ratio) return;
  const VoltageStep& step = steps.back();
  double compared_seconds = step.read_after_seconds;
  for (const VoltageStep& before : steps) {
    compared_seconds =
        std::max(compared_seconds, std::min(before.read_after_seconds, Settings().step_read_after_seconds));
  }
  // Read earlier than the others: absorption falls as 1/t at most.
  const double departure = (1 + *step.departure_ratio) * step.read_after_seconds / compared_seconds - 1;
  if (departure <= Settings().step_departure_said_from) return;
  const bool stop = departure > Settings().step_departure_stops_from;
  std::string reason =
      absl::StrFormat("%.4g uA at %.4g V is %s over what the steps before foretell", step.microamps, step.volts_dc,
                      departure > 10 ? absl::StrFormat("%.3g times", *step.departure_ratio)
                                     : absl::StrFormat("%.0f %%", 100 * *step.departure_ratio));
  if (stop) {
    return StopForGross(AdviceKind::kOutOfProportion, 1 + departure, seconds, std::move(reason),
                        rules::ieee95_out_of_proportion, update);
  }
  Advise(AdviceKind::kOutOfProportion, false, seconds, reason + "; hold it and watch before the next step",
         rules::ieee95_out_of_proportion, update);
}

}  // namespace coilwright::insulation
