#include "insulation/run_settings.h"

#include "insulation/constants.h"

namespace coilwright::insulation {
namespace {

RunSettings Read() {
  const standards::Table table(standards::EmbeddedTable("run_settings"));
  const auto value = [&](absl::string_view name) { return NamedNumber(table, name); };
  RunSettings s = {};
  s.current_and_megohms_agree_within = value("current_and_megohms_agree_within");
  s.same_reading_within = value("same_reading_within");
  s.test_voltage_slack = value("test_voltage_slack");
  s.dew_margin_kelvin = value("dew_margin");
  s.gap_least_seconds = value("gap_least");
  s.gap_in_intervals = value("gap_in_intervals");
  s.voltage_slack = value("voltage_slack");
  s.voltage_fell_to = value("voltage_fell_to");
  s.settled_after_seconds = value("settled_after");
  s.voltage_on_from = value("voltage_on_from");
  s.mark_interpolated_over_most = value("mark_interpolated_over_most");
  s.mark_missed_by_most = value("mark_missed_by_most");
  s.temperature_smoothing_seconds = value("temperature_smoothing");
  s.flashes_to_stop = value("flashes_to_stop");
  s.gross_rise_from = value("gross_rise_from");
  s.gross_fails_from = value("gross_fails_from");
  s.unseen_warmth_most_kelvin = value("unseen_warmth_most");
  s.gross_readings = value("gross_readings");
  s.gross_least_seconds = value("gross_least_time");
  s.gross_in_scatters = value("gross_in_scatters");
  s.new_voltage = value("new_voltage");
  s.lower_voltage = value("lower_voltage");
  s.response_from_seconds = value("response_from");
  s.response_to_seconds = value("response_to");
  s.response_apart = value("response_apart");
  s.drift_said_from = value("drift_said_from");
  s.step_departure_said_from = value("step_departure_said_from");
  s.step_departure_stops_from = value("step_departure_stops_from");
  s.step_read_after_seconds = value("step_read_after");
  s.leap_stops_from = value("leap_stops_from");
  s.charging_leap_from = value("charging_leap_from");
  s.greatest_winding_microfarads = value("greatest_winding");
  s.leaps_to_stop = value("leaps_to_stop");
  s.earth_fault_below_megohms = value("earth_fault_below");
  s.earth_fault_from_seconds = value("earth_fault_from");
  s.earth_fault_readings = value("earth_fault_readings");
  s.low_throughout_from_seconds = value("low_throughout_from");
  return s;
}

}  // namespace

const RunSettings& Settings() {
  static const RunSettings settings = Read();
  return settings;
}

}  // namespace coilwright::insulation
