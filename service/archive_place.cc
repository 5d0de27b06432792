#include "archive_place.h"

#include <cstdlib>
#include <filesystem>
#include <system_error>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"

namespace coilwright {

absl::StatusOr<std::string> DefaultArchiveFile() {
  constexpr char kFile[] = "coilwright/archive.db";
  // A path that is not absolute counts as not set (XDG Base Directory Specification).
  const char* data = std::getenv("XDG_DATA_HOME");
  if (data != nullptr && data[0] == '/') return absl::StrCat(data, "/", kFile);
  const char* home = std::getenv("HOME");
  if (home != nullptr && home[0] == '/') return absl::StrCat(home, "/.local/share/", kFile);
  return absl::InvalidArgumentError(
      "--archive: not given, and neither XDG_DATA_HOME nor HOME says where the archive stands; accepted: a file, or "
      "none");
}

bool ArchiveFileIsThere(const std::string& file) {
  std::error_code error;
  for (const char* part : {"", "-wal"}) {
    const std::string path = file + part;
    const auto kind = std::filesystem::status(path, error).type();
    // What else it is, opening tells.
    if (kind == std::filesystem::file_type::regular ? std::filesystem::file_size(path, error) > 0
                                                    : kind != std::filesystem::file_type::not_found)
      return true;
  }
  return false;
}

absl::StatusOr<std::shared_ptr<archive::Archive>> OpenArchiveFile(const std::string& file) {
  if (file == "none") return nullptr;
  // Behind the scheme a password may stand.
  if (const size_t scheme = file.find("://"); scheme != std::string::npos)
    return absl::InvalidArgumentError(absl::StrCat("--archive: got \"", file.substr(0, scheme),
                                                   "://...\", accepted: a file, or none; an archive on a database "
                                                   "server is reached through coilwrightd and --server"));
  auto open = archive::OpenSqlite(file);
  if (!open.ok()) return open.status();
  auto opened = archive::Archive::Open(*std::move(open));
  if (!opened.ok()) return opened.status();
  return std::shared_ptr<archive::Archive>(*std::move(opened));
}

}  // namespace coilwright
