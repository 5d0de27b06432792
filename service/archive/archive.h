#pragma once

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

namespace coilwright::archive {

struct ArchiveOptions {
  int most_writes_waiting = 1024;  // more are told RESOURCE_EXHAUSTED
  int most_in_one_commit = 256;
  int readers = 4;  // connections for reading, opened as needed
};

struct Size {
  int64_t windings = 0, jobs = 0, readings = 0, entries = 0;
};

struct Imported {
  int64_t added = 0, passed_over = 0;
};

// Windings, jobs and readings that are never lost, in either store. An append-only log of entries is all there is; what is
// found by is derived from it in the same transaction. Calls block until they are answered, a write until it is on the disk:
// they belong on threads of their own. Safe from any thread.
//
// Writes that wait are committed together by one thread (group commit): each for itself is right or refused. Errors of all
// calls as Database; a lost connection is opened again, and a write whose commit nobody answered for is looked for before
// it is tried again, so that it is never applied twice. It answers UNAVAILABLE when the store stays away for
// `kPatience` seconds.
class Archive {
 public:
  // Brings the schema to this version, forward only: FAILED_PRECONDITION for a store that a later version has written.
  static absl::StatusOr<std::unique_ptr<Archive>> Open(OpenDatabase open, const ArchiveOptions& options = {});
  // Finishes the writes that wait.
  ~Archive();

  // Appends one entry; see NewEntry. Returns it as kept. A request id that was applied before: the entry it made then, or
  // ALREADY_EXISTS (field "request_id") where the digest differs. ABORTED where the revision expected is not the current
  // one, NOT_FOUND where there is none, ALREADY_EXISTS for a name that is taken.
  absl::StatusOr<Entry> Write(NewEntry entry);
  // All or none, as they were in another archive. ALREADY_EXISTS where an entry of that name and revision is different.
  absl::StatusOr<Imported> Import(std::vector<NewEntry> entries);

  // The entry that a request id made, if any.
  absl::StatusOr<std::optional<Entry>> MadeBy(const std::string& request_id);
  // The current revision, or the one given. NOT_FOUND.
  absl::StatusOr<Entry> Get(const std::string& name, std::optional<int> revision = std::nullopt);
  // All revisions from the one before `before` down, newest first.
  absl::StatusOr<std::vector<Entry>> History(const std::string& name, std::optional<int> before, int most);
  // Current revisions that fit, newest resource first.
  absl::StatusOr<Found> Find(const Query& query);
  // What is found by, without payloads, of current windings that are near in slots and core; see Near.
  absl::StatusOr<std::vector<Facts>> Candidates(const Near& near);
  // Entries with after < sequence <= up_to in order, as many as fit `most_bytes` of payload, at least one.
  absl::StatusOr<std::vector<Entry>> Log(int64_t after, int64_t up_to, int64_t most_bytes);
  absl::StatusOr<int64_t> LastSequence();

  absl::StatusOr<Size> Count();
  std::string store() const;
  int schema_version() const;
  int writes_waiting() const;
  int most_writes_waiting() const;

 private:
  class Writer;
  class Readers;
  explicit Archive(OpenDatabase open, const ArchiveOptions& options);
};

}  // namespace coilwright::archive
