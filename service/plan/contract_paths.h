#pragma once

#include <initializer_list>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"

namespace coilwright::plan {

// What a room calls one of its inputs, and the field of the contract that it came from.
struct ContractPath {
  absl::string_view ours;
  absl::string_view contract;
};

// The same status with the wrong fields a room named ("core_length_mm") under the paths a caller knows
// ("record.machine.core.stack_length"). A field not in `paths` goes to `otherwise`, with the room's name beside what
// was given. Other statuses unchanged.
absl::Status InContract(const absl::Status& status, absl::string_view otherwise,
                        std::initializer_list<ContractPath> paths = {});

}  // namespace coilwright::plan
