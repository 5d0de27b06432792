#pragma once

#include <algorithm>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "plan/machines.h"

namespace coilwright::plan {

// A machine with everything drawn at random within what makes and measurements vary by.
inline Record RandomMachine(std::mt19937& random) {
  const auto within = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  const auto pick = [&](auto list) { return *(list.begin() + static_cast<long>(random() % list.size())); };
  Record record = InductionMotor();
  struct Build {
    int slots, poles, pitch;
    winding::Layers layers;
    winding::CoilForm form;
  };
  using winding::CoilForm;
  using winding::Layers;
  const bool servo = random() % 2 == 0;
  record.kind = servo ? MachineKind::kPermanentMagnet : MachineKind::kInduction;
  const Build build = servo ? pick(std::vector<Build>{{12, 10, 1, Layers::kDouble, CoilForm::kToothCoil},
                                                      {9, 6, 1, Layers::kDouble, CoilForm::kToothCoil},
                                                      {12, 8, 1, Layers::kDouble, CoilForm::kToothCoil},
                                                      {24, 8, 3, Layers::kSingle, CoilForm::kLap},
                                                      {36, 6, 5, Layers::kDouble, CoilForm::kLap}})
                            : pick(std::vector<Build>{{36, 4, 8, Layers::kDouble, CoilForm::kLap},
                                                      {24, 2, 10, Layers::kDouble, CoilForm::kLap},
                                                      {36, 6, 5, Layers::kDouble, CoilForm::kLap},
                                                      {48, 4, 11, Layers::kSingle, CoilForm::kLap},
                                                      {24, 4, 5, Layers::kDouble, CoilForm::kConcentric}});
  record.core.slots = build.slots;
  record.plate.poles = build.poles;
  record.winding.form = build.form;
  record.winding.layers = build.layers;
  record.winding.coil_pitch = build.pitch;
  record.winding.connection = random() % 2 == 0 ? electric::Connection::kStar : electric::Connection::kDelta;
  record.core.bore_mm = within(40, 160);
  record.core.stack_length_mm = within(30, 150);
  record.core.stacking_factor = 0.95;
  const double gap = servo ? within(0.72, 0.98) : within(0.65, 0.88);
  const double pitch_mm = kPi * *record.core.bore_mm / build.slots;
  record.core.tooth_width_mm = gap * pitch_mm / (0.95 * within(1.5, 1.75));
  const double phi = 2 / kPi * gap * kPi * *record.core.bore_mm / build.poles * *record.core.stack_length_mm * 1e-6;
  record.core.back_iron_mm = phi * 1e6 / (2 * within(1.25, 1.55) * *record.core.stack_length_mm * 0.95);
  record.core.outer_mm.reset();
  record.winding.mean_turn_m = 2e-3 * (*record.core.stack_length_mm + 1.5 * build.pitch * pitch_mm + 10);
  record.plate.rated_volts = pick(std::vector<double>{24, 48, 200, 230, 400, 480, 690});
  record.plate.thermal_class = standards::FindThermalClass(pick(std::vector<std::string>{"B", "F", "H"})).value();

  // kw from the closed form of whole q, or the printed factors of tooth coils.
  const double q = build.slots / (3.0 * build.poles);
  const double kp = std::sin(kPi / 2 * build.pitch * build.poles / build.slots);
  double kw = kp * std::sin(kPi / 6) / (q * std::sin(kPi / 6 / q));
  if (build.layers == Layers::kSingle) kw = std::sin(kPi / 6) / (q * std::sin(kPi / 6 / q));  // whole belts
  if (build.form == CoilForm::kToothCoil) kw = build.poles == 10 ? 0.9330127 : 0.8660254;
  const double line_factor = record.winding.connection == electric::Connection::kStar ? std::sqrt(3.0) : 1;
  const double coils = build.layers == Layers::kDouble ? build.slots : build.slots / 2.0;
  const double hertz = servo ? 1000.0 / 60 * build.poles / 2 : 50;
  const double share = servo ? within(2, 6) : 1;  // thousand rpm at rated volts
  const double phase_volts = record.plate.rated_volts / line_factor / share;
  record.winding.turns_per_coil = std::max(
      3, static_cast<int>(std::lround(phase_volts * 0.9 / (std::sqrt(2.0) * kPi * hertz * kw * phi) * 3 / coils)));
  const double true_phase_emf = std::sqrt(2.0) * kPi * hertz * PhaseTurns(record) * kw * phi;
  record.plate.frequency_hz.reset();
  record.plate.speed_rpm.reset();
  record.plate.rated_torque_nm.reset();
  record.plate.rated_kw.reset();
  if (servo) {
    record.measured_ke_ll_rms_v_per_krpm = true_phase_emf * line_factor * within(0.99, 1.01);
  } else {
    record.plate.rated_kw = within(3, 15);
    record.plate.frequency_hz = 50;
    record.plate.rated_volts = true_phase_emf * line_factor / within(0.95, 0.98);
  }
  record.winding.strands = {
      Strand(absl::StrCat(pick(std::vector<std::string>{"0.5", "0.63", "0.71", "0.8", "1"}), " mm grade 2"),
             1 + static_cast<int>(random() % 3))};
  const double density = within(3.5, 7.5);
  record.plate.line_amps_rms =
      density * BareMm2(record) * (record.winding.connection == electric::Connection::kStar ? 1 : std::sqrt(3.0));
  if (!servo)
    record.plate.rated_kw =
        within(0.6, 0.85) * std::sqrt(3.0) * record.plate.rated_volts * *record.plate.line_amps_rms / 1000;
  const double over = record.winding.strands[0].wire.overall_mm.nominal;
  const double turns_in_slot = *record.winding.turns_per_coil * (build.layers == Layers::kDouble ? 2 : 1);
  const double net = turns_in_slot * record.winding.strands[0].wires_in_hand * over * over / within(0.5, 0.73);
  record.core.insulation = {};
  record.core.insulation.separator_present = false;
  record.core.shape = slot::MeasuredArea{net};
  record.core.slot_depth_mm = 15;
  record.core.opening_mm.reset();

  // Instruments: resistivity, wire, mean turn, temperature, joins and leads as they vary in the trade.
  const double celsius = within(12, 35);
  const double wire_area = within(0.988, 1.012), turn = within(0.992, 1.008);
  const double joins = within(0, 0.03);
  const double bare_ohms =
      LineOhms(record, celsius + within(-1.5, 1.5)) * within(58.5 / 59, 58.5 / 58.1) * turn / wire_area;
  const double ohms = bare_ohms * (1 + joins) + std::min(within(0.004, 0.030), 0.08 * bare_ohms);
  record.resistance = MeasuredResistance{{}, celsius, 2, 0.005};
  for (int i = 0; i < 3; ++i) record.resistance->line_to_line_ohms.push_back(ohms * within(0.993, 1.007));
  record.mass = MeasuredMass{BareKg(record) * wire_area * turn * within(0.99, 1.01), MassBasis::kBare, false};
  return record;
}

// A short list to choose from, as the search is not what is asked here.
inline WireChoice OneWire() {
  WireChoice choice;
  choice.wires = {{Strand("0.8 mm grade 2", 1).wire, {}}};
  return choice;
}

}  // namespace coilwright::plan
