#pragma once

#include <sqlite3.h>

#include <stdexcept>
#include <string>

namespace coilwright::archive {

// The file by SQLite's own interface, beside ours. Throws what goes wrong.
class RawSqlite {
 public:
  explicit RawSqlite(const std::string& file) {
    if (sqlite3_open_v2(file.c_str(), &db_, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr) != SQLITE_OK) Fail();
  }
  ~RawSqlite() { sqlite3_close(db_); }
  RawSqlite(const RawSqlite&) = delete;
  RawSqlite& operator=(const RawSqlite&) = delete;

  // All values of all rows, one a line.
  std::string Run(const std::string& sql) {
    std::string lines;
    const auto add = [](void* out, int count, char** values, char**) {
      for (int i = 0; i < count; ++i)
        static_cast<std::string*>(out)->append(values[i] ? values[i] : "NULL").append("\n");
      return 0;
    };
    if (sqlite3_exec(db_, sql.c_str(), add, &lines, nullptr) != SQLITE_OK) Fail();
    return lines;
  }
  // "ok\n" where structure, references and text index are in order; what is wrong otherwise.
  std::string Checked() {
    Run("INSERT INTO found_by (found_by, rank) VALUES ('integrity-check', 1)");
    return Run("PRAGMA foreign_key_check") + Run("PRAGMA integrity_check");
  }

 private:
  [[noreturn]] void Fail() { throw std::runtime_error(sqlite3_errmsg(db_)); }
  sqlite3* db_ = nullptr;
};

}  // namespace coilwright::archive
