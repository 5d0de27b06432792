#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <optional>
#include <string>

#include "absl/strings/string_view.h"
#include "plan/check.h"
#include "plan/plan.h"
#include "plan/steps.h"
#include "wire/wire.h"

// Machines made up from physics, with the readings an instrument would give: by formulas written here, not by those of
// the rooms under test.
namespace coilwright::plan {

inline constexpr double kPi = 3.14159265358979323846;

inline RecordedStrand Strand(absl::string_view designation, int wires_in_hand) {
  const absl::StatusOr<wire::Wire> wire = wire::Parse(designation);
  EXPECT_TRUE(wire.ok()) << wire.status();
  return {*wire, wires_in_hand};
}

inline double BareMm2(const Record& record) {
  double area = 0;
  for (const RecordedStrand& s : record.winding.strands) {
    area += s.wires_in_hand * kPi / 4 * s.wire.bare_mm.nominal * s.wire.bare_mm.nominal;
  }
  return area;
}

// Turns of all coils of one phase.
inline double PhaseTurns(const Record& record) {
  const double coils = record.winding.layers == winding::Layers::kDouble ? record.core.slots : record.core.slots / 2.0;
  return coils / 3 * *record.winding.turns_per_coil;
}

// rho MLT N / (a^2 A) of copper at 1/58.5 ohm mm2/m, 20 C; star 2 R, delta 2/3 R. Heated by (235 + t)/255.
inline double LineOhms(const Record& record, double celsius) {
  const double circuits = record.winding.parallel_circuits;
  const double phase =
      *record.winding.mean_turn_m * PhaseTurns(record) / (58.5 * circuits * circuits * BareMm2(record));
  return phase * (235 + celsius) / 255 * (record.winding.connection == electric::Connection::kStar ? 2.0 : 2.0 / 3);
}

inline double BareKg(const Record& record) {
  return 8890e-6 * 3 * PhaseTurns(record) * BareMm2(record) * *record.winding.mean_turn_m;
}

inline void Measure(Record& record, double celsius) {
  const double ohms = LineOhms(record, celsius);
  record.resistance = MeasuredResistance{{ohms, ohms * 1.003, ohms * 0.998}, celsius, 2, 0.005};
  record.mass = MeasuredMass{BareKg(record), MassBasis::kBare, false};
}

// 3 kW, 400 V star, 50 Hz, four poles, 36 slots, throw 1-9 in two layers. Gap 0.82 T at the peak, teeth 1.6, back iron
// 1.4 T at 0.965 of the terminal voltage.
inline Record InductionMotor() {
  Record record;
  record.kind = MachineKind::kInduction;
  record.plate.rated_volts = 400;
  record.plate.line_amps_rms = 6.4;
  record.plate.rated_kw = 3;
  record.plate.frequency_hz = 50;
  record.plate.speed_rpm = 1420;
  record.plate.poles = 4;
  record.plate.thermal_class = standards::FindThermalClass("F").value();
  record.core.slots = 36;
  record.core.bore_mm = 100;
  record.core.outer_mm = 170.8;
  record.core.stack_length_mm = 120;
  record.core.slot_depth_mm = 20;
  record.core.tooth_width_mm = 4.74;
  record.core.opening_mm = 2.6;
  record.core.insulation = {0.25, 0.3, 2.0, 0, true};
  record.core.shape = slot::ParallelTooth{100, 36, 4.74, 20, 2.6, 0.8};
  record.winding.coil_pitch = 8;
  record.winding.turns_per_coil = 18;
  record.winding.parallel_circuits = 1;
  record.winding.strands = {Strand("0.85 mm grade 2", 2)};
  record.winding.mean_turn_m = 0.52;
  Measure(record, 23);
  return record;
}

// Servo motor, 12 slots, 10 poles, a coil round every tooth, 230 V, 2.3 Nm at 3000 rpm. The voltage constant follows
// from 0.85 T in the gap: E = sqrt(2) pi f N kw phi with kw 0.933 and phi = (2/pi) B tau L.
inline Record ServoMotor() {
  Record record;
  record.kind = MachineKind::kPermanentMagnet;
  record.plate.rated_volts = 230;
  record.plate.poles = 10;
  record.plate.speed_rpm = 3000;
  record.plate.thermal_class = standards::FindThermalClass("F").value();
  record.core.slots = 12;
  record.core.bore_mm = 50;
  record.core.outer_mm = 90.2;
  record.core.stack_length_mm = 50;
  record.core.slot_depth_mm = 17;
  record.core.tooth_width_mm = 7;
  record.core.opening_mm = 2.4;
  record.core.insulation = {0.25, 0, 0, 0, true};
  record.core.shape = slot::ParallelTooth{50, 12, 7, 17, 2.4, 1.0};
  record.winding.form = winding::CoilForm::kToothCoil;
  record.winding.coil_pitch = 1;
  record.winding.turns_per_coil = 45;
  record.winding.parallel_circuits = 1;
  record.winding.strands = {Strand("AWG 21 heavy", 1)};
  record.winding.mean_turn_m = 0.145;
  const double phi = 2 / kPi * 0.85 * kPi * 0.050 / 10 * 0.050;
  const double emf = std::sqrt(2.0) * kPi * (5 * 1000.0 / 60) * PhaseTurns(record) * 0.9330127 * phi;
  record.measured_ke_ll_rms_v_per_krpm = std::sqrt(3.0) * emf;
  record.magnet_celsius = 21;
  const double kt = std::sqrt(3.0) * *record.measured_ke_ll_rms_v_per_krpm * 60 / (2000 * kPi);
  record.plate.line_amps_rms = 2.3 / kt;
  record.plate.rated_torque_nm = 2.3;
  Measure(record, 22);
  return record;
}

inline RewindPlan PlanOf(const Record& record, const Change& change = {}, const Settings& settings = {}) {
  absl::StatusOr<RewindPlan> plan = MakePlan(record, change, {}, {}, settings);
  EXPECT_TRUE(plan.ok()) << plan.status();
  return plan.ok() ? *std::move(plan) : RewindPlan{};
}

inline TurnsPlan TurnsOf(const Record& record, const Change& change) {
  const absl::StatusOr<PatternSummary> pattern = SummarisePattern(record);
  EXPECT_TRUE(pattern.ok()) << pattern.status();
  absl::StatusOr<TurnsPlan> turns = PlanTurns(record, *pattern, change);
  EXPECT_TRUE(turns.ok()) << turns.status();
  return turns.ok() ? *std::move(turns) : TurnsPlan{};
}

inline Finding FindingOf(const RewindPlan& plan, absl::string_view what) {
  for (const Finding& finding : plan.findings) {
    if (finding.what == what) return finding;
  }
  ADD_FAILURE() << "no finding: " << what;
  return {};
}

inline std::string Acts(const RewindPlan& plan) {
  std::string acts;
  for (const Finding& f : plan.findings) {
    if (f.level == FindingLevel::kAct) acts += f.what + " " + std::to_string(f.found.value_or(0)) + "; ";
  }
  return acts;
}

// Made up: the induction motor's plate and wire on another stator, of which nothing was measured.
inline Record OnAnotherStator(int slots, int poles) {
  Record record = InductionMotor();
  record.core.slots = slots;
  record.core.shape.reset();
  record.core.tooth_width_mm.reset();
  record.core.outer_mm = 200;
  record.plate.poles = poles;
  record.plate.speed_rpm.reset();
  record.resistance.reset();
  record.mass.reset();
  return record;
}

inline RecordCheck CheckOf(const Record& record, std::optional<Moment> moment = std::nullopt) {
  absl::StatusOr<RecordCheck> check = CheckRecord(record, {}, moment);
  EXPECT_TRUE(check.ok()) << check.status();
  return check.ok() ? *std::move(check) : RecordCheck{};
}

}  // namespace coilwright::plan
