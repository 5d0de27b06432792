#pragma once

#include "absl/status/status.h"
#include "absl/strings/string_view.h"

namespace coilwright::archive {

// The status for an SQLSTATE (PostgreSQL documentation, appendix A), by the errors of Database.
absl::StatusCode CodeOfSqlState(absl::string_view state);

// Called inside a catch block: the exception there as a status. `connected`: the connection still stands.
absl::Status StatusOfException(bool connected);

}  // namespace coilwright::archive
