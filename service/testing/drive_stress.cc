#include "testing/drive_stress.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/input_ranges.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/tables.h"
#include "standards/units.h"
#include "testing/drive_limits.h"
#include "testing/programme.h"

namespace coilwright::testing {
namespace {

using standards::Band;
using standards::EmbeddedTable;
using standards::Table;
using standards::WithUnit;

constexpr double kLightMetresPerUs = 299.792458;  // exact

// The chopper thresholds of drives on these mains, or nothing where none is usual.
std::optional<Band> ChopperVolts(double mains_volts) {
  static const Table& table = *new Table(EmbeddedTable("drive_bus"));
  for (int row = 0; row < table.rows(); ++row) {
    if (mains_volts < *table.Number(row, "from_volts") || mains_volts > *table.Number(row, "to_volts")) continue;
    const double low = *table.Number(row, "low_volts_dc"), high = *table.Number(row, "high_volts_dc");
    return Band{low, (low + high) / 2, high};
  }
  return std::nullopt;
}

void CheckCable(const DriveStressCase& c, standards::RangeCheck* checks) {
  checks->Within("cable_length", c.cable_metres, 0.01, 5000, "m");
  const auto rise = [&](const char* field, const std::optional<double>& us) {
    if (us) checks->Within(field, *us, 0.001, 1000, "us");
  };
  rise("rise_time_10_90_us", c.rise_time_10_90_us);
  rise("rise_time_0_100_us", c.rise_time_0_100_us);
  if (c.rise_time_10_90_us.has_value() == c.rise_time_0_100_us.has_value()) {
    checks->Refuse("rise_time_10_90_us", c.rise_time_10_90_us ? "both" : "nothing",
                   "one of the rise times 10 to 90 % and 0 to 100 %");
  }
  if (c.cable_velocity_metres_per_us) {
    checks->Within("cable_velocity_metres_per_us", *c.cable_velocity_metres_per_us, 50, kLightMetresPerUs, "m/us");
  }
  if (c.relative_permittivity) checks->Within("relative_permittivity", *c.relative_permittivity, 1, 30, "");
  if (c.cable_velocity_metres_per_us && c.relative_permittivity) {
    checks->Refuse("relative_permittivity", "both", "one of velocity and relative permittivity, or neither");
  }
}

void CheckReflection(const DriveStressCase& c, standards::RangeCheck* checks) {
  // Below 0 the motor would take the wave down: no motor winding does at these frequencies.
  if (c.load_reflection) checks->Within("load_reflection", *c.load_reflection, 0, 1, "");
  if (c.cable_ohms) checks->Within("cable_impedance_ohms", *c.cable_ohms, 1, 1000, "ohms");
  if (c.motor_ohms) {
    checks->Within("motor_impedance_ohms", *c.motor_ohms, std::max(1.0, c.cable_ohms.value_or(1)), 1e6, "ohms");
  }
  if (c.cable_ohms.has_value() != c.motor_ohms.has_value()) {
    checks->Refuse(c.cable_ohms ? "motor_impedance_ohms" : "cable_impedance_ohms", "nothing",
                   "both surge impedances, or neither");
  }
  if (c.load_reflection && (c.cable_ohms || c.motor_ohms)) {
    checks->Refuse("load_reflection", "both", "one of the reflection and the two surge impedances");
  }
  checks->Within("source_reflection", c.source_reflection, -1, 1, "");
  if (c.rated_kw) checks->Above("rated_power", *c.rated_kw, 0, insulation::kMostRatedKw, "kW");
}

absl::Status Check(const DriveStressCase& c) {
  standards::RangeCheck checks;
  checks.Within("rated_volts", c.rated_volts, insulation::kLeastRatedVolts, 15000, "V");
  if (c.mains_volts) checks.Within("mains_volts", *c.mains_volts, 1, 15000, "V");
  if (c.dc_bus_volts) checks.Within("dc_bus_volts", *c.dc_bus_volts, 1, 30000, "V");
  if (!c.mains_volts && !c.dc_bus_volts) {
    checks.Refuse("mains_volts", "nothing", "the mains of the drive (line to line, rms) or its DC bus");
  }
  if (c.mains_volts && !c.dc_bus_volts && c.bus_basis == BusBasis::kBraking && !ChopperVolts(*c.mains_volts)) {
    checks.Refuse("dc_bus_volts", "nothing",
                  absl::StrCat("the braking threshold of the drive: none is usual on mains of ",
                               WithUnit(*c.mains_volts, "V"), "; or a bus basis of the mains alone"));
  }
  if (c.own_limit_volts_peak) checks.Within("own_limit_volts_peak", *c.own_limit_volts_peak, 1, 1e5, "V");
  CheckCable(c, &checks);
  CheckReflection(c, &checks);
  return checks.status();
}

void SetBus(const DriveStressCase& c, DriveStress* out) {
  const double peak = std::sqrt(2.0) * c.mains_volts.value_or(0);
  if (c.mains_volts) {
    out->mains_peak_volts = peak;
    out->mains_loaded_volts = 3 * peak / standards::kPi;
    out->mains_high_line_volts = DriveFigure("high_line") * peak;
    out->rules.push_back(rules::drive_dc_bus_mains);
  }
  if (c.dc_bus_volts) {
    out->dc_bus_volts = Band::Exactly(*c.dc_bus_volts);
    return;
  }
  out->bus_rule = rules::drive_dc_bus_mains;
  switch (c.bus_basis) {
    case BusBasis::kBraking:
      out->dc_bus_volts = *ChopperVolts(*c.mains_volts);
      out->bus_rule = rules::drive_dc_bus_braking;
      out->rules.push_back(out->bus_rule);
      out->notes.push_back(
          "the bus is taken at the usual threshold of a braking chopper; give the drive's own, or choose a bus basis "
          "of "
          "the mains alone where the drive cannot brake");
      return;
    case BusBasis::kMainsHighLine:
      out->dc_bus_volts = Band::Exactly(*out->mains_high_line_volts);
      break;
    case BusBasis::kMainsPeak:
      out->dc_bus_volts = Band::Exactly(peak);
      break;
    case BusBasis::kMainsLoaded:
      out->dc_bus_volts = Band::Exactly(*out->mains_loaded_volts);
      break;
  }
  out->notes.push_back("the bus is that of the mains alone: a drive that brakes lifts it");
}

// The usual slips, rms for direct volts and 230 for 400, show in the ratio of the bus to the one the winding needs.
// What braking lifts for moments feeds no winding, so mains that are known count in its place.
void SetDoubt(const DriveStressCase& c, DriveStress* out) {
  const double root2 = std::sqrt(2.0);
  const double needed = root2 * c.rated_volts;
  double most = out->dc_bus_volts.high, least = out->dc_bus_volts.low;
  if (!c.dc_bus_volts) most = std::min(most, *out->mains_high_line_volts);
  if (c.mains_volts) least = std::min(least, *out->mains_peak_volts);
  out->rules.push_back(rules::drive_bus_against_rating);
  if (most < DriveFigure("bus_least_share") * needed) {
    out->bus_doubt = absl::StrFormat(
        "a bus of %.4g V makes at most %.4g V line to line, rms: a winding of %.4g V needs about %.4g V of bus", most,
        most / root2, c.rated_volts, needed);
  } else if (least > DriveFigure("bus_most_share") * needed) {
    out->bus_doubt = absl::StrFormat(
        "a bus of %.4g V belongs to a winding of about %.4g V line to line, rms: one of %.4g V has about %.4g V of bus",
        least, least / root2, c.rated_volts, needed);
  }
}

void SetReflection(const DriveStressCase& c, DriveStress* out) {
  out->reflection_rule = rules::drive_reflection;
  if (c.load_reflection) {
    out->load_reflection = Band::Exactly(*c.load_reflection);
  } else if (c.cable_ohms) {
    out->load_reflection = Band::Exactly((*c.motor_ohms - *c.cable_ohms) / (*c.motor_ohms + *c.cable_ohms));
  } else {
    static const Table& table = *new Table(EmbeddedTable("drive_reflection"));
    int row = 0;
    for (int next = 1; next < table.rows(); ++next) {
      if (c.rated_kw.value_or(0) >= *table.Number(next, "from_kw")) row = next;
    }
    const double low = *table.Number(row, "low"), high = *table.Number(row, "high");
    out->load_reflection = {low, (low + high) / 2, high};
    out->reflection_rule = rules::drive_reflection_by_size;
    out->notes.push_back(absl::StrCat("reflection by the size of the motor",
                                      c.rated_kw ? "" : ", unknown and taken as small", ": the upper end decides"));
  }
  out->rules.push_back(out->reflection_rule);
}

void SetVelocity(const DriveStressCase& c, DriveStress* out) {
  out->velocity_rule = rules::vehicles2022_cable_velocity;
  if (c.cable_velocity_metres_per_us) {
    out->velocity_metres_per_us = Band::Exactly(*c.cable_velocity_metres_per_us);
    out->velocity_rule = absl::string_view();
  } else if (c.relative_permittivity) {
    out->velocity_metres_per_us = Band::Exactly(kLightMetresPerUs / std::sqrt(*c.relative_permittivity));
  } else {
    out->velocity_metres_per_us = {DriveFigure("velocity_low"), DriveFigure("velocity"), DriveFigure("velocity_high")};
    out->rules.push_back(rules::practice_cable_velocity_range);
  }
  if (!out->velocity_rule.empty()) out->rules.push_back(out->velocity_rule);
}

void AddNotes(const DriveStressCase& c, DriveStress* out) {
  auto& notes = out->notes;
  if (out->velocity_metres_per_us.low < out->velocity_metres_per_us.high) {
    notes.push_back(
        absl::StrFormat("the wave is taken as on the slowest usual cable, %g m/us", out->velocity_metres_per_us.low));
  }
  notes.push_back(absl::StrFormat(
      "from one switching step; others in print take full doubling from velocity x rise time / 3, %.3g m, on",
      out->velocity_metres_per_us.low * out->rise_time_0_100_us / 3));
  notes.push_back(
      "more than twice the bus can stand at the terminals, up to about three times, where the drive switches two "
      "phases "
      "at once or has no least pulse time");
  notes.push_back(
      "how much of a steep front falls across the first turns has no simple law (IEC 60034-15), so no number is given: "
      "it rises as the rise time falls");
  if (c.rated_volts > DriveFigure("type1_most_volts")) {
    notes.push_back(
        absl::StrCat("above about ", WithUnit(DriveFigure("type1_most_volts"), "V"),
                     " windings are mostly built to resist partial discharge (IEC 60034-18-42): the classes "
                     "here are those of windings free of it"));
  }
  for (const absl::string_view rule : {rules::iec60034_18_41_above_double, rules::iec60034_15_no_simple_law}) {
    out->rules.push_back(rule);
  }
}

}  // namespace

double LatticeOvershoot(double ramp_over_delay, double source, double load) {
  const double q = source * load;
  const double first = (1 - source) / 2 * (1 + load);
  if (first == 0) return 0;
  if (q > 0) return first / (1 - q);
  const double half = ramp_over_delay / 2;
  if (half <= 1) return first;  // no return before the ramp has ended
  // Terms 0 .. n-1 are not past their start: sum q^k - (1/half) sum k q^k, both in closed form.
  const double n = std::ceil(half);
  const double power = std::pow(q, n);
  const double sum = (1 - power) / (1 - q);
  const double weighted = (q * (1 - power) / (1 - q) - n * power) / (1 - q);
  return first * (sum - weighted / half);
}

double EnvelopeOvershoot(double length_over_critical, double load) {
  return 1 + load * std::min(1.0, length_over_critical);
}

absl::StatusOr<DriveStress> AssessDriveStress(const DriveStressCase& stress_case) {
  const DriveStressCase& c = stress_case;
  if (absl::Status status = Check(c); !status.ok()) return status;
  DriveStress out;
  SetBus(c, &out);
  SetDoubt(c, &out);
  SetReflection(c, &out);
  SetVelocity(c, &out);
  out.rise_time_0_100_us = c.rise_time_0_100_us ? *c.rise_time_0_100_us : *c.rise_time_10_90_us / kRampShare10To90;
  out.rise_time_10_90_us = c.rise_time_10_90_us ? *c.rise_time_10_90_us : *c.rise_time_0_100_us * kRampShare10To90;
  // The slowest wave doubles on the shortest cable: "not more than" is from its end of the band.
  out.critical_metres = out.velocity_metres_per_us.low * out.rise_time_0_100_us / 2;
  const double length_over_critical = c.cable_metres / out.critical_metres;
  out.overshoot = EnvelopeOvershoot(length_over_critical, out.load_reflection.high);
  out.volts_peak = out.overshoot * out.dc_bus_volts.high;
  out.lattice_overshoot = LatticeOvershoot(2 / length_over_critical, c.source_reflection, out.load_reflection.high);
  out.lattice_volts_peak = out.lattice_overshoot * out.dc_bus_volts.high;
  for (const absl::string_view rule : {rules::drive_envelope, rules::drive_lattice, rules::drive_inverse_envelope}) {
    out.rules.push_back(rule);
  }
  HoldAgainstLimits(c, &out);
  AddNotes(c, &out);
  out.cautions = {std::string(QualifiedPersonCaution()),
                  "the bus of a drive stays charged after the supply is off: wait as its maker says and measure before "
                  "a lead is touched; measure peaks with a probe made for them"};
  return out;
}

}  // namespace coilwright::testing
