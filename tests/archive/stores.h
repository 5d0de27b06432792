#pragma once

#include <stdlib.h>

#include <filesystem>
#include <functional>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "archive/database.h"
#include "archive/server/postgresql_server.h"

namespace coilwright::archive {

// A folder on the disk of the build, gone with the object.
class TemporaryFolder {
 public:
  TemporaryFolder() : path_(COILWRIGHT_BINARY_DIR "/archive-XXXXXX") {
    if (mkdtemp(path_.data()) == nullptr) throw std::runtime_error("no temporary folder: " + path_);
  }
  ~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

// An empty store, gone with the object; connections must be closed before.
class TestStore {
 public:
  virtual ~TestStore() = default;
  virtual absl::StatusOr<OpenDatabase> Open() = 0;
};

class SqliteStore : public TestStore {
 public:
  absl::StatusOr<OpenDatabase> Open() override { return OpenSqlite(folder_.path() + "/archive.db"); }

 private:
  TemporaryFolder folder_;
};

class PostgresqlStore : public TestStore {
 public:
  absl::StatusOr<OpenDatabase> Open() override { return OpenPostgresql(url_); }

 private:
  const std::string url_ = NewPostgresqlDatabase();
};

struct StoreKind {
  std::string name;
  std::function<std::unique_ptr<TestStore>()> make;
};

// Every test of the archive runs on each.
inline std::vector<StoreKind> Stores() {
  return {
      {"SQLite", [] { return std::make_unique<SqliteStore>(); }},
      {"PostgreSQL", [] { return std::make_unique<PostgresqlStore>(); }},
  };
}

}  // namespace coilwright::archive
