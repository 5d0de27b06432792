#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"

namespace coilwright::archive {

// Bytes, as against text.
struct Blob {
  std::string bytes;
};

// A value of a row or of a parameter; monostate is NULL.
using Value = std::variant<std::monostate, int64_t, double, std::string, Blob>;
using Row = std::vector<Value>;

// What the two stores say differently; everything else is the same SQL.
enum class Dialect { kSqlite, kPostgresql };

// One connection to a store, used by one thread at a time. Statements are prepared once and kept.
//
// Errors, of every call: UNAVAILABLE where the store cannot be reached or the connection was lost (what was not
// committed is gone, and whether a commit that failed so took place is unknown); RESOURCE_EXHAUSTED where the disk is
// full; ABORTED where another writer came between, to be tried again; PERMISSION_DENIED where it is read-only;
// DATA_LOSS where it is corrupt, with what to do; ALREADY_EXISTS where a unique column has the value; INTERNAL for SQL
// that is wrong.
class Database {
 public:
  virtual ~Database() = default;
  virtual Dialect dialect() const = 0;
  // "SQLite 3.40.1".
  virtual std::string version() const = 0;

  // Runs one statement with parameters $1, $2, ... in both dialects.
  virtual absl::StatusOr<std::vector<Row>> Query(absl::string_view sql, const std::vector<Value>& parameters) = 0;
  // Runs one statement, in a transaction that writes, whose rows nobody asks for. It may travel to a server together
  // with those after it; whatever is asked later sees what it did, and its error may come from the next call or the
  // commit.
  virtual absl::Status Later(absl::string_view sql, const std::vector<Value>& parameters) {
    return Query(sql, parameters).status();
  }
  // Runs statements without parameters, separated by semicolons.
  virtual absl::Status Run(absl::string_view sql) = 0;

  // A transaction that writes; no other writer is in one at the same time, in this process or any other.
  virtual absl::Status BeginWrite() = 0;
  // A transaction that reads one moment.
  virtual absl::Status BeginRead() = 0;
  virtual absl::Status Commit() = 0;
  // Never fails: a connection that cannot roll back is lost.
  virtual void Rollback() = 0;
};

// Opens one more connection to the same store. Safe from any thread.
using OpenDatabase = std::function<absl::StatusOr<std::unique_ptr<Database>>()>;

// A store in one file; the file, "-wal" and "-shm" beside it belong together. Made on first use with its folder. Holds
// the file for this process by a lock as long as a copy of the function lives: FAILED_PRECONDITION naming the process
// where another one has it, or where the file is no store of ours. PERMISSION_DENIED for a file or folder that cannot
// be written.
absl::StatusOr<OpenDatabase> OpenSqlite(const std::string& file);

// A store on a server: "postgresql://user@host:port/database". Many processes may share it.
absl::StatusOr<OpenDatabase> OpenPostgresql(const std::string& url);

}  // namespace coilwright::archive
