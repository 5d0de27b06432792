#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

namespace coilwright::insulation {

// Looks for a gross rise of the current per volt whatever the voltage does, against the most that a linear winding
// could draw. Superposition: each volt applied draws a current h(t) that only falls, so at an age s since the last rise
// of the voltage the current per volt is at most the least one known before, and h(s) for the share of the volts raised
// since; h is known from the first time the voltage stood. While a ramp goes on, the current that charges in proportion
// to its rate is added. A reading over range is a bound, and a bound is known like a value. Derived here.
class GrossWatch {
 public:
  struct Reading {
    double seconds = 0, volts = 0, microamps = 0;
    double factor = 1;   // the most the temperature puts on the current, 1 where not known
    bool bound = false;  // at most these microamps
  };
  // `charge_seconds` are left to the capacitive charge after each rise; `rise_from` times the most is a gross rise.
  GrossWatch(double charge_seconds, double rise_from) : charge_seconds_(charge_seconds), rise_from_(rise_from) {}

  // Times over the most, once three readings in succession and half a second are gross (run_settings.csv): five seconds
  // of charge or more after any rise of the voltage. Times rise; volts and microamps above 0. Constant time, bounded
  // memory.
  std::optional<double> Add(const Reading& reading);
  // The same where the latest readings are gross and no rise of the voltage explains them, though too few to be told.
  std::optional<double> Pending() const;

 private:
  struct Moment {
    double age = 0, per_volt = 0;
  };
  void FollowVoltage(const Reading& reading);
  void Learn(const Reading& reading, double per_volt, double age);
  double Response(double age) const;
  bool Ramping() const { return rising_ >= kRampReadings; }

  static constexpr int kRampReadings = 8;
  double charge_seconds_, rise_from_;
  std::array<double, 3> volts_{}, levels_{};  // the last three
  size_t volts_taken_ = 0, levels_taken_ = 0;
  double median_volts_ = 0, stand_volts_ = 0, raised_seconds_ = 0;
  double raised_volts_ = 0;  // since the least current per volt was read
  bool fallen_ = false, responded_ = false;
  int rising_ = 0;  // readings in succession each above the one before
  std::optional<Reading> last_;
  double volts_per_second_ = 0;             // the most of the ramp that goes on
  std::optional<double> most_microfarads_;  // of a ramp that went on
  std::optional<double> least_per_volt_;
  double least_factor_ = 1, scatter_square_ = 0;
  std::vector<Moment> response_;  // a tenth apart
  int over_ = 0;                  // readings in succession
  double over_from_ = 0, times_ = 0;
};

}  // namespace coilwright::insulation
