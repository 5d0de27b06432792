#pragma once

#include <vector>

#include "flags.h"

namespace coilwright::cli {

// Flags for the TestChoice of a request, field `choice`.
std::vector<Flag> TestChoiceFlags();

}  // namespace coilwright::cli
