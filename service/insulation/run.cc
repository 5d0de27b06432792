#include "insulation/run.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/input_ranges.h"
#include "insulation/run_settings.h"
#include "standards/range_check.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

constexpr double kMostSeconds = 1e6;
constexpr double kLeastVolts = 0.001, kMostTestVolts = 50000;

Refused NotAReading(absl::string_view field, double given, absl::string_view unit, absl::string_view accepted) {
  return {Refusal::kNotAReading, std::string(field), standards::WithUnit(given, unit), std::string(accepted)};
}

}  // namespace

InsulationRun::InsulationRun(const RunCase& run_case, MegohmLimits limits)
    : case_(run_case),
      limits_(std::move(limits)),
      gross_(run_case.charge_seconds,
             run_case.kind == RunKind::kStepVoltage ? Settings().leap_stops_from : Settings().gross_rise_from) {}

absl::StatusOr<InsulationRun> InsulationRun::Start(const RunCase& c) {
  absl::StatusOr<MegohmLimits> limits = Limits(c.judgement.megohm);
  standards::RangeCheck check;
  if (!limits.ok()) {
    for (const standards::FieldError& error : standards::FieldErrorsOf(limits.status())) {
      check.Refuse(error.field, error.given, error.accepted);
    }
  }
  if (c.test_volts_dc) check.Above("test_volts_dc", *c.test_volts_dc, 0, kMostTestVolts, "V");
  if (c.winding_celsius) check.Within("winding_temperature", *c.winding_celsius, -60, 300, "C");
  check.Within("instrument.uncertainty_ratio", c.uncertainty_ratio, 0, 0.5, "");
  check.Within("charge_seconds", c.charge_seconds, 1, 60, "s");
  if (c.least_microamps) check.Within("least_current_microamps", *c.least_microamps, 1e-9, 1e9, "uA");
  const JudgementCase& judgement = c.judgement;
  if (judgement.air_celsius) check.Within("air_temperature", *judgement.air_celsius, -40, 60, "C");
  if (judgement.relative_humidity_percent) {
    check.Above("relative_humidity_percent", *judgement.relative_humidity_percent, 0, 100, "%");
  }
  if (!check.ok()) return check.status();
  InsulationRun run(c, *std::move(limits));
  run.celsius_ = run.smooth_celsius_ = run.first_celsius_ = c.winding_celsius;
  run.smooth_factor_ = run.Factor(c.winding_celsius);
  return run;
}

std::optional<double> MegohmsOf(const RunSample& sample) {
  if (sample.megohms) return sample.megohms;
  if (sample.microamps && *sample.microamps > 0) return sample.volts_dc / *sample.microamps;
  return std::nullopt;
}

bool MayBeTheSame(double megohms, double other_megohms) {
  return std::abs(std::log(megohms / other_megohms)) < std::log1p(Settings().same_reading_within);
}

std::optional<Refused> InsulationRun::Check(const RunSample& sample, Taken* taken) const {
  const double seconds = sample.seconds, volts = sample.volts_dc;
  if (finished_) return Refused{Refusal::kOutOfOrder, "seconds", "a reading after the end", "none: the run has ended"};
  if (!(seconds > 0 && seconds <= kMostSeconds)) {
    return NotAReading("seconds", seconds, "s", "more than 0 s since the voltage was applied, at most 1000000 s");
  }
  if (!(volts >= kLeastVolts && volts <= kMostTestVolts)) {
    return NotAReading("test_volts_dc", volts, "V", "0.001 V to 50000 V");
  }
  if (!sample.microamps && !sample.megohms) {
    return Refused{Refusal::kNotAReading, "current_microamps", "nothing", "a current or megohms"};
  }
  const bool below_least =
      sample.microamps && case_.least_microamps && *sample.microamps >= 0 && *sample.microamps < *case_.least_microamps;
  if (sample.microamps && !below_least && !(*sample.microamps >= 1e-9 && *sample.microamps <= 1e9)) {
    return NotAReading("current_microamps", *sample.microamps, "uA",
                       "1e-9 to 1e9 uA; 0 only where the least current the meter shows stands in the setup "
                       "(least_current_microamps, --least-microamps)");
  }
  if (sample.megohms && !(*sample.megohms >= 0 && *sample.megohms <= kMostMegohms)) {
    return NotAReading("insulation_megohms", *sample.megohms, "megohms", "0 to 1e9 megohms");
  }
  if (sample.winding_celsius && !(*sample.winding_celsius >= -60 && *sample.winding_celsius <= 300)) {
    return NotAReading("winding_celsius", *sample.winding_celsius, "C", "-60 C to 300 C");
  }
  if (last_ && seconds <= last_->seconds) {
    return Refused{seconds == last_->seconds ? Refusal::kRepeated : Refusal::kOutOfOrder, "seconds",
                   standards::WithUnit(seconds, "s"),
                   absl::StrCat("later than the reading at ", last_->seconds, " s, which is there already")};
  }
  *taken = {seconds, volts, 0, sample.winding_celsius, sample.over_range};
  const bool has_megohms = sample.megohms && *sample.megohms > 0;
  if (has_megohms) taken->microamps = volts / *sample.megohms;
  if (below_least && !has_megohms) {
    taken->microamps = *case_.least_microamps;
    taken->over_range = true;
  } else if (sample.microamps && !below_least) {
    const double agree = Settings().current_and_megohms_agree_within;
    if (has_megohms && std::abs(std::log(*sample.microamps / taken->microamps)) > std::log1p(agree)) {
      return Refused{Refusal::kContradictory, "insulation_megohms", standards::WithUnit(*sample.megohms, "megohms"),
                     absl::StrFormat("%.4g megohms within %g %%, which %g V at %g uA are; or one of the two",
                                     volts / *sample.microamps, 100 * agree, volts, *sample.microamps)};
    }
    taken->microamps = *sample.microamps;
  }
  return std::nullopt;
}

RunUpdate InsulationRun::Add(const RunSample& sample) {
  RunUpdate update;
  Taken taken;
  update.refused = Check(sample, &taken);
  if (update.refused) {
    ++refused_;
    return update;
  }
  ++samples_;
  NoteGap(taken.seconds, update);
  if (taken.celsius) TakeTemperature(taken.seconds, *taken.celsius);
  if (EarthFault(sample, taken, update)) {
    last_ = taken;
    return update;
  }
  over_range_ += taken.over_range;
  const bool steady = Steady(taken, update);
  last_ = taken;
  if (steady && taken.over_range) {
    Take(taken, update);
  } else if (steady) {
    Watch(taken, update);
  }
  WatchGross(taken, update);
  return update;
}

bool InsulationRun::EarthFault(const RunSample& sample, const Taken& taken, RunUpdate& update) {
  const RunSettings& settings = Settings();
  const bool zero = sample.megohms == 0.0 && !sample.over_range;
  if (!zero) {
    // A discharge of what the voltage left behind is no reading of the insulation.
    greatest_volts_ = std::max(greatest_volts_, taken.volts_dc);
    const bool was_on = greatest_volts_ >= settings.voltage_on_from * limits_.test_volts_dc_low;
    const bool fell = was_on && taken.volts_dc < settings.voltage_fell_to * greatest_volts_;
    const bool near = !fell && !taken.over_range && taken.microamps > 0 &&
                      taken.volts_dc / taken.microamps < settings.earth_fault_below_megohms;
    near_zero_ = near && taken.seconds >= settings.earth_fault_from_seconds ? near_zero_ + 1 : 0;
  }
  if (zero ? taken.seconds < settings.earth_fault_from_seconds : near_zero_ < settings.earth_fault_readings) {
    return zero;
  }
  Advise(AdviceKind::kEarthFault, true, taken.seconds,
         absl::StrFormat("%.2g megohms: the winding is connected to the frame",
                         zero ? 0 : taken.volts_dc / taken.microamps),
         rules::run_failed, update);
  return zero;
}

void InsulationRun::NoteGap(double seconds, RunUpdate& update) {
  if (!last_) return;
  const double interval = seconds - last_->seconds;
  const bool gap = samples_ > 5 && interval > Settings().gap_least_seconds &&
                   interval > Settings().gap_in_intervals * usual_interval_;
  if (!gap) {
    usual_interval_ += std::max(0.1, 1 / static_cast<double>(samples_)) * (interval - usual_interval_);
    return;
  }
  ++gaps_;
  if (interval > longest_gap_) {
    longest_gap_ = interval;
    longest_gap_from_ = last_->seconds;
  }
  Advise(AdviceKind::kGap, false, seconds,
         absl::StrFormat("no reading from %g s to %g s; what happened then is not known", last_->seconds, seconds),
         rules::shop_megohm_settings, update);
}

void InsulationRun::TakeTemperature(double seconds, double celsius) {
  if (!smooth_celsius_ || temperatures_ == 0) {
    smooth_celsius_ = celsius;
  } else {
    *smooth_celsius_ += -std::expm1(-(seconds - last_->seconds) / Settings().temperature_smoothing_seconds) *
                        (celsius - *smooth_celsius_);
  }
  if (temperatures_ == 0) {
    first_celsius_ = celsius;
  } else {
    greatest_celsius_step_ = std::max(greatest_celsius_step_, std::abs(celsius - *celsius_));
  }
  whole_degrees_ = whole_degrees_ && celsius == std::round(celsius);
  celsius_ = celsius;
  const std::optional<double> factor = Factor(smooth_celsius_);
  if (factor.has_value() != smooth_factor_.has_value()) {
    climb_.Restart();
    jump_.Restart();
  }
  smooth_factor_ = factor;
  if (temperatures_ == 0) first_minute_ = seconds / 60;
  const double t = seconds / 60 - first_minute_;
  ++temperatures_;
  sum_t_ += t;
  sum_tt_ += t * t;
  sum_c_ += celsius;
  sum_tc_ += t * celsius;
  sum_cc_ += celsius * celsius;
}

void InsulationRun::Advise(AdviceKind kind, bool stop, double seconds, std::string reason, absl::string_view rule,
                           RunUpdate& update) {
  for (const Advice& said : advice_) {
    if (said.kind == kind && (said.stop || !stop)) return;
  }
  stop_ = stop_ || stop;
  if (stop) reason += "; take the voltage off, discharge and earth the winding";
  advice_.push_back({kind, stop, seconds, std::move(reason), rule});
  update.advice.push_back(advice_.back());
}

}  // namespace coilwright::insulation
