#include <set>

#include "plan/steps.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"

namespace coilwright::plan {

std::vector<Material> Materials(const Record& record, double rated_volts) {
  static const standards::Table& table = *new standards::Table(standards::EmbeddedTable("materials"));
  const int class_celsius = record.plate.thermal_class ? record.plate.thermal_class->celsius : 155;
  std::vector<Material> materials;
  std::set<absl::string_view> places;
  for (int row = 0; row < table.rows(); ++row) {
    const absl::string_view place = table.Text(row, "place");
    if (rated_volts > *table.Number(row, "greatest_volts") ||
        class_celsius > *table.Number(row, "greatest_class_celsius")) {
      continue;
    }
    if (place == "separator between layers" && record.winding.layers == winding::Layers::kSingle) continue;
    if (!places.insert(place).second) continue;
    materials.push_back({std::string(place), std::string(table.Text(row, "material")), rules::plan_materials});
  }
  return materials;
}

}  // namespace coilwright::plan
