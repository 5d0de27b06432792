#include "testing/drive_limits.h"

#include <algorithm>
#include <iterator>
#include <utility>

#include "insulation/constants.h"
#include "standards/rules.h"
#include "standards/tables.h"

namespace coilwright::testing {
namespace {

using standards::Band;
using standards::EmbeddedTable;
using standards::Table;

constexpr absl::string_view kParts[] = {"part_30", "part_31", "part_31_older"};

constexpr double kHair = 1e-12;

// x = (limit / bus - 1) / G is the share of the critical length, v t / 2, that may be used.
void SetSafe(const DriveStressCase& c, const DriveStress& stress, DriveLimit* limit) {
  const double least_rise_us = limit->least_rise_time_10_90_us.value_or(0);
  const double room = limit->limit_volts_peak / stress.dc_bus_volts.high - 1;
  if (room < 0) return;
  const double load = stress.load_reflection.high;
  if (room >= load) {
    limit->any_length = true;
    limit->safe_rise_time_10_90_us = least_rise_us;
    return;
  }
  const double share = room / load;
  const Band& v = stress.velocity_metres_per_us;
  const double per_velocity = (1 - kHair) * share * stress.rise_time_0_100_us / 2;
  limit->safe_cable_metres = Band{v.low * per_velocity, v.nominal * per_velocity, v.high * per_velocity};
  if (share > 0) {
    // By the slow end, as the peak is; a hair longer, so that it is within when put back in.
    limit->safe_rise_time_10_90_us =
        std::max((1 + kHair) * kRampShare10To90 * 2 * c.cable_metres / (v.low * share), least_rise_us);
  }
}

DriveLimit Held(const DriveStressCase& c, const DriveStress& stress, DriveLimit limit) {
  limit.peak_within = stress.volts_peak <= limit.limit_volts_peak;
  if (limit.least_rise_time_10_90_us) {
    limit.rise_time_within = stress.rise_time_10_90_us >= *limit.least_rise_time_10_90_us;
  }
  SetSafe(c, stress, &limit);
  return limit;
}

const Table& Classes() {
  static const Table& table = *new Table(EmbeddedTable("drive_classes"));
  return table;
}

// The first class whose `column` is not below the value; printed to one decimal, so a hair of slack.
StressClass ClassOf(double value, absl::string_view column) {
  int row = 0;
  while (row < Classes().rows() && value > *Classes().Number(row, column) + 1e-9) ++row;
  return static_cast<StressClass>(row);
}

void SetMeaning(const DriveStressCase& c, DriveStress* out) {
  const auto within = [&](DriveLimitKind kind) {
    return std::any_of(out->limits.begin(), out->limits.end(),
                       [&](const DriveLimit& limit) { return limit.kind == kind && limit.peak_within; });
  };
  auto& meaning = out->meaning;
  if (out->bus_doubt) {
    meaning = {
        "nothing before bus and rated volts agree: read the plate again (rated volts are line to line, rms; star "
        "or delta), the mains and the bus"};
    return;
  }
  if (within(DriveLimitKind::kPart30) && out->phase_to_phase.needs <= StressClass::kB) {
    meaning = {"film: the build of the original does, grade 2 or heavy for good measure",
               "phase insulation: paper between the phases in slots and heads, as for the mains"};
    if (!out->limits.front().rise_time_within.value_or(true)) {
      meaning.push_back(
          "the front is steeper than a general purpose motor is meant for: care with the first coils, no "
          "crossed turns, sleeves on leads and jumpers");
    }
  } else if (within(DriveLimitKind::kPart31) && out->phase_to_phase.needs <= StressClass::kC) {
    meaning = {"film: grade 2 (heavy) or grade 3 (triple), or wire that resists partial discharge",
               "phase insulation: thicker phase paper in slots and heads, separators between layers, sleeves on leads "
               "and jumpers, heads laced",
               "resin: a full fill without voids, so that no air is left between turns",
               "turns in order, the first and last turn of a coil not beside each other"};
  } else {
    meaning = {
        "no winding of ordinary film should see this: bring the peak down first, with a shorter cable, an output "
        "reactor, a dv/dt or sine filter, or a terminator at the motor",
        "where it cannot be brought down: wire that resists partial discharge, the thickest phase paper the slot "
        "takes, and an insulation system qualified for the class"};
  }
  if (out->stress == StressClass::kBeyondD) {
    meaning.push_back("beyond the stress categories of the standard: the motor's maker has to agree to it");
  }
  if (!c.dc_bus_volts && c.bus_basis == BusBasis::kBraking) {
    meaning.push_back("the bus while braking decides here: a drive that never brakes may be assessed by its mains");
  }
  out->rules.push_back(rules::practice_drive_fed_winding);
}

}  // namespace

double DriveFigure(absl::string_view name) {
  static const Table& table = *new Table(EmbeddedTable("drive_stress"));
  return insulation::NamedNumber(table, name);
}

void HoldAgainstLimits(const DriveStressCase& stress_case, DriveStress* out) {
  static const Table& table = *new Table(EmbeddedTable("drive_limits"));
  for (int row = 0; row < table.rows(); ++row) {
    const auto above = table.Number(row, "above_volts"), up_to = table.Number(row, "up_to_volts");
    if ((above && stress_case.rated_volts <= *above) || (up_to && stress_case.rated_volts > *up_to)) continue;
    DriveLimit limit;
    limit.kind = static_cast<DriveLimitKind>(std::find(std::begin(kParts), std::end(kParts), table.Text(row, "limit")) -
                                             std::begin(kParts));
    limit.title = std::string(table.Text(row, "title"));
    limit.limit_volts_peak = table.Number(row, "volts_peak").value_or(0) +
                             table.Number(row, "times_rated").value_or(0) * stress_case.rated_volts;
    limit.least_rise_time_10_90_us = table.Number(row, "rise_us");
    limit.rule = table.Text(row, "rule");
    out->limits.push_back(Held(stress_case, *out, std::move(limit)));
  }
  if (stress_case.own_limit_volts_peak) {
    DriveLimit own;
    own.title = "the limit given";
    own.limit_volts_peak = *stress_case.own_limit_volts_peak;
    own.rule = rules::shop_drive_limit;
    out->limits.push_back(Held(stress_case, *out, std::move(own)));
  }
  for (const DriveLimit& limit : out->limits) out->rules.push_back(limit.rule);

  out->stress = ClassOf(out->overshoot, "most_overshoot");
  out->phase_to_phase.volts_peak_to_peak = 2 * out->volts_peak;
  out->phase_to_phase.multiple = out->phase_to_phase.volts_peak_to_peak / stress_case.rated_volts;
  out->phase_to_phase.needs = ClassOf(out->phase_to_phase.multiple, "phase_to_phase");
  out->phase_to_ground.volts_peak_to_peak =
      DriveFigure("phase_to_ground_share") * out->phase_to_phase.volts_peak_to_peak;
  out->phase_to_ground.multiple = out->phase_to_ground.volts_peak_to_peak / stress_case.rated_volts;
  out->phase_to_ground.needs = ClassOf(out->phase_to_ground.multiple, "phase_to_ground");
  out->rules.push_back(rules::iec60034_18_41_class);
  out->rules.push_back(rules::iec60034_18_41_phase_to_ground);
  SetMeaning(stress_case, out);
}

}  // namespace coilwright::testing
