#pragma once

#include <optional>
#include <string>

#include "absl/strings/string_view.h"
#include "absl/types/span.h"
#include "wire/wire.h"

// Shared by the files of this room.
namespace coilwright::wire {

// The film of this row, or null; bare wire has none.
const standards::FilmOverall* FilmOf(const standards::RoundSize& row, standards::Film film);

// The wire of a table row; the row must have the film.
Wire FromRow(const standards::RoundSize& row, standards::Film film);

// The row a tabulated wire came from, or null.
const standards::RoundSize* RowOf(const Wire& wire);

// LookUp over several systems of one kind (the two metric series), as one.
absl::StatusOr<Wire> LookUp(absl::Span<const standards::WireSystem> systems, absl::string_view size,
                            standards::Film film);

// Order within a gauge: "18" is 18, "18.5" is 18.5, "0" and "1/0" are 0, "0000" and "4/0" are -3.
std::optional<double> GaugeNumber(absl::string_view text);

bool IsGauge(standards::WireSystem system);  // AWG or SWG: numbers, not millimetres

// What a caller sent, quoted, cut short and free of control characters.
std::string Quoted(absl::string_view text);

}  // namespace coilwright::wire
