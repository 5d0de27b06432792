// What a run says when asked.
#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/input_ranges.h"
#include "insulation/run.h"
#include "insulation/run_settings.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

constexpr double kLeastSpanMinutes = 1;      // of temperatures, before a drift is told
constexpr double kMinutesOfIndex = 9;        // from one minute to ten
constexpr double kLeastSpanOfForecast = 4;   // last over first second of the fit
constexpr double kFromVoltsOfIeee95 = 2300;  // its title

const RunMark* MarkAt(const std::vector<RunMark>& marks, double seconds) {
  for (const RunMark& mark : marks) {
    if (mark.seconds == seconds && mark.megohms) return &mark;
  }
  return nullptr;
}

std::optional<double> Exact(const RunMark* mark) {
  return mark != nullptr && !mark->at_least ? mark->megohms : std::nullopt;
}

}  // namespace

std::optional<double> InsulationRun::Factor(std::optional<double> celsius) const {
  if (!celsius) return std::nullopt;
  const absl::StatusOr<Corrected> corrected = To40Celsius(1, *celsius, case_.judgement.family);
  return corrected.ok() ? std::optional<double>(corrected->factor) : std::nullopt;
}

std::optional<double> InsulationRun::WholeWindingAt40C(double megohms, std::optional<double> celsius) const {
  const std::optional<double> factor = Factor(celsius);
  if (!factor) return std::nullopt;
  return WholeWindingMegohms(megohms * *factor, case_.others);
}

std::optional<TemperatureDrift> InsulationRun::Drift() const {
  const double n = temperatures_;
  const double tt = sum_tt_ - sum_t_ * sum_t_ / n, tc = sum_tc_ - sum_t_ * sum_c_ / n;
  // A variance over an even spread is a twelfth of the square of the span.
  if (n < 3 || tt / n < kLeastSpanMinutes * kLeastSpanMinutes / 12) return std::nullopt;
  TemperatureDrift drift;
  drift.kelvin_per_minute = tc / tt;
  const double left = std::max(sum_cc_ - sum_c_ * sum_c_ / n - tc * tc / tt, 0.0);
  drift.standard_error = std::sqrt(left / (n - 2) / tt);
  const double mean = sum_c_ / n;
  const std::optional<double> below = Factor(mean - 0.5), above = Factor(mean + 0.5);
  if (!below || !above) return std::nullopt;
  const double exponent = -std::log(*above / *below) * drift.kelvin_per_minute * kMinutesOfIndex;
  drift.false_index_ratio = std::exp(std::clamp(exponent, -50.0, 50.0));
  return drift;
}

void InsulationRun::Ratios(RunSummary& summary) const {
  const RunMark *at_30s = MarkAt(marks_, 30), *at_60s = MarkAt(marks_, 60), *at_600s = MarkAt(marks_, 600);
  RatioCase ratios;
  ratios.kind = case_.judgement.megohm.kind;
  ratios.thermal_class_celsius = case_.judgement.thermal_class_celsius;
  ratios.rated_kw = case_.judgement.megohm.rated_kw;
  ratios.megohms_30s = Exact(at_30s);
  ratios.megohms_60s = Exact(at_60s);
  ratios.megohms_600s = Exact(at_600s);
  if (at_60s != nullptr) ratios.megohms_60s_at_40c = at_60s->megohms_40c;
  summary.absorption_ratio = AbsorptionRatio(ratios);
  summary.polarization_index = PolarizationIndex(ratios);
  if (Breakdown()) {
    for (Ratio* ratio : {&summary.absorption_ratio, &summary.polarization_index}) {
      *ratio = {{}, {}, false, "the insulation broke down", rules::run_failed};
    }
  } else if (!voltage_kept_) {
    for (Ratio* ratio : {&summary.absorption_ratio, &summary.polarization_index}) {
      if (!ratio->applies) continue;
      *ratio = {{}, {}, false, "the voltage was not constant", rules::run_constant_voltage};
    }
  }
  if (summary.polarization_index.value && at_60s->megohms_40c && at_600s->megohms_40c &&
      at_60s->winding_celsius != at_600s->winding_celsius) {
    summary.index_at_40c = *at_600s->megohms_40c / *at_60s->megohms_40c;
  }
}

RunSummary InsulationRun::Now() const {
  const bool constant = case_.kind == RunKind::kConstantVoltage;
  RunSummary summary;
  summary.samples = samples_;
  summary.refused = refused_;
  summary.over_range = over_range_;
  summary.flashes = flashes_;
  summary.winding_celsius = celsius_;
  if (last_) {
    summary.last_seconds = last_->seconds;
    summary.last_volts_dc = last_->volts_dc;
    summary.megohms = last_->microamps > 0 ? last_->volts_dc / last_->microamps : 0;
    summary.megohms_40c = WholeWindingAt40C(*summary.megohms, celsius_);
    summary.at_least = last_->over_range;
  }
  if (constant && AtFullVoltage() &&
      (!marks_.empty() || Age(summary.last_seconds) >= Settings().settled_after_seconds)) {
    summary.full_voltage_seconds = stand_seconds_;
  }
  summary.marks = marks_;
  summary.fit = fit_;
  summary.drift = Drift();
  summary.steps = steps_.Read();
  summary.advice = advice_;
  summary.stop = stop_;
  summary.gaps = gaps_;
  summary.longest_gap_seconds = longest_gap_;
  summary.longest_gap_from_seconds = longest_gap_from_;
  summary.discharge_seconds = DischargeSeconds(summary.last_seconds);
  summary.limits = limits_;
  if (constant) {
    Ratios(summary);
    if (fit_ && !stop_ && voltage_kept_ && MarkAt(marks_, 600) == nullptr && fit_->to_seconds < 600 &&
        fit_->to_seconds >= kLeastSpanOfForecast * fit_->from_seconds) {
      const standards::Band current = CurrentForecast(*fit_, 600);
      const auto megohms = [&](double microamps) {
        return microamps * kMostMegohms > stand_volts_ ? stand_volts_ / microamps : kMostMegohms;
      };
      summary.forecast = IndexForecast{{megohms(current.high), megohms(current.nominal), megohms(current.low)},
                                       RatioForecast(*fit_, 60, 600),
                                       fit_->to_seconds};
    }
  } else if (case_.judgement.megohm.rated_volts < kFromVoltsOfIeee95) {
    summary.notes.emplace_back(
        "Step-voltage tests are described by IEEE 95 for machines of 2300 V and above: below that they are the shop's "
        "own.");
  }
  Judge(summary);
  if (limits_.outside_scope) {
    summary.notes.emplace_back(
        "Below 750 W the megohm standard does not formally apply: its figures are used here as a shop convention.");
  }
  summary.notes.emplace_back(
      "Megohms see neither a shorted turn nor a reversed coil: a good run alone does not make a winding sound.");
  summary.rules = limits_.rules;
  summary.rules.push_back(rules::ieee43_discharge);
  if (summary.full_voltage_seconds.value_or(0) > 0) {
    summary.notes.push_back(
        absl::StrFormat("Full voltage from %.4g s on: readings after 30 s, 60 s and 10 min, ratios and fit count from "
                        "there, the time to "
                        "earth the winding from the first volt.",
                        *summary.full_voltage_seconds));
    summary.rules.push_back(rules::run_full_voltage);
  }
  if (!summary.marks.empty()) summary.rules.push_back(rules::run_mark);
  if (summary.fit) summary.rules.push_back(rules::run_absorption_law);
  if (summary.forecast) summary.rules.push_back(rules::run_index_forecast);
  if (summary.drift) summary.rules.push_back(rules::run_temperature_drift);
  if (!summary.steps.empty()) summary.rules.push_back(rules::ieee95_out_of_proportion);
  if (summary.megohms_40c) {
    if (const auto corrected = To40Celsius(1, *celsius_, case_.judgement.family); corrected.ok()) {
      summary.rules.push_back(corrected->rule);
    }
    if (case_.others != OtherPhases::kTogether) summary.rules.push_back(rules::ieee43_phase_reading);
  }
  return summary;
}

RunSummary InsulationRun::Finish() {
  RunUpdate last;
  if (!finished_ && last_) {
    if (!held_.empty()) {
      Advise(AdviceKind::kJump, true, held_.front().seconds,
             absl::StrFormat("the run ends on %.4g uA, far above what went before: a breakdown until shown otherwise",
                             held_.back().microamps),
             rules::run_current_jump, last);
    }
    if (const std::optional<double> times = gross_.Pending(); times && !stop_ && VoltageOn(*last_)) {
      StopForGross(AdviceKind::kJump, *times, last_->seconds,
                   absl::StrFormat("the run ends on %.4g uA at %.4g V, %.3g times the most that the readings before "
                                   "foretell",
                                   last_->microamps, last_->volts_dc, *times),
                   rules::run_current_jump, last);
    }
    if (case_.kind == RunKind::kStepVoltage) {
      if (leap_) EndOnLeap(last_->seconds, "and the run ends on it", last);
      steps_.End(false);
      JudgeStep(last_->seconds, last);
    }
    if (case_.kind == RunKind::kConstantVoltage) {
      if (next_mark_ < kMarks.size() && steady_ &&
          Age(steady_->seconds) >= (1 - Settings().mark_missed_by_most) * kMarks[next_mark_]) {
        RunMark mark;
        mark.seconds = kMarks[next_mark_];
        mark.megohms = steady_->volts_dc / steady_->microamps;
        mark.winding_celsius = celsius_;
        mark.at_least = steady_->over_range;
        mark.volts_dc = steady_->volts_dc;
        mark.reason = absl::StrFormat("read after %g s, the last of the run", Age(steady_->seconds));
        AddMark(std::move(mark), last);
      }
      // One that was to be stopped ends as it should.
      if (next_mark_ < kMarks.size() && !stop_) {
        Advise(AdviceKind::kShortOfTime, false, last_->seconds,
               AtFullVoltage()
                   ? absl::StrFormat("the run ends %g s after full voltage, before the reading at %g s",
                                     Age(last_->seconds), kMarks[next_mark_])
                   : absl::StrFormat("the run ends after %g s, and the voltage never stood at the %.4g V set",
                                     last_->seconds, case_.test_volts_dc.value_or(0)),
               rules::run_mark, last);
      }
      if (!bins_.empty()) Refit(last_->seconds, last);
    }
  }
  finished_ = true;
  return Now();
}

}  // namespace coilwright::insulation
