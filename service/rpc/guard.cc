#include "rpc/guard.h"

#include <algorithm>
#include <utility>

#include "absl/strings/match.h"

namespace coilwright::rpc {

absl::Status WithUnreadable(std::vector<standards::FieldError> unreadable, const absl::Status& status) {
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) {
    const auto said = [&](const standards::FieldError& earlier) {
      return absl::StartsWith(earlier.field, error.field);
    };
    if (std::none_of(unreadable.begin(), unreadable.end(), said)) unreadable.push_back(error);
  }
  return standards::InvalidFields(unreadable);
}

}  // namespace coilwright::rpc
