// What a run comes to.
#include <algorithm>
#include <cmath>
#include <limits>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/input_ranges.h"
#include "insulation/run.h"
#include "insulation/run_settings.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

// Where the correction ends: no temperature raises megohms more. For a winding whose temperature nobody told.
constexpr double kMostFavourableCelsius = 85;

}  // namespace

void InsulationRun::NoteLevel(const Taken& taken) {
  level_ = taken;
  if (!taken.celsius) level_->celsius = celsius_;
  const double megohms = taken.over_range ? std::numeric_limits<double>::infinity()
                                          : WholeWindingAt40C(taken.volts_dc / taken.microamps,
                                                              level_->celsius.value_or(kMostFavourableCelsius))
                                                .value_or(std::numeric_limits<double>::infinity());
  if (best_ && megohms <= best_megohms_40c_) return;
  best_ = level_;
  best_megohms_40c_ = megohms;
}

std::optional<JudgedReading> InsulationRun::JudgeReading(const Taken& taken, bool over_range) const {
  MegohmReading reading;
  reading.megohms_60s = std::min(taken.volts_dc / taken.microamps, kMostMegohms);
  reading.over_range = over_range;
  reading.winding_celsius = *taken.celsius;
  reading.others = case_.others;
  reading.uncertainty_ratio = case_.uncertainty_ratio;
  reading.test_volts_dc = taken.volts_dc;
  const absl::StatusOr<Judgement> judgement = insulation::Judge(case_.judgement, {reading});
  if (!judgement.ok()) return std::nullopt;
  return judgement->readings.front();
}

std::optional<std::string> InsulationRun::Breakdown() const {
  for (const Advice& advice : advice_) {
    if (!advice.stop) continue;
    if (advice.kind == AdviceKind::kEarthFault) {
      return absl::StrFormat(
          "earth fault: the winding is connected to the frame, read after %.4g s. No withstand test; find the place or "
          "rewind",
          advice.seconds);
    }
    if (advice.kind == AdviceKind::kVoltageFell) {
      return absl::StrFormat(
          "broke down after %.4g s: a flashover, unless the voltage was taken off then and the meter shows the "
          "discharge. "
          "No withstand test; find the place or rewind",
          advice.seconds);
    }
  }
  if (broke_down_) return broke_down_;
  if (!stop_ || !level_ || level_->over_range || !level_->celsius) return std::nullopt;
  const std::optional<double> left = WholeWindingAt40C(level_->volts_dc / level_->microamps, level_->celsius);
  if (!left || *left * (1 + case_.uncertainty_ratio) >= limits_.minimum_megohms) return std::nullopt;
  return absl::StrFormat(
      "broke down on the way: %.3g megohms at 40 C at the end, below the minimum, after reason to stop. No withstand "
      "test; find the place or rewind",
      *left);
}

// Every reading with the charge behind it below the minimum, for so long that no minute could have brought it back.
std::optional<JudgedReading> InsulationRun::JudgeLowThroughout() const {
  if (!best_ || !level_ || !std::isfinite(best_megohms_40c_) || case_.kind == RunKind::kStepVoltage)
    return std::nullopt;
  const double age = Age(level_->seconds);
  const double at_most =
      age >= Settings().low_throughout_from_seconds ? best_megohms_40c_ : best_megohms_40c_ * 60 / age;
  if (at_most * (1 + case_.uncertainty_ratio) >= limits_.minimum_megohms) return std::nullopt;
  Taken best = *best_;
  if (!best.celsius) best.celsius = kMostFavourableCelsius;
  // Too low a voltage flatters the insulation, and a meter at its greatest current cannot hold more.
  const double volts = std::max(best.volts_dc, limits_.test_volts_dc_low);
  best.microamps *= volts / best.volts_dc;
  best.volts_dc = volts;
  std::optional<JudgedReading> judged = JudgeReading(best, false);
  if (!judged || judged->verdict != Verdict::kFail) return std::nullopt;
  judged->reason = absl::StrFormat(
      "below the minimum at every reading of the %.4g s at its voltage: %.3g megohms at 40 C at best%s. Clean and dry "
      "out, read again; if it stays, rewind. No withstand test before it passes",
      age, *judged->megohms_40c, best_->celsius ? "" : ", were it at 85 C; its temperature was not given");
  return judged;
}

void InsulationRun::Judge(RunSummary& summary) const {
  if (samples_ == 0) return;
  const bool constant = case_.kind == RunKind::kConstantVoltage;
  const auto at_60s =
      std::find_if(marks_.begin(), marks_.end(), [](const RunMark& mark) { return mark.seconds == 60; });
  const bool read = at_60s != marks_.end() && at_60s->megohms;
  if (read && at_60s->winding_celsius) {
    summary.judged = JudgeReading(
        {60, at_60s->volts_dc, at_60s->volts_dc / *at_60s->megohms, at_60s->winding_celsius, false}, at_60s->at_least);
  } else if (constant) {
    summary.judged = JudgedReading{};
    summary.judged->reason = read ? "the temperature of the winding was not given, and without it megohms have no limit"
                             : at_60s != marks_.end() ? absl::StrCat("no reading after 60 s: ", at_60s->reason)
                             : !AtFullVoltage()       ? "no reading after 60 s: the voltage set was never reached"
                             : voltage_kept_ || stop_
                                 ? "no reading after 60 s: the run ended before"
                                 : "no reading after 60 s at the voltage of the run, which was not kept";
  }
  if (summary.judged && summary.judged->verdict == Verdict::kNotValid) {
    if (std::optional<JudgedReading> low = JudgeLowThroughout()) {
      summary.judged = std::move(low);
      summary.judged->rules.push_back(rules::run_failed);
    }
  }
  if (const std::optional<std::string> reason = Breakdown()) {
    if (!summary.judged) summary.judged = JudgedReading{};
    summary.judged->verdict = Verdict::kFail;
    summary.judged->reason = *reason;
    summary.judged->rules.push_back(rules::run_failed);
  } else if (stop_ && summary.judged && summary.judged->verdict != Verdict::kFail) {
    summary.judged->verdict = Verdict::kNotValid;
    summary.judged->reason =
        read ? "the run gave reason to stop; the one-minute value alone does not count" : "the run gave reason to stop";
  }
  if (unexplained_flash_ && summary.judged && summary.judged->verdict == Verdict::kPass) {
    summary.judged->verdict = Verdict::kNotValid;
    summary.judged->reason =
        "the current shot up and came back on the way: a flash inside or a disturbance. Test again; the one-minute "
        "value alone does not count";
  }
  if (!summary.judged) return;
  if (std::vector<absl::string_view>& used = summary.judged->rules;
      std::find(used.begin(), used.end(), rules::ieee43_discharge) == used.end()) {
    used.push_back(rules::ieee43_discharge);
  }
  summary.judged->polarization_index = summary.polarization_index;
  summary.judged->absorption_ratio = summary.absorption_ratio;
  summary.judged->discharge_seconds = summary.discharge_seconds;
}

}  // namespace coilwright::insulation
