#include "plan/reconnect.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_format.h"
#include "plan/contract_paths.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using electric::Connection;

// A supply this far from the rated voltage is within what a motor bears (10 % counts as a range of supply).
constexpr double kBearable = 0.10;
// More is a new stress for film and slot liner.
constexpr double kHigherVolts = 1.001;

double LineFactor(Connection connection) { return connection == Connection::kStar ? std::sqrt(3.0) : 1.0; }

void AddNotes(const Record& record, Reconnection& way) {
  const bool magnets = record.kind == MachineKind::kPermanentMagnet;
  if (magnets && way.connection == Connection::kDelta && record.winding.connection == Connection::kStar) {
    way.notes.push_back("delta: third-harmonic emf of the magnets drives a current round the winding; star is safer");
  }
  if (way.rated_volts > kHigherVolts * record.plate.rated_volts) {
    way.notes.push_back("higher voltage: slot, phase and lead insulation and the test levels follow it");
  }
  if (magnets && way.connection != record.winding.connection) {
    way.notes.push_back("axis of the drive moves by 30 electrical degrees: have the feedback set anew");
  }
  if (!way.as_recorded && magnets) {
    way.notes.push_back("drive: current limit, voltage constant and inductance are other ones");
  }
  if (way.wanted_ratio && std::abs(*way.wanted_ratio - 1) > kBearable) {
    const double percent = 100 * (*way.wanted_ratio - 1);
    const char* what = magnets ? "speed moves by" : "flux is";
    const char* harm = magnets ? "" : percent > 0 ? ": saturated, do not run it so" : ": torque goes with its square";
    way.notes.push_back(absl::StrFormat("at the wanted voltage the %s %+.0f %%%s", what, percent, harm));
  }
}

}  // namespace

absl::StatusOr<Reconnections> ListReconnections(const Record& record, std::optional<double> wanted_volts,
                                                std::optional<double> frequency_hz, const Settings& settings) {
  if (std::vector<standards::FieldError> errors = Contradictions(record); !errors.empty()) {
    return standards::UnderField("record", standards::InvalidFields(errors));
  }
  std::vector<standards::FieldError> errors;
  if (wanted_volts && !(*wanted_volts >= 1 && *wanted_volts <= 50000)) {
    errors.push_back({"wanted_volts", absl::StrFormat("%g V", *wanted_volts), "1 V to 50000 V"});
  }
  if (frequency_hz && record.kind == MachineKind::kPermanentMagnet) {
    errors.push_back({"frequency_hz", absl::StrFormat("%g Hz", *frequency_hz),
                      "none: the frequency of a permanent-magnet machine follows its speed"});
  } else if (frequency_hz && !record.plate.frequency_hz) {
    errors.push_back({"frequency_hz", absl::StrFormat("%g Hz", *frequency_hz),
                      "a frequency only where record.machine.nameplate.frequency_hz gives the original one"});
  }
  if (!errors.empty()) return standards::InvalidFields(errors);

  const absl::StatusOr<Original> original = DescribeOriginal(record, settings);
  if (!original.ok()) return original.status();
  const RecordedWinding& w = record.winding;
  const double hertz_ratio = frequency_hz ? *frequency_hz / *record.plate.frequency_hz : 1.0;
  const std::optional<double> amps = PlateLineAmpsRms(record.plate);

  Reconnections answer;
  answer.check = CheckOriginal(record, *original, settings);
  for (const Connection connection : {Connection::kStar, Connection::kDelta}) {
    for (const int circuits : original->pattern.symmetry.permitted_circuits) {
      Reconnection way;
      way.connection = connection;
      way.circuits = circuits;
      const double volts_ratio =
          static_cast<double>(w.parallel_circuits) / circuits * LineFactor(connection) / LineFactor(w.connection);
      way.rated_volts = record.plate.rated_volts * volts_ratio * hertz_ratio;
      way.frequency_hz = frequency_hz ? frequency_hz : record.plate.frequency_hz;
      if (amps) way.line_amps_rms = *amps / volts_ratio;
      way.as_recorded = connection == w.connection && circuits == w.parallel_circuits;
      way.coil_ends = 6 * circuits;

      TurnsPlan turns = original->turns;
      turns.connection = connection;
      turns.parallel_circuits = circuits;
      Frame frame = FrameOf(record, *original, settings);
      frame.turns = &turns;
      const absl::StatusOr<electric::WindingResistance> ohms =
          electric::PredictResistance(CopperOf(frame, w.strands), 20.0);
      if (!ohms.ok()) return InContract(ohms.status(), "record.winding");
      way.line_to_line_ohms = ohms->line_to_line_ohms;
      if (wanted_volts) {
        way.wanted_ratio = *wanted_volts / way.rated_volts;
        if (record.kind == MachineKind::kInduction && way.frequency_hz) {
          way.wanted_frequency_hz = *way.frequency_hz * *way.wanted_ratio;
        }
      }
      AddNotes(record, way);
      answer.ways.push_back(std::move(way));
    }
  }
  const auto key = [&](const Reconnection& way) {
    return wanted_volts ? std::abs(std::log(*way.wanted_ratio)) : way.rated_volts;
  };
  std::stable_sort(answer.ways.begin(), answer.ways.end(),
                   [&](const Reconnection& a, const Reconnection& b) { return key(a) < key(b); });
  answer.cautions.emplace_back(
      "The coils must be sound and joined by the recorded connection list: find the ends of every group and try the "
      "polarity of each before power. Isolate, lock off and prove dead first; a qualified person decides.");
  const electric::WindingCopper copper = CopperOf(FrameOf(record, *original, settings), w.strands);
  answer.rules = original->mean_turn.band_rules;
  answer.rules.insert(answer.rules.end(), answer.check.rules.begin(), answer.check.rules.end());
  answer.rules.insert(answer.rules.end(),
                      {rules::plan_reconnection, rules::winding_parallel_circuits, rules::electric_resistance,
                       original->mean_turn.rule, standards::ResistivityRule(copper.resistivity, copper.metal),
                       standards::Constants(copper.preset, copper.metal).rule});
  return answer;
}

}  // namespace coilwright::plan
