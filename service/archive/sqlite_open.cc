#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "archive/database.h"
#include "archive/rows.h"
#include "archive/sqlite_database.h"
#include "archive/sqlite_errors.h"

namespace coilwright::archive {
namespace {

// Stands in the header of every file of ours, so that nothing is ever written into somebody else's.
constexpr int64_t kApplicationId = 0x43774172;
constexpr size_t kHeaderBytes = 100;
constexpr size_t kBytesRead = 105;  // with the kind and the number of entries of the list of tables

constexpr char kOther[] = "it is an SQLite file of another program";

uint64_t BigEndian(const std::string& header, size_t at, size_t size) {
  uint64_t number = 0;
  for (size_t i = at; i < at + size; ++i) number = number << 8 | static_cast<unsigned char>(header[i]);
  return number;
}

absl::Status Foreign(const std::string& file, absl::string_view why) {
  return absl::FailedPreconditionError(
      absl::StrCat(file, " is no archive of Coilwright: ", why, "; nothing was changed in it. Name another file"));
}

absl::Status Damaged(const std::string& file, absl::string_view why) {
  return absl::DataLossError(absl::StrCat(file, " is damaged (", why, "): ", kDamaged));
}

uint64_t LogBytes(const std::string& file) {
  struct stat log = {};
  return stat(absl::StrCat(file, "-wal").c_str(), &log) == 0 ? static_cast<uint64_t>(log.st_size) : 0;
}

// A file has its first page before it has a log: where only the log is left, the file was emptied or taken away. SQLite
// would throw the log away and begin anew.
absl::Status CheckNoLog(const std::string& file) {
  const uint64_t bytes = LogBytes(file);
  if (bytes == 0) return absl::OkStatus();
  return Damaged(file, absl::StrCat("it is empty or gone, but ", file, "-wal beside it holds ", bytes,
                                    " bytes of it; nothing was changed"));
}

// What can be told from the first bytes and the size (SQLite file format, "The Database Header"): no more is read, so
// that a large archive opens as quickly as a small one. SQLite itself would take a file that was cut short, and fail
// later.
absl::Status CheckHeader(const std::string& file) {
  const int descriptor = open(file.c_str(), O_RDWR | O_CLOEXEC);
  if (descriptor < 0) return errno == ENOENT ? CheckNoLog(file) : FileError(errno, file, "opening");
  struct stat about = {};
  std::string header(kBytesRead, '\0');
  const bool known = fstat(descriptor, &about) == 0;
  const ssize_t got = known && S_ISREG(about.st_mode) ? pread(descriptor, header.data(), header.size(), 0) : -1;
  const int error = errno;
  close(descriptor);
  if (known && !S_ISREG(about.st_mode)) return Foreign(file, "it is no regular file");
  // Each name would have a write-ahead log and a lock of its own.
  if (about.st_nlink > 1) {
    return absl::FailedPreconditionError(
        absl::StrCat(file, " has ", about.st_nlink,
                     " names (hard links), under which other programs could write to it unseen; keep one of them"));
  }
  if (got < 0) return FileError(error, file, "reading");
  if (got == 0) return CheckNoLog(file);  // a new file whose maker was stopped
  const bool ours = got >= static_cast<ssize_t>(kHeaderBytes) && BigEndian(header, 68, 4) == kApplicationId;
  if (!absl::StartsWith(header, std::string("SQLite format 3\0", 16))) {
    return ours ? Damaged(file, "its header is overwritten")
                : Foreign(file, "it does not begin as an SQLite file does, or its header is overwritten");
  }
  if (got < static_cast<ssize_t>(kBytesRead)) return Damaged(file, "it ends within its header");
  constexpr char kLeaf = 0x0d;
  const bool has_tables = header[100] != kLeaf || BigEndian(header, 103, 2) != 0;
  if (!ours && (has_tables || BigEndian(header, 68, 4) != 0)) return Foreign(file, kOther);
  uint64_t page_bytes = BigEndian(header, 16, 2);
  if (page_bytes == 1) page_bytes = 65536;
  if (page_bytes < 512 || (page_bytes & (page_bytes - 1)) != 0)
    return Damaged(file, "its header gives an impossible page size");
  const uint64_t pages = BigEndian(header, 28, 4);
  const uint64_t bytes = static_cast<uint64_t>(about.st_size);
  // A log beside the file may hold the pages that are missing from it; SQLite then looks there first.
  if (LogBytes(file) == 0 && pages * page_bytes > bytes) {
    return Damaged(file,
                   absl::StrCat("it was cut short: ", bytes, " bytes where its header says ", pages * page_bytes));
  }
  return absl::OkStatus();
}

// Marks a file without tables as ours; refuses one whose tables stand only in its log. Reads both ends of every table
// and, by walking down to them, the upper pages of each.
absl::Status CheckContent(const std::string& file, Database& db) {
  const auto id = db.Query("PRAGMA application_id", {});
  if (!id.ok()) return id.status();
  const auto tables = db.Query(
      "SELECT name FROM sqlite_schema WHERE type = 'table' AND rootpage > 0 AND sql NOT LIKE '%WITHOUT ROWID%'", {});
  if (!tables.ok()) return tables.status();
  if (Int((*id)[0][0]) != kApplicationId) {
    if (Int((*id)[0][0]) != 0 || !tables->empty()) return Foreign(file, kOther);
    return db.Run(absl::StrCat("PRAGMA application_id=", kApplicationId));
  }
  for (const Row& table : *tables) {
    for (const char* const direction : {"ASC", "DESC"}) {
      const auto row =
          db.Query(absl::StrCat("SELECT * FROM \"", Text(table[0]), "\" ORDER BY rowid ", direction, " LIMIT 1"), {});
      if (!row.ok()) return row.status();
    }
  }
  return absl::OkStatus();
}

}  // namespace

absl::StatusOr<OpenDatabase> OpenSqlite(const std::string& file) {
  std::error_code error;
  if (file.empty() || std::filesystem::is_directory(file, error)) {
    return absl::FailedPreconditionError(absl::StrCat("the archive must be a file: \"", file, "\" is none"));
  }
  // One file has one lock, by whatever name it is called.
  const std::filesystem::path path = std::filesystem::weakly_canonical(std::filesystem::absolute(file, error), error);
  if (error) return FileError(error.value(), file, "finding");
  std::filesystem::create_directories(path.parent_path(), error);
  if (error) return FileError(error.value(), path.parent_path().string(), "making the folder");

  absl::StatusOr<std::shared_ptr<const FileLock>> lock = FileLock::Take(path.string());
  if (!lock.ok()) return lock.status();
  if (absl::Status header = CheckHeader(path.string()); !header.ok()) return header;
  absl::StatusOr<std::unique_ptr<Database>> first = ConnectSqlite(path.string(), *lock);
  if (!first.ok()) return first.status();
  if (absl::Status content = CheckContent(path.string(), **first); !content.ok()) return content;
  return OpenDatabase([path = path.string(), lock = *std::move(lock)] { return ConnectSqlite(path, lock); });
}

}  // namespace coilwright::archive
