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
};

// The wire of this system and size with this film. `size` is what stands in the table ("18", "4/0", "0.71"); AWG also
// takes half sizes ("18.5", by the exact formula rounded to 0.0001 in, common practice). NOT_FOUND when the system has
// no such size, with the nearest two; INVALID_ARGUMENT (field "film") when the system or size has no such film.
absl::StatusOr<Wire> LookUp(standards::WireSystem system, absl::string_view size, standards::Film film);

// The same from what a person says: "AWG 18 heavy", "18 awg", "0.71 mm grade 2", "0,71 g2", "SWG 22", "#18 triple".
absl::StatusOr<Wire> Parse(absl::string_view designation);

// A wire known only by its bare diameter, with the given film thickness on the diameter (overall - bare).
Wire FromDiameters(double bare_mm, double overall_mm);

// Resistance in ohms per km at `celsius`: nominal, low and high from the limits of diameter and resistivity.
absl::StatusOr<standards::Band> ResistanceOhmsPerKm(const Wire& wire, standards::Metal metal,
                                                    standards::ConductorPreset preset, double celsius);

// Mass in kg per km: bare conductor, and coated with its film (film density 1.35 g/cm3, from memory).
double BareKgPerKm(const Wire& wire, standards::Metal metal);
double CoatedKgPerKm(const Wire& wire, standards::Metal metal);

// Every tabulated wire of a system with this film, thickest first.
std::vector<Wire> Catalogue(standards::WireSystem system, standards::Film film);

// The next thicker (step < 0) or thinner (step > 0) wire of the same series and film; NOT_FOUND at the end of the
// table.
absl::StatusOr<Wire> Neighbour(const Wire& wire, int step);

}  // namespace coilwright::wire
