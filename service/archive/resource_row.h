#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "archive/database.h"
#include "archive/entry.h"
#include "archive/facts.h"

namespace coilwright::archive {

// How the current revision of a resource is put into its row, new or instead of the one before. Terms are text in
// SQLite and a tsvector in PostgreSQL.
std::string InsertResource(Dialect dialect);
std::string UpdateResource(Dialect dialect);
// The parameters of both.
std::vector<Value> ResourceValues(int64_t id, const Entry& entry, const Facts& facts, const std::string& terms);

}  // namespace coilwright::archive
