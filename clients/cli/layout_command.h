#pragma once

#include <vector>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"
#include "coilwright/v1/layout_service.pb.h"
#include "flags.h"

namespace coilwright::cli {

// "36/4,pitch=8,layers=double" or "6/2,U1-4,W5-2,V3-6" as a layout. INVALID_ARGUMENT, one line, saying what was given
// and what is accepted.
absl::Status ReadLayoutText(absl::string_view text, v1::Layout* layout);

// Flags of a layout by its pattern, for a request with its fields.
std::vector<Flag> LayoutFlags();

}  // namespace coilwright::cli
