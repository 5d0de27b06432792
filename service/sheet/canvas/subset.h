#pragma once

#include <hb.h>

#include <string>

#include "absl/status/statusor.h"

namespace coilwright::sheet {

// A font file with the glyphs of `characters` (UTF-8, in any order and number), and what sets them, alone.
// RESOURCE_EXHAUSTED where there is no memory for it.
absl::StatusOr<std::string> Subset(hb_face_t* face, const std::string& characters);

}  // namespace coilwright::sheet
