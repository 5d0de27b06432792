#include "archive/sqlite_database.h"

#include <sqlite3.h>
#include <sys/stat.h>

#include <utility>
#include <vector>

#include "absl/container/flat_hash_map.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "archive/sqlite_errors.h"

namespace coilwright::archive {
namespace {

// A search has about as many texts as it has sets of filters; beyond this the cache starts anew.
constexpr size_t kMostStatements = 200;

// Every commit is on the disk before it is answered (synchronous=FULL). The log may grow to some 64 MiB before it is
// copied into the file: copying often costs writers more than the room is worth. What is deleted is never secret here:
// the log of entries keeps it anyway.
constexpr char kSettings[] =
    "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON; PRAGMA cell_size_check=ON; "
    "PRAGMA trusted_schema=OFF; PRAGMA secure_delete=OFF; PRAGMA temp_store=MEMORY; PRAGMA cache_size=-16384; "
    "PRAGMA wal_autocheckpoint=16384; PRAGMA journal_size_limit=100000000;";

struct Statement {
  sqlite3_stmt* handle = nullptr;
  std::vector<int> numbers;  // of the parameters, in the order SQLite counts them: 2 for "$2"
};

class SqliteDatabase : public Database {
 public:
  SqliteDatabase(sqlite3* db, std::string file, std::shared_ptr<const FileLock> lock)
      : db_(db), file_(std::move(file)), lock_(std::move(lock)) {}
  ~SqliteDatabase() override {
    Forget();
    sqlite3_close(db_);
  }

  Dialect dialect() const override { return Dialect::kSqlite; }
  std::string version() const override { return absl::StrCat("SQLite ", sqlite3_libversion()); }

  absl::StatusOr<std::vector<Row>> Query(absl::string_view sql, const std::vector<Value>& parameters) override {
    absl::StatusOr<const Statement*> statement = Prepared(sql);
    if (!statement.ok()) return statement.status();
    sqlite3_stmt* const handle = (*statement)->handle;
    absl::Status bound = Bind(**statement, parameters, sql);
    std::vector<Row> rows;
    if (bound.ok()) {
      int code = SQLITE_OK;
      while ((code = sqlite3_step(handle)) == SQLITE_ROW) rows.push_back(Read(handle));
      if (code != SQLITE_DONE) bound = SqliteError(db_, sqlite3_extended_errcode(db_), file_, sql);
    }
    sqlite3_reset(handle);
    sqlite3_clear_bindings(handle);
    if (!bound.ok()) return bound;
    return rows;
  }

  absl::Status Run(absl::string_view sql) override {
    if (sqlite3_exec(db_, std::string(sql).c_str(), nullptr, nullptr, nullptr) == SQLITE_OK) return absl::OkStatus();
    return SqliteError(db_, sqlite3_extended_errcode(db_), file_, sql);
  }

  // What is written to a file that has lost its name would be gone with the process.
  absl::Status BeginWrite() override {
    struct stat now = {};
    if (stat(file_.c_str(), &now) != 0 || now.st_ino != inode_ || now.st_dev != device_) {
      return absl::DataLossError(
          absl::StrCat("the file of the archive, ", file_,
                       ", was removed, moved or replaced while it was open, so nothing is written; end this program, "
                       "put the file back with what stood beside it, or restore a backup"));
    }
    return Query("BEGIN IMMEDIATE", {}).status();
  }
  // The file as it is now is the one that this connection writes to.
  absl::Status Identify() {
    struct stat about = {};
    if (stat(file_.c_str(), &about) != 0) return absl::UnavailableError(absl::StrCat(file_, " cannot be looked at"));
    inode_ = about.st_ino;
    device_ = about.st_dev;
    return absl::OkStatus();
  }
  absl::Status BeginRead() override { return Query("BEGIN", {}).status(); }
  absl::Status Commit() override { return Query("COMMIT", {}).status(); }
  // SQLite itself rolls back after some errors, a full disk among them.
  void Rollback() override {
    if (sqlite3_get_autocommit(db_) == 0) Query("ROLLBACK", {}).status().IgnoreError();
  }

 private:
  absl::StatusOr<const Statement*> Prepared(absl::string_view sql) {
    const auto found = statements_.find(sql);
    if (found != statements_.end()) return &found->second;
    if (statements_.size() >= kMostStatements) Forget();
    Statement statement;
    if (sqlite3_prepare_v3(db_, sql.data(), static_cast<int>(sql.size()), SQLITE_PREPARE_PERSISTENT, &statement.handle,
                           nullptr) != SQLITE_OK) {
      return SqliteError(db_, sqlite3_extended_errcode(db_), file_, sql);
    }
    for (int i = 1; i <= sqlite3_bind_parameter_count(statement.handle); ++i) {
      const char* const name = sqlite3_bind_parameter_name(statement.handle, i);
      int number = 0;
      if (name == nullptr || name[0] != '$' || !absl::SimpleAtoi(name + 1, &number) || number < 1) {
        sqlite3_finalize(statement.handle);
        return absl::InternalError(absl::StrCat("parameters must be $1, $2, ... in: ", sql));
      }
      statement.numbers.push_back(number);
    }
    return &statements_.emplace(std::string(sql), std::move(statement)).first->second;
  }

  // The parameters outlive the statement's run, so SQLite need not copy them.
  absl::Status Bind(const Statement& statement, const std::vector<Value>& parameters, absl::string_view sql) {
    for (size_t i = 0; i < statement.numbers.size(); ++i) {
      const size_t number = static_cast<size_t>(statement.numbers[i]);
      if (number > parameters.size()) {
        return absl::InternalError(absl::StrCat("parameter $", number, " is not given in: ", sql));
      }
      if (BindOne(statement.handle, static_cast<int>(i) + 1, parameters[number - 1]) != SQLITE_OK) {
        return SqliteError(db_, sqlite3_extended_errcode(db_), file_, sql);
      }
    }
    return absl::OkStatus();
  }

  static int BindOne(sqlite3_stmt* handle, int at, const Value& value) {
    if (const auto* number = std::get_if<int64_t>(&value)) return sqlite3_bind_int64(handle, at, *number);
    if (const auto* number = std::get_if<double>(&value)) return sqlite3_bind_double(handle, at, *number);
    if (const auto* text = std::get_if<std::string>(&value)) {
      return sqlite3_bind_text64(handle, at, text->data(), text->size(), SQLITE_STATIC, SQLITE_UTF8);
    }
    if (const auto* blob = std::get_if<Blob>(&value)) {
      return sqlite3_bind_blob64(handle, at, blob->bytes.data(), blob->bytes.size(), SQLITE_STATIC);
    }
    return sqlite3_bind_null(handle, at);
  }

  static Row Read(sqlite3_stmt* handle) {
    Row row(static_cast<size_t>(sqlite3_column_count(handle)));
    for (size_t i = 0; i < row.size(); ++i) {
      const int at = static_cast<int>(i);
      switch (sqlite3_column_type(handle, at)) {
        case SQLITE_INTEGER:
          row[i] = static_cast<int64_t>(sqlite3_column_int64(handle, at));
          break;
        case SQLITE_FLOAT:
          row[i] = sqlite3_column_double(handle, at);
          break;
        case SQLITE_TEXT:
          row[i] = Bytes(sqlite3_column_text(handle, at), sqlite3_column_bytes(handle, at));
          break;
        case SQLITE_BLOB:
          row[i] = Blob{Bytes(sqlite3_column_blob(handle, at), sqlite3_column_bytes(handle, at))};
          break;
        default:
          break;
      }
    }
    return row;
  }

  static std::string Bytes(const void* data, int size) {
    if (data == nullptr) return "";
    return std::string(static_cast<const char*>(data), static_cast<size_t>(size));
  }

  void Forget() {
    for (auto& [sql, statement] : statements_) sqlite3_finalize(statement.handle);
    statements_.clear();
  }

  sqlite3* const db_;
  const std::string file_;
  dev_t device_ = 0;
  ino_t inode_ = 0;
  const std::shared_ptr<const FileLock> lock_;
  absl::flat_hash_map<std::string, Statement> statements_;
};

}  // namespace

absl::StatusOr<std::unique_ptr<Database>> ConnectSqlite(const std::string& file, std::shared_ptr<const FileLock> lock) {
  sqlite3* db = nullptr;
  const int code =
      sqlite3_open_v2(file.c_str(), &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, nullptr);
  if (db == nullptr) return SqliteError(nullptr, code, file, "open");
  sqlite3_extended_result_codes(db, 1);
  sqlite3_busy_timeout(db, 5000);
  auto connection = std::make_unique<SqliteDatabase>(db, file, std::move(lock));
  if (code != SQLITE_OK) return SqliteError(db, sqlite3_extended_errcode(db), file, "open");
  if (absl::Status set = connection->Run(kSettings); !set.ok()) return set;
  if (absl::Status known = connection->Identify(); !known.ok()) return known;
  return std::unique_ptr<Database>(std::move(connection));
}

}  // namespace coilwright::archive
