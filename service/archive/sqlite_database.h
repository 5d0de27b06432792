#pragma once

#include <memory>
#include <string>

#include "absl/status/statusor.h"
#include "archive/database.h"
#include "archive/file_lock.h"

namespace coilwright::archive {

// One more connection to a file that this process holds; the file is made where it is missing.
absl::StatusOr<std::unique_ptr<Database>> ConnectSqlite(const std::string& file, std::shared_ptr<const FileLock> lock);

}  // namespace coilwright::archive
