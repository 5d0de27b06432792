#include "insulation/voltage_steps.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

namespace coilwright::insulation {
namespace {

constexpr double kNewStep = 0.05;
constexpr double kLeastHeldSeconds = 5;
constexpr double kReadSeconds = 60;
constexpr double kNextMoment = 1.1, kFirstMomentSeconds = 0.1;

// What the steps before `index` foretell for its voltage.
double Foretold(const std::vector<VoltageStep>& steps, size_t index) {
  const double volts = steps[index].volts_dc;
  if (index == 1) return steps[0].microamps * volts / steps[0].volts_dc;
  double v = 0, i = 0;
  for (size_t k = 0; k < index; ++k) {
    v += steps[k].volts_dc / static_cast<double>(index);
    i += steps[k].microamps / static_cast<double>(index);
  }
  double vv = 0, vi = 0;
  for (size_t k = 0; k < index; ++k) {
    vv += (steps[k].volts_dc - v) * (steps[k].volts_dc - v);
    vi += (steps[k].volts_dc - v) * (steps[k].microamps - i);
  }
  return i + vi / vv * (volts - v);
}

}  // namespace

void VoltageSteps::Read(VoltageStep& step, double seconds_into_step, double microamps, size_t index) const {
  step.microamps = microamps;
  step.read_after_seconds = seconds_into_step;
  if (index == 0) return;
  const VoltageStep& before = steps_[index - 1];
  step.current_exponent = std::log(microamps / before.microamps) / std::log(step.volts_dc / before.volts_dc);
  std::vector<VoltageStep> with(steps_.begin(), steps_.begin() + static_cast<std::ptrdiff_t>(index));
  with.push_back(step);
  const double foretold = Foretold(with, index);
  step.departure_ratio = foretold > 0 ? std::optional<double>(microamps / foretold - 1) : std::nullopt;
}

bool VoltageSteps::ReadByHand(double seconds_after) {
  VoltageStep& step = steps_.back();
  const double seconds_before = step.from_seconds - before_seconds_;
  if (samples_ != 1 || std::min(seconds_before, seconds_after) < kLeastHeldSeconds) return false;
  step.from_seconds = before_seconds_;
  step.held_seconds = seconds_before;
  moments_.push_back({seconds_before, last_microamps_});
  Read(step, seconds_before, last_microamps_, steps_.size() - 1);
  minute_read_ = true;
  return true;
}

double VoltageSteps::Rise() const {
  return steps_.empty() ? 0 : steps_.back().volts_dc - (steps_.size() > 1 ? steps_[steps_.size() - 2].volts_dc : 0);
}

void VoltageSteps::End(bool broke_down) {
  broke_down_ = broke_down_ || broke_down;
  if (!steps_.empty()) ReadByHand(kLeastHeldSeconds);
}

VoltageSteps::Event VoltageSteps::Add(double seconds, double volts, double microamps) {
  if (lowered_) return Event::kNone;
  const size_t index = steps_.size() - 1;
  const bool higher = steps_.empty() || volts > steps_.back().volts_dc * (1 + kNewStep);
  if (higher) {
    if (!steps_.empty()) {
      VoltageStep& last = steps_.back();
      const bool by_hand = ReadByHand(seconds - last_seconds_);
      if (last.held_seconds < kLeastHeldSeconds) {
        steps_.pop_back();
      } else if (!minute_read_ && !by_hand) {
        Read(last, last.held_seconds, last_microamps_, index);
      }
      if (index < steps_.size()) moments_before_ = std::move(moments_);
      moments_.clear();
    }
    VoltageStep step;
    step.volts_dc = volts;
    step.from_seconds = seconds;
    steps_.push_back(step);
    samples_ = 1;
    minute_read_ = false;
    before_seconds_ = last_seconds_;
    last_seconds_ = seconds;
    last_microamps_ = microamps;
    return Event::kNewVoltage;
  }
  VoltageStep& step = steps_.back();
  if (volts < step.volts_dc * (1 - kNewStep)) {
    lowered_ = true;
    return Event::kLowered;
  }
  ++samples_;
  step.volts_dc += (volts - step.volts_dc) / samples_;
  const double before = last_seconds_ - step.from_seconds;
  step.held_seconds = seconds - step.from_seconds;
  if (step.held_seconds >= (moments_.empty() ? kFirstMomentSeconds : kNextMoment * moments_.back().seconds_into_step)) {
    moments_.push_back({step.held_seconds, microamps});
  }
  Event event = Event::kNone;
  if (!minute_read_ && step.held_seconds >= kReadSeconds) {
    if (before > kReadSeconds / 2 && before < kReadSeconds) {
      // Straight in the logarithms of time and current.
      const double share = std::log(kReadSeconds / before) / std::log(step.held_seconds / before);
      Read(step, kReadSeconds, last_microamps_ * std::pow(microamps / last_microamps_, share), index);
    } else {
      Read(step, step.held_seconds, microamps, index);
    }
    minute_read_ = true;
    event = Event::kStepRead;
  }
  last_seconds_ = seconds;
  last_microamps_ = microamps;
  return event;
}

std::optional<double> VoltageSteps::OverMost() const {
  const size_t index = steps_.size() - 1;
  if (steps_.size() < 2 || lowered_) return std::nullopt;
  const auto after = std::upper_bound(moments_before_.begin(), moments_before_.end(), steps_[index].held_seconds,
                                      [](double seconds, const Moment& m) { return seconds < m.seconds_into_step; });
  if (after == moments_before_.begin()) return std::nullopt;
  const double rise = steps_[index].volts_dc - steps_[index - 1].volts_dc;
  const double rise_before = steps_[index - 1].volts_dc - (index > 1 ? steps_[index - 2].volts_dc : 0);
  return last_microamps_ / (std::prev(after)->microamps * (1 + rise / rise_before));
}

std::vector<VoltageStep> VoltageSteps::Read() const {
  std::vector<VoltageStep> read = steps_;
  if (read.empty() || minute_read_) return read;
  if (read.back().held_seconds < kLeastHeldSeconds && !broke_down_) {
    read.pop_back();
  } else {
    Read(read.back(), read.back().held_seconds, last_microamps_, read.size() - 1);
  }
  return read;
}

}  // namespace coilwright::insulation
