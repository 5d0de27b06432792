#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/write.h"
#include "standards/tables.h"
#include "testing/drive_stress.h"

namespace coilwright::rpc {
namespace {

static_assert(static_cast<int>(testing::BusBasis::kMainsLoaded) + 1 == v1::DC_BUS_BASIS_MAINS_LOADED);
static_assert(static_cast<int>(testing::DriveLimitKind::kOwn) + 1 == v1::DRIVE_LIMIT_KIND_OWN);
static_assert(static_cast<int>(testing::StressClass::kBeyondD) + 1 == v1::STRESS_CLASS_BEYOND_D);

constexpr Range kRiseUs = {0.001, 1000, "us"};

v1::StressClass ClassOf(testing::StressClass stress) {
  return static_cast<v1::StressClass>(static_cast<int>(stress) + 1);
}

void WriteLimit(const testing::DriveLimit& limit, v1::DriveLimit* out) {
  out->set_kind(static_cast<v1::DriveLimitKind>(static_cast<int>(limit.kind) + 1));
  out->set_title(limit.title);
  out->set_limit_volts_peak(limit.limit_volts_peak);
  if (limit.least_rise_time_10_90_us) out->set_least_rise_time_10_90_us(*limit.least_rise_time_10_90_us);
  out->set_peak_within(limit.peak_within);
  if (limit.rise_time_within) out->set_rise_time_within(*limit.rise_time_within);
  out->set_any_length_safe(limit.any_length);
  if (limit.safe_cable_metres) WriteBand(*limit.safe_cable_metres, out->mutable_safe_cable_metres());
  if (limit.safe_rise_time_10_90_us) out->set_safe_rise_time_10_90_us(*limit.safe_rise_time_10_90_us);
  out->set_rule(Str(limit.rule));
}

void WriteImpulse(const testing::ImpulseStress& stress, std::initializer_list<absl::string_view> rules,
                  v1::ImpulseStress* out) {
  out->set_volts_peak_to_peak(stress.volts_peak_to_peak);
  out->set_multiple_of_rated(stress.multiple);
  out->set_needs(ClassOf(stress.needs));
  WriteRules(rules, out);
}

void WriteStress(const testing::DriveStress& stress, v1::AssessDriveStressResponse* out) {
  WriteBand(stress.dc_bus_volts, out->mutable_dc_bus_volts());
  if (stress.bus_doubt) out->set_bus_doubt(*stress.bus_doubt);
  if (stress.mains_peak_volts) {
    out->set_mains_peak_volts(*stress.mains_peak_volts);
    out->set_mains_loaded_volts(*stress.mains_loaded_volts);
    out->set_mains_high_line_volts(*stress.mains_high_line_volts);
  }
  WriteBand(stress.load_reflection, out->mutable_load_reflection());
  WriteBand(stress.velocity_metres_per_us, out->mutable_cable_velocity_metres_per_us());
  out->set_rise_time_10_90_us(stress.rise_time_10_90_us);
  out->set_rise_time_0_100_us(stress.rise_time_0_100_us);
  out->set_critical_cable_metres(stress.critical_metres);
  out->set_terminal_volts_peak(stress.volts_peak);
  out->set_overshoot_factor(stress.overshoot);
  out->set_lattice_volts_peak(stress.lattice_volts_peak);
  out->set_lattice_overshoot_factor(stress.lattice_overshoot);
  for (const testing::DriveLimit& limit : stress.limits) WriteLimit(limit, out->add_limits());
  out->set_stress(ClassOf(stress.stress));
  WriteImpulse(stress.phase_to_phase, {rules::iec60034_18_41_class}, out->mutable_phase_to_phase());
  WriteImpulse(stress.phase_to_ground, {rules::iec60034_18_41_class, rules::iec60034_18_41_phase_to_ground},
               out->mutable_phase_to_ground());
  for (const std::string& line : stress.meaning) out->add_meaning(line);
  for (const std::string& note : stress.notes) out->add_notes(note);
  for (const std::string& caution : stress.cautions) out->add_cautions(caution);
  WriteRules(stress.rules, out);
}

}  // namespace

absl::Status AssessDriveStress(const v1::AssessDriveStressRequest& request, v1::AssessDriveStressResponse* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  testing::DriveStressCase c;
  c.rated_volts = reader.Need("rated_volts", reader.Number("rated_volts", {1, 15000, "V"}),
                              "1 V to 15000 V, line to line rms of the winding (not mains, not DC bus)", 400.0);
  c.mains_volts = reader.Number("mains_volts", {1, 15000, "V"});
  c.dc_bus_volts = reader.Number("dc_bus_volts", {1, 30000, "V"});
  c.bus_basis = reader.Enum<testing::BusBasis>("bus_basis").value_or(c.bus_basis);
  c.cable_metres = reader.Need("cable_length", reader.Mm("cable_length", {10, 5e6, "mm"}),
                               "length of the motor cable, 0.01 m to 5000 m", 1000.0) /
                   1000;
  c.rise_time_10_90_us = reader.Number("rise_time_10_90_us", kRiseUs);
  c.rise_time_0_100_us = reader.Number("rise_time_0_100_us", kRiseUs);
  c.cable_velocity_metres_per_us = reader.Number("cable_velocity_metres_per_us", {50, 299.792458, "m/us"});
  c.relative_permittivity = reader.Number("relative_permittivity", {1, 30, ""});
  c.cable_ohms = reader.Number("cable_impedance_ohms", {1, 1000, "ohms"});
  c.motor_ohms = reader.Number("motor_impedance_ohms", {1, 1e6, "ohms"});
  c.load_reflection = reader.Number("load_reflection", {0, 1, ""});
  c.source_reflection = reader.Number("source_reflection", {-1, 1, ""}).value_or(c.source_reflection);
  c.rated_kw = reader.Kw("rated_power", kRatedKw);
  c.own_limit_volts_peak = reader.Number("own_limit_volts_peak", {1, 1e5, "V"});
  if (!errors.empty()) return standards::InvalidFields(errors);
  const absl::StatusOr<testing::DriveStress> stress = testing::AssessDriveStress(c);
  if (!stress.ok()) return stress.status();
  WriteStress(*stress, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
