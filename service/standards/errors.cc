#include "standards/errors.h"

#include "absl/strings/cord.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"

namespace coilwright::standards {
namespace {

constexpr absl::string_view kPayloadUrl = "coilwright/field-errors";
constexpr char kRecord = '\x1e';
constexpr char kUnit = '\x1f';

// The separators are control characters; what a caller sent may contain them, so they are blanked before packing.
std::string Clean(absl::string_view text) {
  std::string clean(text);
  for (char& c : clean) {
    if (c == kRecord || c == kUnit) c = ' ';
  }
  return clean;
}

}  // namespace

absl::Status InvalidFields(const std::vector<FieldError>& errors) {
  std::string message = absl::StrJoin(errors, "; ", [](std::string* out, const FieldError& error) {
    absl::StrAppend(out, error.field, ": got ", error.given, ", accepted: ", error.accepted);
  });
  absl::Status status = absl::InvalidArgumentError(message);
  std::string packed = absl::StrJoin(errors, std::string(1, kRecord), [](std::string* out, const FieldError& error) {
    absl::StrAppend(out, Clean(error.field), std::string(1, kUnit), Clean(error.given), std::string(1, kUnit),
                    Clean(error.accepted));
  });
  status.SetPayload(kPayloadUrl, absl::Cord(packed));
  return status;
}

absl::Status InvalidField(absl::string_view field, absl::string_view given, absl::string_view accepted) {
  return InvalidFields({{std::string(field), std::string(given), std::string(accepted)}});
}

std::vector<FieldError> FieldErrorsOf(const absl::Status& status) {
  std::vector<FieldError> errors;
  const auto payload = status.GetPayload(kPayloadUrl);
  if (!payload.has_value()) return errors;
  const std::string packed(*payload);
  for (const absl::string_view record : absl::StrSplit(packed, kRecord)) {
    const std::vector<std::string> parts = absl::StrSplit(record, kUnit);
    if (parts.size() == 3) errors.push_back({parts[0], parts[1], parts[2]});
  }
  return errors;
}

absl::Status UnderField(absl::string_view prefix, const absl::Status& status) {
  std::vector<FieldError> errors = FieldErrorsOf(status);
  if (errors.empty()) return status;
  for (FieldError& error : errors) error.field = absl::StrCat(prefix, ".", error.field);
  return InvalidFields(errors);
}

}  // namespace coilwright::standards
