#pragma once

namespace coilwright::insulation {

// run_settings.csv, read once; shares are of 1, times in seconds. The rule of each stands in the table.
struct RunSettings {
  double current_and_megohms_agree_within, test_voltage_slack, dew_margin_kelvin;
  double same_reading_within;  // a run and a reading of the same winding may differ so
  double gap_least_seconds, gap_in_intervals;
  double voltage_slack, voltage_fell_to;
  double settled_after_seconds;  // until then a voltage may still find its value
  double voltage_on_from;        // of the test voltage: below, it is not applied yet
  double mark_interpolated_over_most, mark_missed_by_most;
  double temperature_smoothing_seconds;  // behind the watch for a rise
  double flashes_to_stop;
  double unseen_warmth_most_kelvin;          // that a thermometer may leave between two readings of it
  double gross_rise_from, gross_fails_from;  // times the most current per volt
  double gross_readings, gross_least_seconds,
      gross_in_scatters;              // that tell one: each beyond so many times its scatter
  double new_voltage, lower_voltage;  // of a step, of the voltage that stood
  double response_from_seconds, response_to_seconds, response_apart;
  double drift_said_from;
  double step_departure_said_from, step_departure_stops_from, step_read_after_seconds;
  double leap_stops_from, leaps_to_stop;  // over the most a winding in proportion could draw; in succession
  double charging_leap_from;              // the same within the charge of a step
  double greatest_winding_microfarads;    // of any winding: bounds the first reading of a step
  double earth_fault_below_megohms, earth_fault_from_seconds, earth_fault_readings;
  double low_throughout_from_seconds;
};
const RunSettings& Settings();

}  // namespace coilwright::insulation
