#pragma once

#include <sqlite3.h>

#include <string>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"

namespace coilwright::archive {

// What to do with a file that is damaged, for every message about one.
extern const char* const kDamaged;

// The failure of the last call on the connection, in the terms of Database. `db` may be null.
absl::Status SqliteError(sqlite3* db, int extended_code, const std::string& file, absl::string_view sql);

// Of a call of the operating system about the file: no right, no room, or something else.
absl::Status FileError(int error, const std::string& file, absl::string_view doing);

}  // namespace coilwright::archive
