#include "rpc/read_programme.h"

#include "absl/strings/str_cat.h"
#include "coilwright/v1/machine.pb.h"
#include "coilwright/v1/quantities.pb.h"
#include "rpc/read_record.h"

namespace coilwright::rpc {

testing::ProgrammeCase ReadProgrammeCase(const Reader& reader) {
  const plan::TestChoice choice = ReadTestChoice(reader.At("choice"));
  const Reader machine = reader.At("machine");
  const Reader plate = machine.At("nameplate");
  testing::ProgrammeCase c;
  c.stage = reader.Need("stage", reader.Enum<testing::Stage>("stage"), reader.EnumChoices("stage"), c.stage);
  c.family = choice.family;
  c.condition = choice.condition;
  c.rated_volts = plate.Need("rated_volts", plate.Number("rated_volts", kRatedVolts),
                             "1 V to 50000 V, line to line rms of the winding (not mains, not DC bus)", 230.0);
  plan::Plate power;
  power.rated_kw = plate.Kw("rated_power", kRatedKw);
  power.rated_torque_nm = plate.Number("rated_torque_nm", kTorqueNm);
  power.speed_rpm = plate.Number("speed_rpm", kSpeedRpm);
  c.rated_kw = plan::RatedKw(power);
  c.permanent_magnet = machine.EnumNumber("kind") == v1::MACHINE_KIND_PERMANENT_MAGNET;
  c.induction = machine.EnumNumber("kind") == v1::MACHINE_KIND_INDUCTION ||
                machine.EnumNumber("kind") == v1::MACHINE_KIND_SINGLE_PHASE_INDUCTION;
  switch (machine.EnumNumber("kind")) {
    case v1::MACHINE_KIND_DC_ARMATURE:
    case v1::MACHINE_KIND_DC_FIELD:
    case v1::MACHINE_KIND_SINGLE_PHASE_INDUCTION:
      c.three_phase = false;
      break;
    default:
      c.three_phase = reader.Enum<insulation::WindingKind>("winding_kind") != insulation::WindingKind::kDcArmature;
  }
  const bool complete = c.stage == testing::Stage::kAsReceived || c.stage == testing::Stage::kAssembled ||
                        c.stage == testing::Stage::kInService;
  c.rotor_fitted = reader.Flag("rotor_fitted").value_or(complete);
  c.star_open = reader.Flag("star_open").value_or(c.stage == testing::Stage::kWoundStarOpen);
  c.three_leads = !c.star_open || c.stage == testing::Stage::kWoundStarOpen;
  c.form_wound = reader.Enum<insulation::WindingKind>("winding_kind") == insulation::WindingKind::kFormWound;
  c.segmented_core = ReadConstruction(machine) == plan::Construction::kSegmented;
  c.potted = machine.Flag("potted").value_or(false);
  if (const auto thermal_class = ReadThermalClass(plate, "thermal_class"))
    c.thermal_class_celsius = thermal_class->celsius;
  c.megohm_edition = choice.megohm_edition;
  if (choice.insulation_family_given) c.insulation_family = choice.insulation_family;
  c.built_year = plate.Count("built_year", 1880, 2200);
  c.form_wound_surge = choice.form_wound_surge;
  c.shop_expectation_megohms = choice.shop_expectation_megohms;
  c.resistance_unbalance_percent = ReadUnbalancePercent(reader.At("choice"), c.form_wound);
  c.before_treatment_share = choice.before_treatment_share;
  c.fitted = ReadDevices(machine.At("fitted"));
  c.drive_fed = plate.Flag("drive_fed");
  c.drive_mains_volts = plate.Number("drive_mains_volts", kRatedVolts);
  c.dc_bus_volts = plate.Number("dc_bus_volts", kRatedVolts);
  c.shop = choice.run;
  const auto band = [&](absl::string_view field, std::optional<double>& low, std::optional<double>& high) {
    if (!reader.Has(field)) return;
    const auto& value = static_cast<const v1::Band&>(reader.At(field).message());
    if (!(value.low() > 0 && value.high() >= value.low() && value.high() <= 1e6)) {
      reader.Wrong(field, absl::StrCat(value.low(), " to ", value.high()), "low above 0, high from low to 1e+06");
    }
    low = value.low();
    high = value.high();
  };
  band("expected_line_to_line_ohms", c.expected_line_to_line_ohms_low, c.expected_line_to_line_ohms_high);
  band("expected_ke_volts_per_krpm", c.expected_ke_low, c.expected_ke_high);
  return c;
}

}  // namespace coilwright::rpc
