#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "standards/band.h"
#include "standards/conductors.h"
#include "standards/wire_tables.h"

namespace coilwright::wire {

// A round wire with its film, as found in a table or made from a measured diameter.
struct Wire {
  standards::WireSystem system = standards::WireSystem::kAwg;
  std::string size;  // within the system, "18" or "0.71"
  standards::Film film = standards::Film::kBare;
  std::string designation;  // "AWG 18 heavy", "0.71 mm grade 2", "SWG 22"
  bool tabulated = true;    // false: a half gauge by formula or a diameter outside every table
  standards::Band bare_mm;
  standards::Band overall_mm;  // equals bare_mm for bare wire
  double area_mm2 = 0;         // of the nominal bare diameter
  double area_cmil = 0;
  std::vector<absl::string_view> rules;
  bool film_assumed = false;  // only one diameter was measured: overall_mm is that of a usual film on it
};

// The wire of this system and size with this film. `size` is what stands in the table ("18", "4/0", "0.71"); AWG also
// takes half sizes ("18.5", by the exact formula rounded to 0.0001 in, common practice). NOT_FOUND when the system has
// no such size, with the nearest two; INVALID_ARGUMENT for a text that is no size (field "size") or (field "film") when
// the system or size has no such film.
absl::StatusOr<Wire> LookUp(standards::WireSystem system, absl::string_view size, standards::Film film);

// The same from what a person says: "AWG 18 heavy", "18 awg", "0.71 mm grade 2", "0,71 g2", "SWG 22", "#18 triple",
// "AWG 18 1/2", "0000 awg". A number alone is refused: it could be a gauge or millimetres. INVALID_ARGUMENT (field
// "wire") with examples, NOT_FOUND with the nearest two sizes.
absl::StatusOr<Wire> Parse(absl::string_view designation);

// A wire known only by its measured diameters, 0 < bare_mm <= overall_mm, both finite (a smaller overall counts as
// bare). It belongs to no series; `film` stays kBare because no table names its film, `overall_mm` carries it.
Wire FromDiameters(double bare_mm, double overall_mm);

// Resistance in ohms per km at `celsius`: nominal, low and high from the limits of diameter and resistivity (AWG by the
// NEMA resistivity, all others by that of IEC winding wire), or from the limits IEC 60317-0-1 prints for thin wire.
// FAILED_PRECONDITION outside the temperatures of the preset.
absl::StatusOr<standards::Band> ResistanceOhmsPerKm(const Wire& wire, standards::Metal metal,
                                                    standards::ConductorPreset preset, double celsius);

// The rules behind that resistance: the method, the resistivity or the printed limits, and the temperature conversion.
std::vector<absl::string_view> ResistanceRules(const Wire& wire, standards::Metal metal,
                                               standards::ConductorPreset preset);

// Mass in kg per km: bare conductor, and coated with its film (film density 1.35 g/cm3, from memory).
double BareKgPerKm(const Wire& wire, standards::Metal metal);
double CoatedKgPerKm(const Wire& wire, standards::Metal metal);

// Every tabulated wire of a system with this film, thickest first.
std::vector<Wire> Catalogue(standards::WireSystem system, standards::Film film);

// The next thicker (step < 0) or thinner (step > 0) wire of the same series and film (R20 and R40 are two series); a
// half gauge steps to the whole one beside it. NOT_FOUND at the end of the table and for a measured wire.
absl::StatusOr<Wire> Neighbour(const Wire& wire, int step);

}  // namespace coilwright::wire
