#include <cmath>

#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/steps.h"
#include "standards/rules.h"

namespace coilwright::plan {
namespace {

std::vector<std::string> Assumptions(const Record& record, const Settings& settings, double bench_celsius,
                                     const TurnsPlan& turns) {
  const double new_rated_volts = turns.rated_volts;
  std::vector<std::string> notes;
  const Plate& plate = record.plate;
  notes.push_back(
      new_rated_volts == plate.rated_volts
          ? absl::StrFormat("Levels and flux use the winding's rated %g V line to line (rms), not mains or DC bus.",
                            plate.rated_volts)
          : absl::StrFormat("Levels and flux use the winding's rated volts, line to line (rms), not mains or "
                            "DC bus: %g V as received, %g V once rewound.",
                            plate.rated_volts, new_rated_volts));
  if (!plate.rated_kw && RatedKw(plate)) {
    notes.push_back(absl::StrFormat("No power on the plate: %.3g kW from its torque and speed decides the test levels.",
                                    *RatedKw(plate)));
  }
  if (!plate.thermal_class) {
    notes.push_back("No thermal class on the plate: materials are for class 155 (F).");
  } else if (plate.thermal_class->rise_kelvin && plate.thermal_class->rise_small_kelvin) {
    notes.push_back(absl::StrFormat(
        "Class %d: rise by resistance at most %g K at 40 C of ambient (%g K under 600 W, without fan or encapsulated).",
        plate.thermal_class->celsius, *plate.thermal_class->rise_kelvin, *plate.thermal_class->rise_small_kelvin));
  }
  if (!settings.bench_celsius && !record.air_celsius) {
    notes.push_back("No bench or workshop temperature: the third resistance is for 20 C too.");
  } else {
    notes.push_back(absl::StrFormat("Bench temperature taken as %.1f C.", bench_celsius));
  }
  if (!record.core.shape)
    notes.push_back("The slot was not measured: fill is not known and no wire was refused for it.");
  if (!record.winding.groups.empty()) {
    notes.push_back("Coils differ within a group: the fill is that of the slot that holds most turns.");
  }
  if (record.winding.metal == standards::Metal::kAluminium) {
    notes.push_back(
        "The original is aluminium: alternatives hold its area in aluminium too. Copper of the same area is cooler and "
        "heavier.");
  }
  if (record.construction == Construction::kNeedleWound) {
    notes.push_back(
        "Needle-wound originally: planned for coils put in by hand through the slot opening. A needle goes by its "
        "nozzle, which the shop must check.");
  }
  if (plate.drive_fed.value_or(false)) {
    notes.push_back(
        "Fed by a drive: with a long cable each pulse reaches up to twice the DC bus at the leads and most of it lies "
        "across the first turns. Heavy or grade 2 film at least, separators between all phases, first and last turn "
        "of a coil apart.");
  }
  if (record.kind == MachineKind::kPermanentMagnet && record.measured_ke_ll_rms_v_per_krpm) {
    if (!record.magnet_celsius) {
      notes.push_back("No magnet temperature beside the measured voltage constant: taken as 20 C.");
    } else if (std::abs(*record.magnet_celsius - 20.0) > 5.0) {
      notes.push_back(absl::StrFormat(
          "The voltage constant was read with the magnets at %.0f C and stays as read; its band reaches what it may be "
          "at 20 C (neodymium about -0.1 %%, ferrite about -0.2 %% per kelvin, from memory). Read it cold at release.",
          *record.magnet_celsius));
    }
  }
  // A change says it among its own notes, with how far the axis moves.
  if (record.kind == MachineKind::kPermanentMagnet && !turns.changed) {
    notes.push_back(
        "Poles, phase order and the axis of phase U must stay where they were: the drive and its feedback depend on "
        "them.");
  }
  return notes;
}

// What the answer is accepted by, in one place for who chooses another option.
void NoteAcceptance(const RewindPlan& plan, std::vector<std::string>& notes) {
  if (!plan.options.empty()) {
    notes.push_back(
        "Resistance limits of the programmes are those of the way that is asked for (the first where none is), read at "
        "the terminals: connections and leads are allowed for at the high end. Another way has its own resistance.");
  }
  if (plan.constants_planned) {
    notes.push_back(
        "A rewound winding is accepted on voltage constant (within 5 % or its own uncertainty, a shop setting) and "
        "resistance together; the motor constant judges the copper only.");
  }
  if (plan.turns.rated_volts > 1000.0) {
    notes.push_back(
        "Above 1000 V most windings have formed coils, which are not planned here: this plan and its levels are for a "
        "random winding of round wire.");
  }
}

}  // namespace

std::vector<std::string> Notes(const Record& record, const Settings& settings, double bench_celsius,
                               const RewindPlan& plan) {
  std::vector<std::string> notes = Assumptions(record, settings, bench_celsius, plan.turns);
  if (plan.materials.empty()) {
    notes.push_back(
        "No material practice is tabled for this voltage and thermal class: ask the maker of the insulation system.");
  }
  NoteAcceptance(plan, notes);
  return notes;
}

std::vector<std::string> Cautions(const Record& record, const std::vector<Finding>& findings,
                                  const std::vector<Finding>& findings_planned) {
  std::vector<std::string> cautions;
  const auto stops = [](const std::vector<Finding>& of) {
    std::vector<std::string> whats;
    for (const Finding& finding : of) {
      if (finding.level == FindingLevel::kAct) whats.push_back(finding.what);
    }
    return absl::StrJoin(whats, ", ");
  };
  if (const std::string doubts = stops(findings); !doubts.empty()) {
    cautions.push_back(absl::StrFormat(
        "STOP: the record does not agree with physics (%s). This plan copies the record, slips included: strip nothing "
        "and order nothing before that is settled.",
        doubts));
  }
  if (const std::string beyond = stops(findings_planned); !beyond.empty()) {
    cautions.push_back(absl::StrFormat(
        "STOP: the winding as changed is not to be wound (%s): ask less of the machine, or leave it as it was.",
        beyond));
  }
  cautions.emplace_back(testing::QualifiedPersonCaution());
  if (record.kind == MachineKind::kPermanentMagnet) {
    cautions.push_back(
        "Magnet rotor: it pulls suddenly and hard, and turning it makes the leads live. Take it out with a guide "
        "before "
        "the stator goes near heat; magnets never go into an oven.");
  }
  if (record.potted || record.construction == Construction::kSegmented) {
    cautions.push_back("Potted, glued or segmented core: no burn-out oven; soften or cut the winding out instead.");
  } else {
    cautions.push_back(
        absl::StrFormat("Burn-out: leads with PVC or PTFE off first, fumes extracted, temperature measured on the core "
                        "itself (%s); the "
                        "core test before and after decides whether the iron is still good.",
                        standards::FindRule(rules::ar100_burn_out)->formula));
  }
  cautions.push_back("Keep one whole coil group until the new winding has passed: it is the only drawing there is.");
  return cautions;
}

}  // namespace coilwright::plan
