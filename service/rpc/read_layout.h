#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "rpc/reader.h"
#include "winding/connection.h"
#include "winding/layout.h"

namespace coilwright::rpc {

// Layouts as requests ask for them, by a pattern or traced coil by coil. Wrong fields go to the reader's errors; what
// is returned is only to be used when there are none.

// A pattern in a core, with everything that was left open.
winding::Placement ReadPlacement(const Reader& pattern);
// Of a pattern only where it lies in a core of `slots`.
void ReadPlace(const Reader& pattern, int slots, winding::Placement* placement);
// The coils of the field `coils`; empty where none were traced.
std::vector<winding::Coil> ReadTracedCoils(const Reader& layout);
// Coils as traced in the core that the field `pattern` beside them says; CANCELLED where reading has found errors since
// there were `before` of them.
absl::StatusOr<winding::Layout> ReadTraced(const Reader& holder, absl::string_view pattern,
                                           std::vector<winding::Coil> coils,
                                           const std::vector<standards::FieldError>& errors, size_t before);

// The layout of a message with the fields `layout` and `coils`.
struct AskedLayout {
  winding::Placement placement;           // where no coils were traced
  std::optional<winding::Layout> traced;  // turned the short way
};
AskedLayout ReadAskedLayout(const Reader& reader, std::vector<standards::FieldError>* errors);

// What follows from it; errors name the fields of such a message.
absl::StatusOr<winding::Symmetry> SymmetryOf(const AskedLayout& asked);
absl::StatusOr<winding::Layout> LayoutOf(const AskedLayout& asked);
absl::StatusOr<winding::ConnectionList> ConnectionsOf(const AskedLayout& asked, const winding::Layout& layout,
                                                      winding::PhaseEnds ends, int circuits);
// Absent for coils traced over more than one tooth, which does not tell how they lie.
std::optional<winding::CoilForm> FormOf(const AskedLayout& asked);

// An error of the engine with the names of the contract, those of the pattern below `pattern_path`.
absl::Status InTheWordsOfTheContract(const absl::Status& status, absl::string_view pattern_path);

}  // namespace coilwright::rpc
