#pragma once

#include <vector>

#include "absl/status/statusor.h"
#include "archive/database.h"
#include "archive/facts.h"
#include "archive/find.h"

namespace coilwright::archive {

// Archive::Find and Archive::Candidates on one connection.
absl::StatusOr<Found> Search(Database& db, const Query& query);
absl::StatusOr<std::vector<Facts>> SearchNear(Database& db, const Near& near);

}  // namespace coilwright::archive
