#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "standards/band.h"

namespace coilwright::standards {

// The size series a round wire belongs to. R40 are the intermediate IEC sizes.
enum class WireSystem { kAwg, kIecR20, kIecR40, kSwg };

// Film builds. NEMA MW 1000 names single/heavy/triple, IEC 60317-0-1 names grade 1/2/3.
enum class Film { kBare, kSingle, kHeavy, kTriple, kGrade1, kGrade2, kGrade3 };

// One film on one size: the overall diameter over the film.
struct FilmOverall {
  Film film = Film::kBare;
  Band overall_mm;
  absl::string_view rule;  // rule id
};

// One round conductor of a table.
struct RoundSize {
  WireSystem system = WireSystem::kAwg;
  std::string size;         // "18", "4/0", "0.71", "22": what is said at the bench, without the system's name
  double gauge_number = 0;  // order within AWG and SWG (4/0 is -3); 0 for metric
  Band bare_mm;             // least, nominal and greatest bare diameter
  std::vector<FilmOverall> films;
  std::optional<Band> resistance_ohms_per_km;  // at 20 C where the standard tabulates limits (IEC, thin wire)
  absl::string_view resistance_rule;           // rule id of that resistance, empty where there is none
  absl::string_view rule;                      // rule id of the bare size
};

// All sizes of every system, thickest first within each system. Loaded once; safe from any thread.
const std::vector<RoundSize>& RoundSizes();

absl::string_view SystemName(WireSystem system);  // "AWG", "IEC R20", "IEC R40", "SWG"
absl::string_view FilmName(Film film);            // "bare", "single", "heavy", "triple", "grade 1", ...

}  // namespace coilwright::standards
