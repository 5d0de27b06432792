#include "archive/sqlite_errors.h"

#include <cerrno>
#include <cstring>

#include "absl/strings/str_cat.h"

namespace coilwright::archive {

const char* const kDamaged =
    "keep the file as it is and restore a backup into a new one with coilwright archive restore; where there is none, "
    "the "
    "general tool sqlite3 may read what is left with its command .recover";

absl::Status FileError(int error, const std::string& file, absl::string_view doing) {
  const std::string text = absl::StrCat(doing, " ", file, ": ", std::strerror(error));
  if (error == EACCES || error == EPERM || error == EROFS) {
    return absl::PermissionDeniedError(
        absl::StrCat(text, "; give this user the right to write there, or name another file"));
  }
  if (error == ENOSPC || error == EDQUOT) {
    return absl::ResourceExhaustedError(
        absl::StrCat(text, "; make room on its disk. What was acknowledged is kept and can be read"));
  }
  return absl::UnavailableError(text);
}

absl::Status SqliteError(sqlite3* db, int extended_code, const std::string& file, absl::string_view sql) {
  const int system = db == nullptr ? 0 : sqlite3_system_errno(db);
  const std::string said = db == nullptr ? sqlite3_errstr(extended_code) : sqlite3_errmsg(db);
  switch (extended_code & 0xff) {
    case SQLITE_FULL:
      return FileError(ENOSPC, file, "no room for");
    case SQLITE_IOERR:
    case SQLITE_CANTOPEN:
      if (system != 0)
        return FileError(system, file, extended_code == SQLITE_CANTOPEN ? "opening" : "reading or writing");
      return absl::UnavailableError(absl::StrCat("reading or writing ", file, ": ", said));
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return absl::AbortedError(absl::StrCat(file, " is held by another writer: ", said));
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return FileError(EACCES, file, "writing");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return absl::DataLossError(absl::StrCat(file, " is damaged (", said, "): ", kDamaged));
    case SQLITE_NOMEM:
      return absl::ResourceExhaustedError(absl::StrCat("no memory left for ", file));
    case SQLITE_CONSTRAINT:
      if (extended_code == SQLITE_CONSTRAINT_UNIQUE || extended_code == SQLITE_CONSTRAINT_PRIMARYKEY ||
          extended_code == SQLITE_CONSTRAINT_ROWID) {
        return absl::AlreadyExistsError(said);
      }
      break;
    default:
      break;
  }
  return absl::InternalError(absl::StrCat(said, " (SQLite code ", extended_code, ") in: ", sql));
}

}  // namespace coilwright::archive
