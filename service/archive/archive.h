#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "archive/database.h"
#include "archive/entry.h"
#include "archive/find.h"
#include "archive/timings.h"

namespace coilwright::archive {

struct ArchiveOptions {
  int most_writes_waiting = 1024;  // more are told RESOURCE_EXHAUSTED
  int most_in_one_commit = 256;
  int readers = 4;                            // connections for reading, opened as needed
  std::chrono::milliseconds patience{10000};  // with a store that stays away or is busy
};

struct Size {
  int64_t windings = 0, jobs = 0, readings = 0, entries = 0;
};

// What an archive has done since it was opened.
struct Activity {
  int writes_waiting = 0;
  int greatest_waiting = 0;
  int64_t writes = 0;   // kept or refused each for itself, an import counts as one
  int64_t commits = 0;  // that stand
  int64_t failed_commits = 0;
  Timings::Counted commit_times;  // of those that stand, from the beginning of the transaction
  int64_t damaged_met = 0;        // rows that were read and are not what was written; the same one again and again
};

struct Imported {
  int64_t added = 0, passed_over = 0;
};

class Readers;
class Writer;

// Windings, jobs and readings that are never lost, in either store. An append-only log of entries is all there is; what
// is found by is derived from it in the same transaction. Calls block until they are answered, a write until it is on
// the disk: they belong on threads of their own. Safe from any thread.
//
// Writes that wait are committed together by one thread (group commit): each for itself is right or refused. A lost
// connection is opened again, and a write whose commit nobody answered for is looked for before it is tried again, so
// that it is never applied twice.
//
// Errors, of every call: UNAVAILABLE where the store stays away for longer than `patience`, or has no room to write
// (reads go on, and writes again when there is room); RESOURCE_EXHAUSTED where too many writes wait; PERMISSION_DENIED,
// DATA_LOSS and INTERNAL as Database. INVALID_ARGUMENT for a name, request id, serial or parent of more than 1000
// bytes, with a NUL, or that is no UTF-8.
class Archive {
 public:
  // Brings the schema to this version, forward only: FAILED_PRECONDITION for a store that a later version has written.
  static absl::StatusOr<std::unique_ptr<Archive>> Open(OpenDatabase open, const ArchiveOptions& options = {});
  // Finishes the writes that wait.
  ~Archive();

  // Appends one entry; see NewEntry. Returns it as kept. A request id that was applied before: the entry it made then,
  // or ALREADY_EXISTS (the message begins "request_id: ") where the digest differs. ABORTED where the revision expected
  // is not the current one, NOT_FOUND where there is none, ALREADY_EXISTS for a name that is taken. NOT_FOUND where
  // what it needs is not there, FAILED_PRECONDITION where that is deleted.
  absl::StatusOr<Entry> Write(NewEntry entry);
  // All or none, as they were in another archive; `follows` and `number` are not read. Entries that are there are
  // passed over where they are the same, put right where they are damaged, ALREADY_EXISTS where they differ, or where a
  // request id belongs to another entry. FAILED_PRECONDITION where an entry does not follow the current revision, or is
  // not the next readings of its job.
  absl::StatusOr<Imported> Import(std::vector<NewEntry> entries);

  // The entry that a request id made, if any.
  absl::StatusOr<std::optional<Entry>> MadeBy(const std::string& request_id);
  // The current revision, or the one given. NOT_FOUND, DATA_LOSS where it is damaged. The calls below that give several
  // mark damaged ones.
  absl::StatusOr<Entry> Get(const std::string& name, std::optional<int> revision = std::nullopt);
  // All revisions from the one before `before` down, newest first. NOT_FOUND.
  absl::StatusOr<std::vector<Entry>> History(const std::string& name, std::optional<int> before, int most);
  // Current revisions that fit, newest resource first.
  absl::StatusOr<Found> Find(const Query& query);
  // What is found by, without payloads and text, of current windings that are near in slots and core; see Near.
  absl::StatusOr<std::vector<Facts>> Candidates(const Near& near);
  // Entries with after < sequence <= up_to in order, as many as fit `most_bytes` of payload, at least one.
  absl::StatusOr<std::vector<Entry>> Log(int64_t after, int64_t up_to, int64_t most_bytes);
  absl::StatusOr<int64_t> LastSequence();

  // Resources that are not deleted, by kind; entries of all. As quick in a large archive as in a small one.
  absl::StatusOr<Size> Count();
  // What the store takes: of a file without what waits beside it in "-wal", of a server the whole database.
  absl::StatusOr<int64_t> Bytes();
  Activity Done() const;
  // "SQLite 3.40.1".
  std::string store() const;
  int schema_version() const;
  int writes_waiting() const;
  int most_writes_waiting() const;

 private:
  Archive(OpenDatabase open, std::unique_ptr<Database> first, const ArchiveOptions& options);

  const ArchiveOptions options_;
  const std::string store_;
  std::unique_ptr<Readers> readers_;
  std::unique_ptr<Writer> writer_;
};

}  // namespace coilwright::archive
