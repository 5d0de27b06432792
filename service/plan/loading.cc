#include <cmath>

#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using standards::Band;

// Emf of one phase and the frequency it has, or nothing where the record does not say.
struct PhaseEmf {
  Band volts;
  double frequency_hz = 0;
  absl::string_view rule;
};

std::optional<PhaseEmf> EmfOf(const Record& record, const TurnsPlan& original, const TurnsPlan& turns) {
  const double line_to_phase = turns.connection == electric::Connection::kStar ? std::sqrt(3.0) : 1.0;
  if (record.kind == MachineKind::kInduction) {
    if (!turns.frequency_hz) return std::nullopt;
    const Band share = electric::EmfShare(RatedKw(record.plate).value_or(0.0));
    const double volts = turns.rated_volts / line_to_phase;
    return PhaseEmf{
        {share.low * volts, share.nominal * volts, share.high * volts}, *turns.frequency_hz, rules::electric_emf_share};
  }
  const std::optional<MachineConstants> constants = ConstantsOf(record, original, turns, Band::Exactly(1.0));
  if (!constants) return std::nullopt;
  const Band& ke = constants->ke_ll_rms_v_per_krpm;
  return PhaseEmf{{ke.low / line_to_phase, ke.nominal / line_to_phase, ke.high / line_to_phase},
                  record.plate.poles * 1000.0 / 120.0,
                  rules::plan_flux_from_ke};
}

}  // namespace

absl::StatusOr<Loading> LoadingOf(const Record& record, const TurnsPlan& original, const TurnsPlan& turns,
                                  std::optional<double> current_density_a_per_mm2) {
  Loading loading;
  loading.current_density_a_per_mm2 = current_density_a_per_mm2;
  if (current_density_a_per_mm2) loading.rules.push_back(rules::electric_current_density);
  const std::optional<PhaseEmf> emf = EmfOf(record, original, turns);
  if (!emf) return loading;
  const auto flux = [&](double volts) {
    return electric::FluxWebers(volts, emf->frequency_hz, turns.series_turns_per_phase, turns.winding_factor);
  };
  loading.flux_webers = Band{flux(emf->volts.low), flux(emf->volts.nominal), flux(emf->volts.high)};
  loading.rules.push_back(emf->rule);
  loading.rules.push_back(rules::electric_emf);

  const CoreAndSlot& core = record.core;
  if (!core.bore_mm || !core.stack_length_mm) return loading;
  electric::Core iron;
  iron.bore_mm = *core.bore_mm;
  iron.length_mm = *core.stack_length_mm;
  iron.stacking_factor = core.stacking_factor;
  iron.tooth_width_mm = core.tooth_width_mm.value_or(0.0);
  iron.slots = core.slots;
  iron.poles = turns.poles;
  if (core.back_iron_mm) {
    iron.back_iron_mm = *core.back_iron_mm;
  } else if (core.outer_mm && core.slot_depth_mm) {
    iron.back_iron_mm = (*core.outer_mm - *core.bore_mm) / 2.0 - *core.slot_depth_mm;
  }
  const absl::StatusOr<electric::FluxDensities> densities = electric::Densities(iron, loading.flux_webers->nominal);
  if (!densities.ok()) return densities.status();
  loading.densities = *densities;
  loading.rules.push_back(rules::electric_flux_densities);
  return loading;
}

}  // namespace coilwright::plan
