#include "insulation/gross_watch.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "insulation/median.h"
#include "insulation/run_settings.h"

namespace coilwright::insulation {

void GrossWatch::FollowVoltage(const Reading& reading) {
  rising_ = last_ && reading.volts > last_->volts ? rising_ + 1 : 0;
  if (rising_ > 0) {
    const double rate = (reading.volts - last_->volts) / (reading.seconds - last_->seconds);
    volts_per_second_ = rising_ == 1 ? rate : std::max(rate, volts_per_second_);
  }
  volts_[volts_taken_++ % 3] = reading.volts;
  median_volts_ = volts_taken_ < 3 ? reading.volts : Median({volts_.begin(), volts_.end()});
  if (stand_volts_ == 0) stand_volts_ = median_volts_;
  if (median_volts_ > stand_volts_ * (1 + Settings().new_voltage)) {
    responded_ = responded_ || reading.seconds - raised_seconds_ >= charge_seconds_;
    if (!responded_) response_.clear();
    raised_volts_ += median_volts_ - stand_volts_;
    raised_seconds_ = reading.seconds;
    stand_volts_ = median_volts_;
  } else if (median_volts_ < stand_volts_ * (1 - Settings().lower_voltage)) {
    fallen_ = least_per_volt_.has_value();
    stand_volts_ = median_volts_;
  }
}

double GrossWatch::Response(double age) const {
  const auto after = std::upper_bound(response_.begin(), response_.end(), age,
                                      [](double seconds, const Moment& m) { return seconds < m.age; });
  if (after != response_.begin()) return std::prev(after)->per_volt;
  // Earlier than any: absorption falls as 1/t at most.
  return response_.empty() ? *least_per_volt_
                           : response_.front().per_volt * response_.front().age / std::max(age, 1e-3);
}

void GrossWatch::Learn(const Reading& reading, double per_volt, double age) {
  if (!responded_ && !fallen_ && age <= Settings().response_to_seconds &&
      age >=
          (response_.empty() ? Settings().response_from_seconds : Settings().response_apart * response_.back().age)) {
    response_.push_back({age, per_volt});
  }
  if (Ramping() && !reading.bound) {
    most_microfarads_ = std::max(most_microfarads_.value_or(0), reading.microamps / volts_per_second_);
  }
  // A display may start over range, and a voltage that fell takes charge back for a time.
  if (fallen_ || reading.seconds < charge_seconds_ || (reading.bound && age < charge_seconds_)) return;
  if (levels_taken_ > 0 && !reading.bound) {
    const double difference = std::log(per_volt / levels_[(levels_taken_ - 1) % 3]);
    scatter_square_ += 0.1 * (difference * difference / 2 - scatter_square_);
  }
  levels_[levels_taken_++ % 3] = per_volt;
  const double level = levels_taken_ < 3 ? per_volt : Median({levels_.begin(), levels_.end()});
  if (least_per_volt_ && level > *least_per_volt_) return;
  least_per_volt_ = level;
  least_factor_ = reading.factor;
  raised_volts_ = 0;
}

std::optional<double> GrossWatch::Add(const Reading& reading) {
  FollowVoltage(reading);
  const double per_volt = reading.microamps / reading.volts, age = reading.seconds - raised_seconds_;
  last_ = reading;
  if (least_per_volt_ && !reading.bound) {
    double most = *least_per_volt_ + std::min(raised_volts_ / median_volts_, 1.0) * Response(age);
    if (Ramping()) most += most_microfarads_.value_or(0) * volts_per_second_ / reading.volts;
    most *= std::max(reading.factor / least_factor_, 1.0);
    times_ = per_volt / most;
    if (std::log(times_) > std::max(std::log(rise_from_), Settings().gross_in_scatters * std::sqrt(scatter_square_))) {
      if (over_++ == 0) over_from_ = reading.seconds;
      const double lasted = reading.seconds - over_from_;
      const bool same_voltage =
          median_volts_ <= stand_volts_ * (1 + Settings().voltage_slack) && age >= charge_seconds_;
      const bool charged =
          lasted >= charge_seconds_ && (Ramping() ? most_microfarads_.has_value() : age >= charge_seconds_);
      if (over_ >= Settings().gross_readings && lasted >= Settings().gross_least_seconds && (same_voltage || charged))
        return times_;
      return std::nullopt;
    }
  }
  over_ = 0;
  Learn(reading, per_volt, age);
  return std::nullopt;
}

std::optional<double> GrossWatch::Pending() const {
  if (over_ == 0 || median_volts_ > stand_volts_ * (1 + Settings().voltage_slack) ||
      last_->seconds - raised_seconds_ < charge_seconds_ ||
      last_->volts > stand_volts_ * (1 + Settings().voltage_slack)) {
    return std::nullopt;
  }
  return times_;
}

}  // namespace coilwright::insulation
