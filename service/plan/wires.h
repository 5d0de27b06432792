#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "plan/plan.h"
#include "wire/strands.h"

// From a shop's choice of wires to a strand search and back to words; shared by the plan and by a bare search.
namespace coilwright::plan {

// The choice with the full AWG (heavy) and metric (grade 2) series where it names no wire.
WireChoice WithDefaultWires(WireChoice choice);

// The search a choice asks for; target, slot and length are left to the caller.
wire::StrandSearch SearchOf(const WireChoice& choice);

// Why wires fell out, or why nothing was found, in words.
std::vector<std::string> LeftOut(const wire::StrandSearch& search, const wire::StrandAnswer& answer);

absl::string_view AboveHexagonalWarning();

}  // namespace coilwright::plan
