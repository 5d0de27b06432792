#pragma once

namespace coilwright::plan {

// check_settings.csv, read once. The rule of each stands in the table.
struct CheckSettings {
  double decided_from;         // chance that decides between explanations
  double sound_from;           // of the group of the record as it stands: a slip with one chance in ten leaves it open
  double rival_most;           // of a slip that nothing here tells from a sound record
  double accused_below;        // a record likelier than this to be right is not accused
  double wrong_below;          // one less likely than this is wrong, whichever slip it is
  double outside_band_sigmas;  // a measurement beyond lies outside its printed band
  double sound_sigmas;         // beyond, nothing is called sound whatever the chances
  double explained_sigmas;     // an explanation that misses a measurement by more explains nothing
  double air_slack_kelvin;     // of a winding that has stood in the air
};
const CheckSettings& CheckBounds();

}  // namespace coilwright::plan
