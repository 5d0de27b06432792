#include "plan/check_settings.h"

#include "insulation/constants.h"

namespace coilwright::plan {
namespace {

CheckSettings Read() {
  const standards::Table table(standards::EmbeddedTable("check_settings"));
  const auto value = [&](absl::string_view name) { return insulation::NamedNumber(table, name); };
  return {value("decided_from"),  value("sound_from"),       value("rival_most"),
          value("accused_below"), value("wrong_below"),      value("outside_band_sigmas"),
          value("sound_sigmas"),  value("explained_sigmas"), value("air_slack")};
}

}  // namespace

const CheckSettings& CheckBounds() {
  static const CheckSettings settings = Read();
  return settings;
}

}  // namespace coilwright::plan
