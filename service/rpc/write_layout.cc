#include "rpc/write_layout.h"

#include <algorithm>
#include <cmath>

#include "rpc/write.h"
#include "standards/units.h"

namespace coilwright::rpc {
namespace {

static_assert(static_cast<int>(winding::MachineEnd::kDrive) + 1 == v1::MACHINE_END_DRIVE);
static_assert(static_cast<int>(winding::PhaseOrder::kAgainstSlots) + 1 == v1::PHASE_ORDER_AGAINST_SLOTS);
static_assert(static_cast<int>(winding::JointKind::kEndLead) + 1 == v1::JOINT_KIND_END_LEAD);
static_assert(static_cast<int>(winding::PhaseEnds::kOpen) + 1 == v1::CONNECTION_OPEN);
static_assert(static_cast<int>(winding::Layers::kDouble) + 1 == v1::LAYERS_DOUBLE);
static_assert(static_cast<int>(winding::CoilForm::kToothCoil) + 1 == v1::COIL_FORM_TOOTH_COIL);

v1::Phase PhaseOf(int phase) { return static_cast<v1::Phase>(phase + 1); }

// The contract's enums follow the engine's, one on.
template <typename Out, typename Engine>
Out EnumOf(Engine value) {
  return static_cast<Out>(static_cast<int>(value) + 1);
}

v1::SidePosition PositionOf(const winding::SlotSide& side, size_t sides, std::optional<winding::CoilForm> form) {
  if (sides == 1) return v1::SIDE_POSITION_ONLY;
  if (!form) return v1::SIDE_POSITION_UNSPECIFIED;
  if (form == winding::CoilForm::kToothCoil)
    return side.go ? v1::SIDE_POSITION_TOWARDS_NEXT_SLOT : v1::SIDE_POSITION_TOWARDS_PREVIOUS_SLOT;
  return side.go ? v1::SIDE_POSITION_TOP : v1::SIDE_POSITION_BOTTOM;
}

}  // namespace

void Write(const winding::Placement& placement, v1::LayoutPattern* out) {
  out->set_slots(placement.pattern.slots);
  out->set_poles(placement.pattern.poles);
  out->set_coil_pitch_slots(placement.pattern.coil_pitch);
  out->set_layers(EnumOf<v1::Layers>(placement.pattern.layers));
  out->set_coil_form(EnumOf<v1::CoilForm>(placement.pattern.form));
  out->set_first_slot(placement.first_slot);
  out->set_phase_order(EnumOf<v1::PhaseOrder>(placement.phase_order));
  out->set_connection_end(EnumOf<v1::MachineEnd>(placement.connection_end));
}

void Write(const winding::Layout& traced, v1::LayoutPattern* out) {
  out->set_slots(traced.slots);
  out->set_poles(traced.poles);
  out->set_connection_end(EnumOf<v1::MachineEnd>(traced.connection_end));
  const auto span = [&](const winding::Coil& coil) {
    return (coil.return_slot - coil.go_slot + traced.slots) % traced.slots;
  };
  const int first = span(traced.coils.front());
  if (std::all_of(traced.coils.begin(), traced.coils.end(),
                  [&](const winding::Coil& coil) { return span(coil) == first; })) {
    out->set_coil_pitch_slots(first);
  }
  const std::vector<std::vector<winding::SlotSide>> slots = winding::SlotSides(traced);
  const bool one = std::all_of(slots.begin(), slots.end(), [](const auto& sides) { return sides.size() <= 1; });
  out->set_layers(one ? v1::LAYERS_SINGLE : v1::LAYERS_DOUBLE);
}

void Write(const winding::Symmetry& symmetry, v1::DescribeLayoutResponse* out) {
  out->set_balanced(symmetry.balanced);
  out->set_reason(symmetry.reason);
  out->set_slots_per_pole_phase_numerator(symmetry.slots_per_pole_phase_num);
  out->set_slots_per_pole_phase_denominator(symmetry.slots_per_pole_phase_den);
  out->set_cogging_periods_per_rev(symmetry.cogging_periods_per_rev);
  for (const int permitted : symmetry.permitted_circuits) out->add_permitted_circuits(permitted);
  WriteRules(symmetry.rules, out);
}

void Write(const winding::Neighbours& near, v1::BalancedNeighbours* out) {
  for (const int slots : near.slots) out->add_slots(slots);
  for (const int poles : near.poles) out->add_poles(poles);
  for (const int pitch : near.pitches) out->add_coil_pitch_slots(pitch);
}

void WriteCoils(const winding::Layout& layout, const winding::ConnectionList& list, v1::DescribeLayoutResponse* out) {
  for (const winding::Coil& coil : layout.coils) {
    v1::LaidCoil* laid = out->add_coils();
    laid->set_phase(PhaseOf(coil.phase));
    laid->set_go_slot(coil.go_slot);
    laid->set_return_slot(coil.return_slot);
    laid->set_reversed(coil.sign < 0);
  }
  for (const winding::Group& group : list.groups) {
    v1::LaidGroup* laid = out->add_groups();
    laid->set_number(out->groups_size());
    laid->set_phase(PhaseOf(group.phase));
    laid->set_reversed(group.sign < 0);
    for (const int coil : group.coils) {
      laid->add_coils(coil);
      out->mutable_coils(coil)->set_group(laid->number());
    }
  }
}

void WriteSlots(const winding::Layout& layout, std::optional<winding::CoilForm> form, v1::DescribeLayoutResponse* out) {
  for (const std::vector<winding::SlotSide>& sides : winding::SlotSides(layout)) {
    v1::LaidSlot* slot = out->add_slots();
    slot->set_slot(out->slots_size());
    for (const winding::SlotSide& side : sides) {
      v1::LaidSide* laid = slot->add_sides();
      laid->set_coil(side.coil);
      laid->set_phase(PhaseOf(side.phase));
      laid->set_away_from_connection_end(side.sense > 0);
      laid->set_position(PositionOf(side, sides.size(), form));
    }
  }
}

void Write(const winding::Layout& layout, const winding::ConnectionList& list, v1::ConnectionList* out) {
  out->set_connection(EnumOf<v1::Connection>(list.ends));
  out->set_parallel_circuits(list.circuits);
  for (const winding::CircuitPath& path : list.paths) {
    v1::LaidCircuit* circuit = out->add_circuits();
    circuit->set_phase(PhaseOf(path.phase));
    circuit->set_number(path.circuit + 1);
    for (const winding::GroupPass& pass : path.passes) {
      v1::GroupPass* passed = circuit->add_passes();
      passed->set_group(pass.group + 1);
      passed->set_reversed(pass.reversed);
    }
  }
  for (const winding::Joint& joint : list.joints) {
    v1::LaidJoint* tied = out->add_joints();
    tied->set_number(out->joints_size());
    tied->set_kind(EnumOf<v1::JointKind>(joint.kind));
    if (joint.lead >= 0) tied->set_lead(PhaseOf(joint.lead));
    for (const winding::CoilEnd& end : joint.ends) {
      const winding::Coil& coil = layout.coils[static_cast<size_t>(end.coil)];
      v1::LaidCoilEnd* laid = tied->add_ends();
      laid->set_coil(end.coil);
      laid->set_finish(end.finish);
      laid->set_slot(end.finish ? coil.return_slot : coil.go_slot);
    }
  }
  const auto traced = winding::TraceJoints(layout, list.joints);
  if (!traced.ok() || traced->size() != list.paths.size()) return;
  out->set_traced_sound(winding::EqualCircuits(*traced));
  for (size_t i = 0; i < traced->size(); ++i) {
    v1::LaidCircuit* circuit = out->mutable_circuits(static_cast<int>(i));
    circuit->set_series_coils(static_cast<int>((*traced)[i].coils.size()));
    circuit->set_emf_ratio(std::abs((*traced)[i].emf_ratio));
    const double degrees = std::arg((*traced)[i].emf_ratio / traced->front().emf_ratio) * 180 / standards::kPi;
    circuit->set_emf_angle_electrical_degrees(std::abs(degrees) < 1e-9 ? 0 : degrees < 0 ? degrees + 360 : degrees);
  }
}

void Write(const winding::Field& field, winding::PhaseEnds ends, v1::DescribeLayoutResponse* out) {
  const bool delta = ends == winding::PhaseEnds::kDelta;
  for (size_t phase = 0; phase < 3; ++phase) {
    v1::MagneticAxis* axis = out->add_axes();
    axis->set_phase(PhaseOf(static_cast<int>(phase)));
    axis->set_coils_electrical_degrees(field.axis_electrical_degrees[phase]);
    axis->set_electrical_degrees(delta ? field.delta_axis_electrical_degrees[phase]
                                       : field.axis_electrical_degrees[phase]);
    axis->set_mechanical_degrees(axis->electrical_degrees() * 2 / out->layout().poles());
  }
  out->mutable_rotation()->set_clockwise_from_drive_end(field.clockwise_from_drive_end);
  out->mutable_rotation()->set_clockwise_from_connection_end(field.clockwise_from_connection_end);
  out->mutable_rotation()->set_as_iec_60034_8(field.clockwise_from_drive_end);
  out->set_periods_per_rev(field.periods_per_rev);
  out->set_alternating_periods_per_rev(field.alternating_periods_per_rev);
  out->set_radial_pull_balanced(field.radial_pull_balanced);
  out->set_radial_pull_order(field.radial_pull_order);
  out->set_differential_leakage_ratio(field.differential_leakage);
}

void Write(const std::vector<winding::Wave>& waves, v1::DescribeLayoutResponse* response) {
  for (const winding::Wave& wave : waves) {
    v1::FieldWave* out = response->add_waves();
    out->set_order(wave.order);
    out->set_forward(wave.forward);
    out->set_winding_factor(wave.winding_factor);
    out->set_amplitude_ratio(wave.amplitude_ratio);
    out->set_speed_ratio(wave.speed_ratio);
  }
}

void Write(const winding::Comparison& comparison, v1::CompareLayoutsResponse* out) {
  out->set_electrically_equivalent(comparison.electrically_equivalent);
  out->set_drop_in(comparison.drop_in);
  out->set_same_coils(comparison.same_coils);
  out->set_same_rotation(comparison.same_sense);
  if (comparison.electrically_equivalent) {
    out->set_turns_ratio(comparison.turns_ratio);
    v1::LayoutTransform* transform = out->mutable_transform();
    transform->set_mirrored(comparison.transform.mirrored);
    transform->set_turned_slots(comparison.transform.slots);
    for (size_t phase = 0; phase < 3; ++phase) {
      transform->add_phases(PhaseOf(comparison.transform.phase_of[phase]));
      transform->add_reversed(comparison.transform.signs[phase] < 0);
    }
  }
  if (comparison.axes_known) {
    for (const double shift : comparison.axis_shift_electrical_degrees) out->add_axis_shift_electrical_degrees(shift);
  }
  for (const std::string& difference : comparison.differences) out->add_differences(difference);
  WriteRules(comparison.rules, out);
}

}  // namespace coilwright::rpc
