#include "standards/conductors.h"

#include <array>
#include <cstdio>
#include <cstdlib>

#include "absl/status/status.h"
#include "absl/strings/str_format.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"

namespace coilwright::standards {
namespace {

constexpr absl::string_view kPresetNames[] = {"IEC 60034-1", "IEEE 112", "IEC 60851-5"};
constexpr absl::string_view kResistivityNames[] = {"IEC winding wire", "NEMA wire", "IACS"};
constexpr absl::string_view kTemperatureRules[3][2] = {
    {rules::iec60034_1_temperature_copper, rules::iec60034_1_temperature_aluminium},
    {rules::ieee112_temperature_copper, rules::ieee112_temperature_aluminium},
    {rules::iec60851_5_temperature_copper, rules::iec60851_5_temperature_aluminium}};
constexpr absl::string_view kResistivityRules[3][2] = {
    {rules::resistivity_iec_winding_wire, rules::resistivity_aluminium_winding},
    {rules::resistivity_nema_wire, rules::resistivity_aluminium_winding},
    {rules::resistivity_iacs, rules::resistivity_aluminium_iec60889}};

size_t At(Metal metal) { return metal == Metal::kCopper ? 0 : 1; }
absl::string_view MetalName(Metal metal) { return metal == Metal::kCopper ? "copper" : "aluminium"; }

// The row whose first two columns hold these names; the tables are ours, so a missing row aborts.
int RowOf(const Table& table, absl::string_view column, absl::string_view name, absl::string_view metal) {
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, column) == name && table.Text(row, "metal") == metal) return row;
  }
  std::fprintf(stderr, "embedded table: no row %.*s\n", static_cast<int>(name.size()), name.data());
  std::abort();
}

struct Conversion {
  ConductorConstants constants;
  double least_celsius = 0;
  double greatest_celsius = 0;
};

const Conversion& ConversionOf(ConductorPreset preset, Metal metal) {
  static const auto& all = *new std::array<std::array<Conversion, 2>, 3>([] {
    const Table table(EmbeddedTable("conductors"));
    std::array<std::array<Conversion, 2>, 3> loaded;
    for (size_t p = 0; p < 3; ++p) {
      for (Metal m : {Metal::kCopper, Metal::kAluminium}) {
        const int row = RowOf(table, "preset", kPresetNames[p], MetalName(m));
        const auto coefficient = table.Number(row, "coefficient_at_20_per_kelvin");
        const double zero =
            coefficient ? 1.0 / *coefficient - 20.0 : table.Number(row, "zero_resistance_kelvin").value();
        loaded[p][At(m)] = {{kPresetNames[p], zero, kTemperatureRules[p][At(m)]},
                            table.Number(row, "least_celsius").value(),
                            table.Number(row, "greatest_celsius").value()};
      }
    }
    return loaded;
  }());
  return all[static_cast<size_t>(preset)][At(metal)];
}

double Density(absl::string_view material) {
  const Table table(EmbeddedTable("densities"));
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "material") == material) return table.Number(row, "kg_per_m3").value();
  }
  std::abort();
}

}  // namespace

ConductorConstants Constants(ConductorPreset preset, Metal metal) { return ConversionOf(preset, metal).constants; }

absl::StatusOr<double> ResistanceRatio(ConductorPreset preset, Metal metal, double from_celsius, double to_celsius) {
  const Conversion& conversion = ConversionOf(preset, metal);
  for (double celsius : {from_celsius, to_celsius}) {
    if (!(celsius >= conversion.least_celsius && celsius <= conversion.greatest_celsius)) {
      return absl::FailedPreconditionError(absl::StrFormat(
          "%s converts resistance between %g C and %g C; got %g C", std::string(conversion.constants.preset_name),
          conversion.least_celsius, conversion.greatest_celsius, celsius));
    }
  }
  const double zero = conversion.constants.zero_resistance_kelvin;
  return (zero + to_celsius) / (zero + from_celsius);
}

Band ResistivityOhmMm2PerM(Resistivity which, Metal metal) {
  static const auto& all = *new std::array<std::array<Band, 2>, 3>([] {
    const Table table(EmbeddedTable("resistivity"));
    std::array<std::array<Band, 2>, 3> loaded;
    for (size_t kind = 0; kind < 3; ++kind) {
      for (Metal m : {Metal::kCopper, Metal::kAluminium}) {
        const int row = RowOf(table, "kind", kResistivityNames[kind], MetalName(m));
        const auto cell = [&](absl::string_view column) { return table.Number(row, column); };
        loaded[kind][At(m)] = cell("nominal_conductivity")
                                  ? Band{1.0 / cell("greatest_conductivity").value(),
                                         1.0 / *cell("nominal_conductivity"), 1.0 / cell("least_conductivity").value()}
                                  : Band{cell("least_ohm_mm2_per_m").value(), cell("nominal_ohm_mm2_per_m").value(),
                                         cell("greatest_ohm_mm2_per_m").value()};
      }
    }
    return loaded;
  }());
  return all[static_cast<size_t>(which)][At(metal)];
}

absl::string_view ResistivityRule(Resistivity which, Metal metal) {
  return kResistivityRules[static_cast<size_t>(which)][At(metal)];
}

double DensityKgPerM3(Metal metal) {
  static const double copper = Density("copper");
  static const double aluminium = Density("aluminium");
  return metal == Metal::kCopper ? copper : aluminium;
}

double FilmDensityKgPerM3() {
  static const double film = Density("film");
  return film;
}

}  // namespace coilwright::standards
