#include "archive/schema.h"

#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "archive/rows.h"

namespace coilwright::archive {
namespace {

// One step of the schema: what both stores run, and what each adds. A step that was ever released is never changed.
struct Step {
  const char* both;
  const char* sqlite;
  const char* postgresql;
};

// `entry` is the log and the truth; everything below it is made from it. The id of a resource is the sequence of its
// first entry, so it needs no counter of its own. Terms are spelt in terms.h.
//
// SQLite's full-text index keeps neither positions nor sizes (detail=none, columnsize=0): terms are asked for, never
// phrases. `word` lists the words in it, so that the beginning of a word becomes a few whole ones, each read lazily.
//
// PostgreSQL's text index looks through what it has not sorted in yet at every question, so that list is kept short.
constexpr Step kSteps[] = {
    {R"(
CREATE TABLE entry (
  sequence $KEY,
  kind $INT NOT NULL,
  name TEXT NOT NULL,
  revision $INT NOT NULL,
  deleted $INT NOT NULL,
  create_micros $INT NOT NULL,
  recorded_micros $INT NOT NULL,
  request_id TEXT,
  request_digest TEXT,
  checksum $INT NOT NULL,
  payload $BYTES NOT NULL,
  UNIQUE (name, revision)
)$STRICT;
CREATE UNIQUE INDEX entry_request ON entry (request_id) WHERE request_id IS NOT NULL;
CREATE TABLE resource (
  id $KEY,
  sequence $INT NOT NULL REFERENCES entry (sequence),
  kind $INT NOT NULL,
  name TEXT NOT NULL UNIQUE,
  revision $INT NOT NULL,
  deleted $INT NOT NULL,
  create_micros $INT NOT NULL,
  parent TEXT,
  serial TEXT,
  machine_kind $INT NOT NULL,
  verdict $INT NOT NULL,
  stage $INT NOT NULL,
  slots $INT,
  poles $INT,
  rated_volts $REAL,
  rated_kw $REAL,
  speed_rpm $REAL,
  frequency_hz $REAL,
  bore_mm $REAL,
  outer_mm $REAL,
  stack_length_mm $REAL,
  time_micros $INT NOT NULL,
  terms $TERMS
)$STRICT;
CREATE INDEX resource_kind ON resource (kind, id, deleted);
CREATE INDEX resource_parent ON resource (parent, id) WHERE parent IS NOT NULL;
CREATE INDEX resource_near ON resource (slots, bore_mm, machine_kind, outer_mm, stack_length_mm, poles)
  WHERE kind = 1 AND deleted = 0;
CREATE TABLE size (kind $KEY, resources $INT NOT NULL)$STRICT;
INSERT INTO size (kind, resources) VALUES (1, 0), (2, 0), (3, 0);
)",
     R"(
CREATE VIRTUAL TABLE found_by USING fts5(terms, content='resource', content_rowid='id', detail=none, columnsize=0,
  tokenize="ascii tokenchars '.=/-_'");
CREATE TABLE vocabulary (term TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
)",
     R"(
CREATE INDEX resource_terms ON resource USING GIN (terms) WITH (gin_pending_list_limit = 256);
)"},
};

constexpr int kVersion = static_cast<int>(sizeof(kSteps) / sizeof(kSteps[0]));

std::string InWordsOf(Dialect dialect, absl::string_view sql) {
  if (dialect == Dialect::kSqlite) {
    return absl::StrReplaceAll(sql, {{"$KEY", "INTEGER PRIMARY KEY"},
                                     {"$INT", "INTEGER"},
                                     {"$REAL", "REAL"},
                                     {"$BYTES", "BLOB"},
                                     {"$TERMS", "TEXT"},
                                     {"$STRICT", " STRICT"}});
  }
  return absl::StrReplaceAll(sql, {{"$KEY", "BIGINT PRIMARY KEY"},
                                   {"$INT", "BIGINT"},
                                   {"$REAL", "DOUBLE PRECISION"},
                                   {"$BYTES", "BYTEA"},
                                   {"$TERMS", "TSVECTOR"},
                                   {"$STRICT", ""}});
}

// 0 for a store that has none yet.
absl::StatusOr<int> VersionOf(Database& db) {
  const auto rows = db.Query("SELECT version FROM schema_version", {});
  if (!rows.ok()) return rows.status();
  return rows->empty() ? 0 : static_cast<int>(Int((*rows)[0][0]));
}

absl::Status Later(int version) {
  return absl::FailedPreconditionError(absl::StrCat("the archive was written by a later Coilwright (schema ", version,
                                                    ", this one knows ", kVersion,
                                                    "); start that version, or export with it and import here"));
}

// In a write transaction; another process may have done the step meanwhile.
absl::Status StepUp(Database& db) {
  if (absl::Status made =
          db.Run(InWordsOf(db.dialect(), "CREATE TABLE IF NOT EXISTS schema_version (version $INT NOT NULL)"));
      !made.ok()) {
    return made;
  }
  const absl::StatusOr<int> version = VersionOf(db);
  if (!version.ok()) return version.status();
  if (*version > kVersion) return Later(*version);
  if (*version == kVersion) return absl::OkStatus();
  const Step& step = kSteps[*version];
  for (const char* const sql : {step.both, db.dialect() == Dialect::kSqlite ? step.sqlite : step.postgresql}) {
    if (absl::Status run = db.Run(InWordsOf(db.dialect(), sql)); !run.ok()) return run;
  }
  return db.Run(
      absl::StrCat("DELETE FROM schema_version; INSERT INTO schema_version (version) VALUES (", *version + 1, ")"));
}

}  // namespace

int SchemaVersion() { return kVersion; }

absl::StatusOr<int> Migrate(Database& db) {
  while (true) {
    // A store that is up to date is only read. The error of one without the table is told from others by the step
    // itself.
    absl::StatusOr<int> version = VersionOf(db);
    if (version.ok() && *version == kVersion) return kVersion;
    if (version.ok() && *version > kVersion) return Later(*version);
    if (!version.ok() && version.status().code() != absl::StatusCode::kInternal) return version.status();
    if (absl::Status begun = db.BeginWrite(); !begun.ok()) return begun;
    absl::Status done = StepUp(db);
    if (done.ok()) done = db.Commit();
    if (!done.ok()) {
      db.Rollback();
      return done;
    }
  }
}

}  // namespace coilwright::archive
