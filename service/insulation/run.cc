#include "insulation/run.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/input_ranges.h"
#include "standards/range_check.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

constexpr double kMostSeconds = 1e6;
constexpr double kLeastVolts = 0.001, kMostTestVolts = 50000;
// Shop settings; the rules that name them say so.
constexpr double kAgreement = 0.05;       // of current and megohms of one reading
constexpr double kVoltageSlack = 0.02;    // of a constant voltage
constexpr double kSettledBySeconds = 30;  // until then the voltage may still find its value
constexpr double kVoltageFell = 0.5;
constexpr double kTestVoltageSlack = 0.1;
constexpr double kSmoothingSeconds = 60;  // of the temperature behind the watch for a rise
constexpr int kFlashesToStop = 3;
constexpr double kDepartureToSay = 0.2, kDepartureToStop = 0.5;
constexpr double kStepReadSeconds = 60;
// Over the most a winding in proportion could draw, in readings one after the other.
constexpr double kLeapToStop = 3;
constexpr int kLeapsToStop = 2;
constexpr double kLeastGapSeconds = 5, kGapInIntervals = 10;
constexpr double kBinsPerDecade = 48;
constexpr double kRefitGrowth = 1.05;
constexpr double kInterpolateOver = 1.5;  // greatest ratio of the times around a mark
constexpr absl::string_view kStop = "take the voltage off, discharge and earth the winding";

Refused NotAReading(absl::string_view field, double given, absl::string_view unit, absl::string_view accepted) {
  return {Refusal::kNotAReading, std::string(field), standards::WithUnit(given, unit), std::string(accepted)};
}

}  // namespace

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
  const JudgementCase& judgement = c.judgement;
  if (judgement.air_celsius) check.Within("air_temperature", *judgement.air_celsius, -40, 60, "C");
  if (judgement.relative_humidity_percent) {
    check.Above("relative_humidity_percent", *judgement.relative_humidity_percent, 0, 100, "%");
  }
  if (!check.ok()) return check.status();
  InsulationRun run(c, *std::move(limits));
  run.celsius_ = run.smooth_celsius_ = c.winding_celsius;
  run.smooth_factor_ = run.Factor(c.winding_celsius);
  return run;
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
  if (sample.microamps && !(*sample.microamps >= 1e-9 && *sample.microamps <= 1e9)) {
    return NotAReading("current_microamps", *sample.microamps, "uA",
                       "1e-9 to 1e9 uA; below what the instrument resolves, its least current with over_range");
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
  if (sample.microamps) taken->microamps = *sample.microamps;
  if (sample.megohms && *sample.megohms > 0) {
    const double microamps = volts / *sample.megohms;
    if (sample.microamps && std::abs(std::log(*sample.microamps / microamps)) > std::log1p(kAgreement)) {
      return Refused{Refusal::kContradictory, "insulation_megohms", standards::WithUnit(*sample.megohms, "megohms"),
                     absl::StrFormat("%.4g megohms within 5 %%, which %g V at %g uA are; or one of the two",
                                     volts / *sample.microamps, volts, *sample.microamps)};
    }
    if (!sample.microamps) taken->microamps = microamps;
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
  if (sample.megohms == 0.0 && !sample.over_range) {
    last_ = taken;
    Advise(AdviceKind::kEarthFault, true, taken.seconds,
           absl::StrCat("0 megohms: the winding is connected to the frame; ", kStop), rules::run_current_jump, update);
    return update;
  }
  over_range_ += taken.over_range;
  const bool steady = Steady(taken, update);
  last_ = taken;
  if (!steady) return update;
  if (taken.over_range) {
    Take(taken, update);
  } else {
    Watch(taken, update);
  }
  return update;
}

void InsulationRun::NoteGap(double seconds, RunUpdate& update) {
  if (!last_) return;
  const double interval = seconds - last_->seconds;
  const bool gap = samples_ > 5 && interval > kLeastGapSeconds && interval > kGapInIntervals * usual_interval_;
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
         rules::run_mark, update);
}

void InsulationRun::TakeTemperature(double seconds, double celsius) {
  if (!smooth_celsius_ || temperatures_ == 0) {
    smooth_celsius_ = celsius;
  } else {
    *smooth_celsius_ += -std::expm1(-(seconds - last_->seconds) / kSmoothingSeconds) * (celsius - *smooth_celsius_);
  }
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

bool InsulationRun::Steady(const Taken& taken, RunUpdate& update) {
  if (case_.kind == RunKind::kStepVoltage) return SteadyStep(taken, update);
  if (taken.seconds < case_.charge_seconds) return false;
  if (reference_volts_ == 0) reference_volts_ = taken.volts_dc;
  const double off = taken.volts_dc / reference_volts_ - 1;
  if (std::abs(off) <= kVoltageSlack) return true;
  if (taken.volts_dc < kVoltageFell * reference_volts_) {
    const bool flashed = steady_ && taken.microamps >= steady_->microamps;
    voltage_kept_ = false;
    Advise(AdviceKind::kVoltageFell, flashed, taken.seconds,
           flashed ? absl::StrFormat("the voltage fell from %.4g V to %.4g V and the current did not: a flashover; %s",
                                     reference_volts_, taken.volts_dc, kStop)
                   : absl::StrFormat("the voltage fell from %.4g V to %.4g V: taken off, or the instrument tripped",
                                     reference_volts_, taken.volts_dc),
           rules::run_constant_voltage, update);
  } else if (taken.seconds < kSettledBySeconds) {
    // Still finding its value: begin anew from here.
    reference_volts_ = taken.volts_dc;
    bins_.clear();
    last_bin_ = -1;
    fit_.reset();
    next_fit_seconds_ = 0;
    climb_.Restart();
    jump_.Restart();
    held_.clear();
    return true;
  } else {
    voltage_kept_ = false;
    Advise(
        AdviceKind::kVoltageNotConstant, false, taken.seconds,
        absl::StrFormat("%.4g V where the run stood at %.4g V: readings more than 2 %% off are left out of marks and "
                        "fit, and the ratios do not count",
                        taken.volts_dc, reference_volts_),
        rules::run_constant_voltage, update);
  }
  climb_.Restart();
  jump_.Restart();
  held_.clear();
  return false;
}

bool InsulationRun::SteadyStep(const Taken& taken, RunUpdate& update) {
  if (taken.over_range) return false;
  const VoltageSteps::Event event = steps_.Add(taken.seconds, taken.volts_dc, taken.microamps);
  if (event == VoltageSteps::Event::kNewVoltage || event == VoltageSteps::Event::kLowered) {
    climb_.Restart();
    jump_.Restart();
    held_.clear();
  }
  if (event == VoltageSteps::Event::kLowered) {
    const bool flashed = steady_ && taken.microamps >= steady_->microamps;
    Advise(AdviceKind::kVoltageFell, flashed, taken.seconds,
           flashed ? absl::StrFormat("the voltage fell to %.4g V and the current did not: a flashover; %s",
                                     taken.volts_dc, kStop)
                   : absl::StrFormat("the voltage was lowered to %.4g V: the steps end here", taken.volts_dc),
           rules::run_constant_voltage, update);
    voltage_kept_ = false;
  }
  if (event != VoltageSteps::Event::kNone) JudgeStep(taken.seconds, update);
  const bool charged = steps_.HeldSeconds(taken.seconds) >= case_.charge_seconds;
  const std::optional<double> over_most = charged ? steps_.OverMost() : std::nullopt;
  leaps_ = over_most.value_or(0) > kLeapToStop ? leaps_ + 1 : 0;
  if (leaps_ >= kLeapsToStop) {
    Advise(
        AdviceKind::kOutOfProportion, true, taken.seconds,
        absl::StrFormat("%.4g uA at %.4g V is %.3g times the most that the same moment of the step before foretells: "
                        "%s",
                        taken.microamps, taken.volts_dc, *over_most, kStop),
        rules::ieee95_out_of_proportion, update);
  }
  return voltage_kept_ && event != VoltageSteps::Event::kNewVoltage && charged;
}

void InsulationRun::JudgeStep(double seconds, RunUpdate& update) {
  const std::vector<VoltageStep> steps = steps_.Read();
  if (steps.empty() || !steps.back().departure_ratio) return;
  const VoltageStep& step = steps.back();
  double compared_seconds = step.read_after_seconds;
  for (const VoltageStep& before : steps) {
    compared_seconds = std::max(compared_seconds, std::min(before.read_after_seconds, kStepReadSeconds));
  }
  // Read earlier than the others: absorption falls as 1/t at most.
  const double departure = (1 + *step.departure_ratio) * step.read_after_seconds / compared_seconds - 1;
  if (departure <= kDepartureToSay) return;
  const bool stop = departure > kDepartureToStop;
  Advise(
      AdviceKind::kOutOfProportion, stop, seconds,
      absl::StrFormat("%.4g uA at %.4g V is %.0f %% over what the steps before foretell%s", step.microamps,
                      step.volts_dc, 100 * *step.departure_ratio,
                      stop ? absl::StrCat(": ", kStop) : absl::string_view("; hold it and watch before the next step")),
      rules::ieee95_out_of_proportion, update);
}

void InsulationRun::Watch(const Taken& taken, RunUpdate& update) {
  if (stop_) return Take(taken, update);
  const double level = std::log(taken.microamps / taken.volts_dc / smooth_factor_.value_or(1));
  switch (jump_.Add(level)) {
    case JumpWatch::Verdict::kHeld:
      held_.push_back(taken);
      return;
    case JumpWatch::Verdict::kFlash:
      flashes_ += static_cast<std::int64_t>(held_.size());
      Advise(AdviceKind::kFlash, flashes_ >= kFlashesToStop, held_.front().seconds,
             absl::StrFormat("the current shot up to %.4g uA and came back: a flash inside or a disturbance%s",
                             held_.front().microamps,
                             flashes_ >= kFlashesToStop ? absl::StrCat(", and not the first; ", kStop) : ""),
             rules::run_current_jump, update);
      held_.clear();
      break;
    case JumpWatch::Verdict::kJump:
      Advise(AdviceKind::kJump, true, held_.front().seconds,
             absl::StrFormat("the current jumped to %.4g uA and stayed there; %s", taken.microamps, kStop),
             rules::run_current_jump, update);
      for (const Taken& held : std::exchange(held_, {})) Take(held, update);
      break;
    case JumpWatch::Verdict::kOrdinary:
      break;
  }
  if (!stop_) {
    if (const std::optional<Climb> climb = climb_.Add(taken.seconds, level)) {
      Advise(AdviceKind::kClimbing, true, taken.seconds,
             absl::StrFormat("the current rises at constant voltage: %.0f %% from %.4g s to %.4g s%s; %s",
                             100 * climb->rise_ratio, climb->from_seconds, climb->to_seconds,
                             smooth_factor_ ? ", temperature allowed for" : "", kStop),
             rules::run_rising_current, update);
    }
  }
  Take(taken, update);
}

void InsulationRun::Take(const Taken& taken, RunUpdate& update) {
  if (case_.kind == RunKind::kConstantVoltage) {
    PassMarks(taken, update);
    if (!stop_ && !taken.over_range) {
      const int bin = static_cast<int>(std::floor(kBinsPerDecade * std::log10(taken.seconds)));
      if (bin != last_bin_) bins_.emplace_back();
      last_bin_ = bin;
      BinnedCurrent& mean = bins_.back();
      ++mean.samples;
      if (mean.samples == 1) mean.seconds = mean.microamps = 1;
      // Means of the logarithms, in which a power law is straight; the current brought to one voltage, so that a small
      // wander of it is no scatter.
      mean.seconds *= std::pow(taken.seconds / mean.seconds, 1 / mean.samples);
      mean.microamps *=
          std::pow(taken.microamps * (reference_volts_ / taken.volts_dc) / mean.microamps, 1 / mean.samples);
    }
  }
  steady_ = taken;
  if (taken.seconds >= next_fit_seconds_) Refit(taken.seconds, update);
}

void InsulationRun::PassMarks(const Taken& taken, RunUpdate& update) {
  while (next_mark_ < kMarks.size() && taken.seconds >= kMarks[next_mark_]) {
    RunMark mark;
    mark.seconds = kMarks[next_mark_];
    mark.winding_celsius = celsius_;
    mark.volts_dc = taken.volts_dc;
    const double megohms = taken.volts_dc / taken.microamps;
    if (taken.seconds == mark.seconds) {
      mark.megohms = megohms;
      mark.at_least = taken.over_range;
    } else if (!steady_ || taken.seconds > kInterpolateOver * steady_->seconds) {
      mark.reason = steady_ ? absl::StrFormat("no reading between %g s and %g s", steady_->seconds, taken.seconds)
                            : absl::StrFormat("the first reading came after %g s", taken.seconds);
    } else {
      const double before = steady_->volts_dc / steady_->microamps;
      const double share = std::log(mark.seconds / steady_->seconds) / std::log(taken.seconds / steady_->seconds);
      mark.at_least = taken.over_range || steady_->over_range;
      mark.megohms = mark.at_least ? std::min(before, megohms) : before * std::pow(megohms / before, share);
      mark.interpolated = true;
    }
    AddMark(std::move(mark), update);
  }
}

void InsulationRun::AddMark(RunMark mark, RunUpdate& update) {
  if (mark.megohms) mark.megohms_40c = WholeWindingAt40C(*mark.megohms, mark.winding_celsius);
  if (mark.megohms && !mark.megohms_40c) {
    Advise(
        AdviceKind::kNotCorrected, false, mark.seconds,
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
  next_fit_seconds_ = seconds * kRefitGrowth;
  if (case_.kind == RunKind::kConstantVoltage) {
    fit_ = FitAbsorption(bins_);
    update.refitted = fit_.has_value();
    const double off_setting = case_.test_volts_dc ? reference_volts_ / *case_.test_volts_dc - 1 : 0;
    if (seconds >= kSettledBySeconds && (std::abs(off_setting) > kTestVoltageSlack ||
                                         reference_volts_ < (1 - kTestVoltageSlack) * limits_.test_volts_dc_low ||
                                         reference_volts_ > (1 + kTestVoltageSlack) * limits_.test_volts_dc_high)) {
      Advise(AdviceKind::kTestVoltage, false, seconds,
             absl::StrFormat("the voltage stands at %.4g V%s; the rule asks for %g to %g V DC", reference_volts_,
                             case_.test_volts_dc ? absl::StrFormat(" where %.4g V was set", *case_.test_volts_dc) : "",
                             limits_.test_volts_dc_low, limits_.test_volts_dc_high),
             limits_.test_voltage_rule, update);
    }
  }
  if (const std::optional<TemperatureDrift> drift = Drift();
      drift && std::abs(drift->false_index_ratio - 1) > 0.05 &&
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

void InsulationRun::Advise(AdviceKind kind, bool stop, double seconds, std::string reason, absl::string_view rule,
                           RunUpdate& update) {
  for (const Advice& said : advice_) {
    if (said.kind == kind && (said.stop || !stop)) return;
  }
  stop_ = stop_ || stop;
  advice_.push_back({kind, stop, seconds, std::move(reason), rule});
  update.advice.push_back(advice_.back());
}

}  // namespace coilwright::insulation
