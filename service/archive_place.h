#pragma once

#include <memory>
#include <string>

#include "absl/status/statusor.h"
#include "archive/archive.h"

namespace coilwright {

// The file an archive is kept in where nobody names one: "coilwright/archive.db" in $XDG_DATA_HOME, else in
// $HOME/.local/share. INVALID_ARGUMENT where neither is set.
absl::StatusOr<std::string> DefaultArchiveFile();

// Whether something is kept under this name: false for no file, and for one without a byte, as its maker leaves it when
// it is stopped.
bool ArchiveFileIsThere(const std::string& file);

// The archive in a file, made on first use; null for "none". INVALID_ARGUMENT for a place that is no file: one with
// "://" in it. Else as archive::OpenSqlite and archive::Archive::Open.
absl::StatusOr<std::shared_ptr<archive::Archive>> OpenArchiveFile(const std::string& file);

}  // namespace coilwright
