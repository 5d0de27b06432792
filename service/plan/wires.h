#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "plan/plan.h"
#include "wire/strands.h"

// From a shop's choice of wires to a strand search and back to words; shared by the plan and by a bare search.
namespace coilwright::plan {

// The choice with whole series where it names no wire: AWG (heavy) for an original of AWG, metric (grade 2) for one of
// other wires, both where it mixes them or nothing of it is known.
WireChoice WithDefaultWires(WireChoice choice, const std::vector<RecordedStrand>& original = {});

// The search a choice asks for; target, slot and length are left to the caller.
wire::StrandSearch SearchOf(const WireChoice& choice);

// Why wires fell out, or why nothing was found, in words.
std::vector<std::string> LeftOut(const wire::StrandSearch& search, const wire::StrandAnswer& answer);

absl::string_view AboveHexagonalWarning();

}  // namespace coilwright::plan
