#pragma once

#include <string>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "google/protobuf/message.h"

namespace coilwright::cli {

// Sets what "winding.turns_per_coil=34" names below `message`, as SetField reads it; an empty text takes it off.
// Elements of lists count from 0, as errors name them: "winding.strands[0].wires_in_hand"; the one after the last is
// added. "winding.strands" as a whole takes "2 x 0.80 mm grade 2 + 1 x 0.71 mm grade 2". Returns the path for a field
// mask, which ends at a list: lists are replaced whole. INVALID_ARGUMENT, one line beginning with the path.
absl::StatusOr<std::string> Assign(google::protobuf::Message* message, absl::string_view assignment);

}  // namespace coilwright::cli
