#pragma once

#include <vector>

#include "absl/status/status.h"
#include "coilwright/v1/wire_service.pb.h"
#include "command.h"

namespace coilwright::cli {

// Flags that say which wires may be used, for a request that holds a WireChoice at `path` ("choice" or "wires").
std::vector<Flag> WireChoiceFlags(absl::string_view path);

// What FillRequest does not set of a WireChoice: --stock, --have and --wires.
absl::Status FillWireChoice(Session& session, v1::WireChoice* choice);

// "2 x 0.80 mm grade 2 + 1 x AWG 18 heavy"; a wire without a number stands once.
absl::Status ReadStrands(absl::string_view text, v1::StrandList* strands);

}  // namespace coilwright::cli
