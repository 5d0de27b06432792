#include "wire_choice.h"

#include <algorithm>

#include "absl/strings/ascii.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "request.h"

namespace coilwright::cli {

std::vector<Flag> WireChoiceFlags(absl::string_view path) {
  const bool in_plan = path == "wires";
  return {
      {"stock", "FILE", in_plan ? "wires.stock" : "choice.stock",
       "shelf list in JSON; coilwright plan --template shelf prints one", true},
      {"have", "WIRE...", in_plan ? "wires.stock" : "choice.stock",
       "a wire on the shelf, as much as needed: \"AWG 18 heavy\"", true},
      {"wires", "SERIES[,SERIES]", in_plan ? "wires.systems" : "choice.systems",
       "whole series instead of a shelf: awg, metric (r20 and r40), r20, r40, swg", true},
      {"film", "FILM", in_plan ? "wires.film" : "choice.film", "film on the wires of a series: heavy, grade-2, ..."},
      {"best", "N", in_plan ? "wires.best" : "choice.best", "answers wanted"},
      {"most-in-hand", "N", in_plan ? "wires.most_wires_in_hand" : "choice.most_wires_in_hand",
       "wires wound together at most (12)"},
      {"most-sizes", "N", in_plan ? "wires.most_sizes" : "choice.most_sizes", "different sizes at most, 1 to 3 (3)"},
      {"thickest", "LENGTH", in_plan ? "wires.greatest_bare_diameter" : "choice.greatest_bare_diameter",
       "thickest wire, bare: 1.32mm"},
      {"least-area", "RATIO", in_plan ? "wires.least_area_ratio" : "choice.least_area_ratio",
       "least area over the original's (0.99)"},
      {"greatest-area", "RATIO", in_plan ? "wires.greatest_area_ratio" : "choice.greatest_area_ratio",
       "greatest (1.05)"},
      {"fullest", "RATIO", in_plan ? "wires.greatest_fullness_ratio" : "choice.greatest_fullness_ratio",
       "greatest sum of overall diameters squared over net slot area (0.80)"},
      {"clearance", "LENGTH", in_plan ? "wires.opening_clearance" : "choice.opening_clearance",
       "room left in the slot opening (0.2mm)"},
  };
}

absl::Status FillWireChoice(Session& session, v1::WireChoice* choice) {
  const Arguments& arguments = session.arguments;
  if (arguments.Has("stock")) {
    const auto source = ReadJsonFile(arguments.Text("stock"), session.in);
    if (!source.ok()) return source.status();
    v1::WireChoice shelf;
    if (absl::Status parsed = ParseJson(*source, &shelf); !parsed.ok()) return parsed;
    choice->MergeFrom(shelf);
  }
  for (const std::string& wire : arguments.All("have")) choice->add_stock()->mutable_wire()->set_designation(wire);
  if (!arguments.Has("wires")) return absl::OkStatus();
  if (!choice->stock().empty()) {
    return absl::InvalidArgumentError(
        "--wires: a shelf already says which wires there are; accepted: series or a shelf");
  }
  choice->clear_systems();
  for (absl::string_view series : absl::StrSplit(arguments.Text("wires"), ',')) {
    const std::string word = absl::AsciiStrToLower(absl::StripAsciiWhitespace(series));
    const std::vector<std::string> names =
        word == "metric" ? std::vector<std::string>{"r20", "r40"} : std::vector<std::string>{word};
    for (const std::string& name : names) {
      if (absl::Status set = SetField(choice, "systems", name); !set.ok()) {
        return absl::InvalidArgumentError(
            absl::StrCat("--wires: got \"", series, "\", accepted: awg, metric, r20, r40, swg"));
      }
    }
  }
  return absl::OkStatus();
}

absl::Status ReadStrands(absl::string_view text, v1::StrandList* strands) {
  for (absl::string_view part : absl::StrSplit(text, '+')) {
    part = absl::StripAsciiWhitespace(part);
    v1::Strand* strand = strands->add_strands();
    const size_t after_count = std::min(part.find_first_not_of("0123456789"), part.size());
    absl::string_view rest = absl::StripAsciiWhitespace(part.substr(after_count));
    int count = 0;
    // "2 x AWG 18": a count, then an x that stands alone or after the count.
    if (after_count > 0 && !rest.empty() && (rest[0] == 'x' || rest[0] == 'X') &&
        absl::SimpleAtoi(part.substr(0, after_count), &count)) {
      strand->set_wires_in_hand(count);
      part = absl::StripAsciiWhitespace(rest.substr(1));
    }
    if (part.empty())
      return absl::InvalidArgumentError(
          absl::StrCat("got \"", text, "\", accepted: \"2 x AWG 18 heavy + 1 x AWG 19 heavy\""));
    strand->mutable_wire()->set_designation(std::string(part));
  }
  return absl::OkStatus();
}

}  // namespace coilwright::cli
