#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "absl/container/flat_hash_map.h"
#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "archive/archive.h"
#include "archive/database.h"
#include "archive/entry.h"

namespace coilwright::archive {

// "jobs/a/readings/7" is "jobs/a" and 7; a number that is none is 0.
std::string JobOf(const std::string& readings);
int64_t NumberOf(const std::string& readings);

// Applies entries within one write transaction, each after its rules were looked at and before anything is written, so
// that a refused one leaves nothing to take back.
class Apply {
 public:
  // Reads where the log stands.
  static absl::StatusOr<Apply> Begin(Database& db);

  // What is to be applied, before the first of it: with a server in between, all that is looked up for it is asked for
  // at once.
  absl::Status Foresee(const std::vector<const NewEntry*>& all);
  // A status for a store that failed; `answer` for what the caller is told: the entry as it will be once this
  // transaction is committed, or why it is refused.
  absl::Status Write(const NewEntry& made, absl::StatusOr<Entry>& answer);
  // An entry of another archive as it is; `added` tells one from one that was there already.
  absl::Status Import(const NewEntry& made, absl::StatusOr<Entry>& answer, bool& added);
  // To be called before the commit.
  absl::Status Finish();

  // The last entry that was appended, if any.
  const std::optional<Entry>& last() const { return last_; }

  // Whether the log holds this very entry at its sequence: asked where nobody knows whether it was committed.
  static absl::StatusOr<bool> Holds(Database& db, const Entry& entry);

 private:
  struct Current {
    bool exists = false, deleted = false;
    int64_t id = 0, create_micros = 0;
    int revision = 0;
    std::string terms;
  };

  Apply(Database& db, int64_t next) : db_(&db), next_(next) {}
  static Current CurrentIn(const Row& row);
  absl::StatusOr<Current> CurrentOf(const std::string& name);
  absl::StatusOr<std::optional<Entry>> MadeBy(const std::string& request_id);
  absl::Status MayFollow(const NewEntry& made, Entry& entry, Current& current, absl::Status& refused);
  absl::StatusOr<int64_t> NextNumber(const std::string& job);
  // Writes over a damaged entry at its sequence.
  absl::Status PutRight(const Entry& entry, const Facts& facts, const Current& current);
  absl::Status Append(Entry& entry, const Facts& facts, const Current& current);
  absl::Status Index(int64_t id, const Entry& entry, const Facts& facts, const Current& current);
  void Remember(const Entry& entry, int64_t id);

  Database* db_;
  int64_t next_;
  std::optional<Entry> last_;
  int64_t grown_[4] = {};  // resources by kind
  // What was foreseen, as it is after what was applied.
  bool foreseen_ = false;
  absl::flat_hash_map<std::string, Current> current_;
  absl::flat_hash_map<std::string, std::optional<Entry>> made_by_;
  absl::flat_hash_map<std::string, int64_t> next_number_;
};

}  // namespace coilwright::archive
