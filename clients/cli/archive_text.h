#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "coilwright/v1/archive.pb.h"
#include "coilwright/v1/winding_archive_service.pb.h"
#include "flags.h"
#include "google/protobuf/timestamp.pb.h"
#include "units.h"
#include "words.h"

namespace coilwright::cli {

// A winding or job as a person names it: "windings/x", or "x" where the command says which it takes.
struct Named {
  std::string name;             // "windings/x"
  std::optional<int> revision;  // of "windings/x@2"
};
// INVALID_ARGUMENT for another collection and for a revision that is no number from 1. `collections` are "windings",
// "jobs"; the first is meant where none is named.
absl::StatusOr<Named> ReadName(absl::string_view text, const std::vector<std::string>& collections);
// Without its collection, as lists show it and commands take it.
std::string ShortName(absl::string_view name);

// A day, "2017-05-03", a time of the clock here, "2017-05-03 14:30", or RFC 3339. A day alone is its noon, so that it
// stays that day in other zones; `day_only` then says so.
absl::Status ReadTime(absl::string_view text, google::protobuf::Timestamp* time, bool* day_only = nullptr);
// The same of a flag, left alone where it does not stand.
absl::Status ReadTimeFlag(const Arguments& arguments, absl::string_view flag, google::protobuf::Timestamp* time,
                          bool* day_only = nullptr);
// "2026-11-28 14:30" by the clock here; "2026-11-28"; "" where there is none.
std::string Moment(const google::protobuf::Timestamp& time);
std::string Day(const google::protobuf::Timestamp& time);
// One or the other: a time of which only the day was told has no hour.
std::string When(const google::protobuf::Timestamp& time, bool day_only);

// An error of the service with what it says to do in the words of this program: its flags and commands.
absl::Status InWordsOfCommands(const absl::Status& status);

// "sound", "NOT sound", "undecided", "unchecked".
std::string CheckWord(v1::CheckVerdict verdict);
// "400 V, 0.75 kW, 1400 rpm".
std::string PlateText(const v1::WindingSummary& winding);
std::string PlateText(const v1::Nameplate& plate);
// As that of a Nameplate.
using coilwright::PlateWords;
std::string PlateWords(const v1::WindingSummary& winding);
// "36/4"
std::string SlotsAndPoles(const v1::WindingSummary& winding);
// "60 / 104 / 80": bore, outside, stack, without the unit.
std::string CoreText(const v1::WindingSummary& winding, const Units& units);
// A length as read, in the unit printed; "" where it was not taken.
std::string LengthText(const v1::Length& length, const Units& units);
std::optional<double> Millimetres(const v1::Length& length);

// "36", "36..48", "36..", "..48" into a range.
enum class RangeOf {
  kCount,   // whole, and only itself
  kFigure,  // a figure stands for what rounds to it: 400 for 399.5 to 400.5
  kLength,  // the same, with its unit, at the end or at both ends: "95 mm", "3.7..3.8in"
  kPower,   // the same, kW where no unit stands
};
absl::Status ReadRange(absl::string_view text, RangeOf what, v1::NumberRange* range);

}  // namespace coilwright::cli
