// What a reading at the voltage of the run brings: watches, marks, fit.
#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/constants.h"
#include "insulation/run.h"
#include "insulation/run_settings.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

constexpr double kBinsPerDecade = 48;
constexpr double kRefitGrowth = 1.05;

}  // namespace

double InsulationRun::WarmthRatio() const { return celsius_ ? MostCurrentRatio(*celsius_ - *first_celsius_) : 1; }

double InsulationRun::UnseenWarmthRatio() const {
  if (temperatures_ < 2) return 1;
  const double kelvin = std::max(greatest_celsius_step_, whole_degrees_ ? 1.0 : 0.0);
  return MostCurrentRatio(std::min(kelvin, Settings().unseen_warmth_most_kelvin));
}

void InsulationRun::Watch(const Taken& taken, RunUpdate& update) {
  if (stop_) return Take(taken, update);
  const double level = std::log(taken.microamps / taken.volts_dc / smooth_factor_.value_or(1));
  bool stop = false;
  switch (jump_.Add(level)) {
    case JumpWatch::Verdict::kHeld:
      held_.push_back(taken);
      return;
    case JumpWatch::Verdict::kFlash:
      unexplained_flash_ = unexplained_flash_ || !steady_ || held_.front().volts_dc <= steady_->volts_dc ||
                           Age(held_.front().seconds) >= Settings().settled_after_seconds;
      flashes_ += static_cast<std::int64_t>(held_.size());
      stop = static_cast<double>(flashes_) >= Settings().flashes_to_stop;
      Advise(AdviceKind::kFlash, stop, held_.front().seconds,
             absl::StrFormat("the current shot up to %.4g uA and came back: a flash inside or a disturbance%s",
                             held_.front().microamps, stop ? ", and not the first" : ""),
             rules::run_current_jump, update);
      held_.clear();
      break;
    case JumpWatch::Verdict::kJump:
      Advise(AdviceKind::kJump, true, held_.front().seconds,
             absl::StrFormat("the current jumped to %.4g uA and stayed there", taken.microamps),
             rules::run_current_jump, update);
      for (const Taken& held : std::exchange(held_, {})) Take(held, update);
      break;
    case JumpWatch::Verdict::kOrdinary:
      break;
  }
  if (!stop_) {
    if (const std::optional<Climb> climb =
            climb_.Add(taken.seconds, level, std::log(WarmthRatio() / smooth_factor_.value_or(1)),
                       std::log(UnseenWarmthRatio()))) {
      Advise(AdviceKind::kClimbing, true, taken.seconds,
             absl::StrFormat("the current rises at constant voltage: %.0f %% from %.4g s to %.4g s%s",
                             100 * climb->rise_ratio, climb->from_seconds, climb->to_seconds,
                             smooth_factor_ ? ", temperature allowed for" : ""),
             rules::run_rising_current, update);
    }
  }
  Take(taken, update);
}

bool InsulationRun::VoltageOn(const Taken& taken) const {
  return taken.volts_dc >=
         std::max(Settings().voltage_fell_to * greatest_volts_, Settings().voltage_on_from * limits_.test_volts_dc_low);
}

void InsulationRun::WatchGross(const Taken& taken, RunUpdate& update) {
  if (stop_ || !VoltageOn(taken)) return;
  const std::optional<double> times =
      gross_.Add({taken.seconds, taken.volts_dc, taken.microamps, WarmthRatio(), taken.over_range});
  if (!times) return;
  StopForGross(AdviceKind::kJump, *times, taken.seconds,
               absl::StrFormat("%.4g uA at %.4g V is %.3g times the most that the readings before foretell",
                               taken.microamps, taken.volts_dc, *times),
               rules::run_current_jump, update);
}

void InsulationRun::StopForGross(AdviceKind kind, double times, double seconds, std::string reason,
                                 absl::string_view rule, RunUpdate& update) {
  if (times >= Settings().gross_fails_from && !broke_down_) {
    broke_down_ =
        absl::StrFormat("broke down: after %.4g s %s. No withstand test; find the place or rewind", seconds, reason);
  }
  Advise(kind, true, seconds, std::move(reason), rule, update);
}

void InsulationRun::Take(const Taken& taken, RunUpdate& update) {
  const double age = Age(taken.seconds);
  if (case_.kind == RunKind::kConstantVoltage) {
    PassMarks(taken, update);
    if (!stop_ && !taken.over_range) {
      const int bin = static_cast<int>(std::floor(kBinsPerDecade * std::log10(age)));
      if (bin != last_bin_) bins_.emplace_back();
      last_bin_ = bin;
      BinnedCurrent& mean = bins_.back();
      ++mean.samples;
      if (mean.samples == 1) mean.seconds = mean.microamps = 1;
      // Means of the logarithms, in which a power law is straight; the current per volt, so that a small wander of the
      // voltage is no scatter.
      mean.seconds *= std::pow(age / mean.seconds, 1 / mean.samples);
      mean.microamps *= std::pow(taken.microamps / taken.volts_dc / mean.microamps, 1 / mean.samples);
    }
  }
  steady_ = taken;
  if (age >= next_fit_seconds_) Refit(taken.seconds, update);
}

void InsulationRun::PassMarks(const Taken& taken, RunUpdate& update) {
  const double age = Age(taken.seconds), age_before = steady_ ? Age(steady_->seconds) : 0;
  while (next_mark_ < kMarks.size() && age >= kMarks[next_mark_]) {
    RunMark mark;
    mark.seconds = kMarks[next_mark_];
    mark.winding_celsius = celsius_;
    mark.volts_dc = taken.volts_dc;
    const double megohms = taken.volts_dc / taken.microamps;
    if (age == mark.seconds) {
      mark.megohms = megohms;
      mark.at_least = taken.over_range;
    } else if (!steady_ || age > Settings().mark_interpolated_over_most * age_before) {
      mark.reason = steady_ ? absl::StrFormat("no reading between %g s and %g s", age_before, age)
                            : absl::StrFormat("the first reading came after %g s", age);
    } else {
      const double before = steady_->volts_dc / steady_->microamps;
      const double share = std::log(mark.seconds / age_before) / std::log(age / age_before);
      mark.at_least = taken.over_range || steady_->over_range;
      mark.megohms = mark.at_least ? std::min(before, megohms) : before * std::pow(megohms / before, share);
      mark.interpolated = true;
    }
    AddMark(std::move(mark), update);
  }
}

void InsulationRun::AddMark(RunMark mark, RunUpdate& update) {
  mark.run_seconds = stand_seconds_ + mark.seconds;
  if (mark.megohms) mark.megohms_40c = WholeWindingAt40C(*mark.megohms, mark.winding_celsius);
  // By the factor of the correction, which a reading of next to nothing has too.
  if (const auto factor = mark.megohms ? WholeWindingAt40C(1, mark.winding_celsius) : std::nullopt)
    mark.minimum_megohms_as_read = limits_.minimum_megohms / *factor;
  if (mark.megohms && !mark.megohms_40c) {
    Advise(
        AdviceKind::kNotCorrected, false, mark.run_seconds,
        mark.winding_celsius
            ? absl::StrFormat("the winding is at %.1f C; the correction to 40 C holds from 10 C to 85 C and nothing is "
                              "extrapolated",
                              *mark.winding_celsius)
            : "no winding temperature: megohms stay as read and cannot be held against a minimum",
        case_.judgement.family == InsulationFamily::kThermosetting ? rules::ieee43_correction_thermosetting
                                                                   : rules::shop_correction_thermoplastic,
        update);
  }
  marks_.push_back(mark);
  update.marks.push_back(std::move(mark));
  ++next_mark_;
}

void InsulationRun::Refit(double seconds, RunUpdate& update) {
  next_fit_seconds_ = Age(seconds) * kRefitGrowth;
  if (case_.kind == RunKind::kConstantVoltage) {
    const double slack = Settings().test_voltage_slack;
    std::vector<BinnedCurrent> bins = bins_;
    for (BinnedCurrent& bin : bins) bin.microamps *= stand_volts_;
    fit_ = FitAbsorption(bins);
    update.refitted = fit_.has_value();
    const double off_setting = case_.test_volts_dc ? stand_volts_ / *case_.test_volts_dc - 1 : 0;
    if (Age(seconds) >= Settings().settled_after_seconds &&
        (std::abs(off_setting) > slack || stand_volts_ < (1 - slack) * limits_.test_volts_dc_low ||
         stand_volts_ > (1 + slack) * limits_.test_volts_dc_high)) {
      Advise(AdviceKind::kTestVoltage, false, seconds,
             absl::StrFormat("the voltage stands at %.4g V%s; the rule asks for %s", stand_volts_,
                             case_.test_volts_dc ? absl::StrFormat(" where %.4g V was set", *case_.test_volts_dc) : "",
                             TestVoltsText(limits_.test_volts_dc_low, limits_.test_volts_dc_high)),
             limits_.test_voltage_rule, update);
    }
  }
  if (const std::optional<TemperatureDrift> drift = Drift();
      drift && std::abs(drift->false_index_ratio - 1) > Settings().drift_said_from &&
      std::abs(drift->kelvin_per_minute) > 3 * drift->standard_error) {
    Advise(
        AdviceKind::kTemperatureDrift, false, seconds,
        absl::StrFormat("the winding %s by %.2f K a minute, which alone makes the ten-minute ratio %.2f times what it "
                        "is: let it come to rest and test again, or compare the ratio at 40 C",
                        drift->kelvin_per_minute < 0 ? "cools" : "warms", std::abs(drift->kelvin_per_minute),
                        drift->false_index_ratio),
        rules::run_temperature_drift, update);
  }
}

}  // namespace coilwright::insulation
