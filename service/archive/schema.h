#pragma once

#include "absl/status/statusor.h"
#include "archive/database.h"

namespace coilwright::archive {

// Brings a store to the schema of this version, one step after the other, each in its own transaction, never back.
// Returns the version. FAILED_PRECONDITION where a later Coilwright has been at it.
absl::StatusOr<int> Migrate(Database& db);

// The version that Migrate brings a store to.
int SchemaVersion();

}  // namespace coilwright::archive
