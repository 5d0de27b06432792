#pragma once

#include <string>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"

namespace coilwright::standards {

// One wrong field of an input: where it is, what was given with its unit, and what would be accepted.
struct FieldError {
  std::string field;     // path in the words of the contract, e.g. "winding.groups[0].turns"
  std::string given;     // "-3 mm", "nothing", "NaN"
  std::string accepted;  // "more than 0 mm, at most 2000 mm"
};

// INVALID_ARGUMENT carrying every wrong field at once; `errors` must not be empty.
absl::Status InvalidFields(const std::vector<FieldError>& errors);

// INVALID_ARGUMENT for a single wrong field.
absl::Status InvalidField(absl::string_view field, absl::string_view given, absl::string_view accepted);

// The wrong fields carried by a status made above; empty for any other status.
std::vector<FieldError> FieldErrorsOf(const absl::Status& status);

// The same status with "prefix." put before every field path it carries; other statuses unchanged.
absl::Status UnderField(absl::string_view prefix, const absl::Status& status);

}  // namespace coilwright::standards
