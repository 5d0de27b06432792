#include "archive/apply.h"

#include <algorithm>
#include <chrono>
#include <optional>
#include <utility>

#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "archive/resource_row.h"
#include "archive/rows.h"
#include "archive/terms.h"

namespace coilwright::archive {
namespace {

constexpr char kInsertEntry[] =
    "INSERT INTO entry (sequence, kind, name, revision, deleted, create_micros, recorded_micros, request_id, "
    "request_digest, checksum, payload, resource) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)";

// The one place where an entry is written over: with what it was, where it is damaged.
constexpr char kReplaceEntry[] =
    "UPDATE entry SET kind = $2, name = $3, revision = $4, deleted = $5, create_micros = $6, recorded_micros = $7, "
    "request_id = $8, request_digest = $9, checksum = $10, payload = $11 WHERE sequence = $1";

int64_t NowMicros() {
  return std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::system_clock::now().time_since_epoch())
      .count();
}

absl::StatusOr<std::optional<Entry>> EntryWhere(Database& db, absl::string_view condition,
                                                const std::vector<Value>& values) {
  auto rows = db.Query(absl::StrCat("SELECT ", kEntryColumns, " FROM entry e WHERE ", condition), values);
  if (!rows.ok()) return rows.status();
  if (rows->empty()) return std::nullopt;
  return std::optional<Entry>(EntryOf(std::move((*rows)[0])));
}

// All but the sequence.
bool Same(const Entry& a, const Entry& b) {
  return a.kind == b.kind && a.name == b.name && a.revision == b.revision && a.deleted == b.deleted &&
         a.create_micros == b.create_micros && a.recorded_micros == b.recorded_micros && a.request_id == b.request_id &&
         a.request_digest == b.request_digest && a.payload == b.payload;
}

}  // namespace

std::string JobOf(const std::string& readings) {
  const size_t number = readings.rfind('/');
  const size_t collection = number == std::string::npos || number == 0 ? number : readings.rfind('/', number - 1);
  return collection == std::string::npos ? "" : readings.substr(0, collection);
}
int64_t NumberOf(const std::string& readings) {
  int64_t number = 0;
  return absl::SimpleAtoi(readings.substr(readings.rfind('/') + 1), &number) ? number : 0;
}

absl::StatusOr<Apply> Apply::Begin(Database& db) {
  const auto last = db.Query("SELECT max(sequence) FROM entry", {});
  if (!last.ok()) return last.status();
  return Apply(db, Int((*last)[0][0]) + 1);
}

Apply::Current Apply::CurrentIn(const Row& row) {
  Current current;
  current.exists = true;
  current.id = Int(row[0]);
  current.create_micros = Int(row[1]);
  current.revision = static_cast<int>(Int(row[2]));
  current.deleted = Int(row[3]) != 0;
  current.terms = Text(row[4]);
  return current;
}

absl::StatusOr<Apply::Current> Apply::CurrentOf(const std::string& name) {
  if (const auto foreseen = current_.find(name); foreseen != current_.end()) return foreseen->second;
  // The old terms are needed to take a row out of SQLite's index, and only there.
  const auto rows =
      db_->Query(absl::StrCat("SELECT id, create_micros, revision, deleted, ",
                              db_->dialect() == Dialect::kSqlite ? "terms" : "NULL", " FROM resource WHERE name = $1"),
                 {name});
  if (!rows.ok()) return rows.status();
  return rows->empty() ? Current() : CurrentIn((*rows)[0]);
}

absl::StatusOr<std::optional<Entry>> Apply::MadeBy(const std::string& request_id) {
  if (request_id.empty()) return std::nullopt;
  if (const auto foreseen = made_by_.find(request_id); foreseen != made_by_.end()) return foreseen->second;
  return EntryWhere(*db_, "e.request_id = $1", {request_id});
}

// The sum keeps SQLite from walking all readings instead of those of the job.
absl::StatusOr<int64_t> Apply::NextNumber(const std::string& job) {
  if (const auto foreseen = next_number_.find(job); foreseen != next_number_.end()) return foreseen->second;
  const auto rows =
      db_->Query("SELECT name FROM resource WHERE parent = $1 AND kind + 0 = 3 ORDER BY id DESC LIMIT 1", {job});
  if (!rows.ok()) return rows.status();
  return rows->empty() ? 1 : NumberOf(Text((*rows)[0][0])) + 1;
}

absl::Status Apply::MayFollow(const NewEntry& made, Entry& entry, Current& current, absl::Status& refused) {
  if (!made.needs.empty()) {
    const absl::StatusOr<Current> needed = CurrentOf(made.needs);
    if (!needed.ok()) return needed.status();
    if (!needed->exists) {
      refused = NotThere(made.needs);
      return absl::OkStatus();
    }
    if (needed->deleted) {
      refused = absl::FailedPreconditionError(absl::StrCat(made.needs, " is marked as deleted: undelete it first"));
      return absl::OkStatus();
    }
  }
  if (made.number) {
    const absl::StatusOr<int64_t> number = NextNumber(JobOf(entry.name));
    if (!number.ok()) return number.status();
    absl::StrAppend(&entry.name, *number);
    return absl::OkStatus();
  }
  absl::StatusOr<Current> found = CurrentOf(entry.name);
  if (!found.ok()) return found.status();
  current = *std::move(found);
  if (made.follows == 0 && current.exists) {
    refused = absl::AlreadyExistsError(absl::StrCat(
        entry.name, current.deleted ? " is in the archive, marked as deleted" : " is in the archive already"));
  } else if (made.follows != 0 && !current.exists) {
    refused = NotThere(entry.name);
  } else if (made.follows != current.revision) {
    refused =
        absl::AbortedError(absl::StrCat(entry.name, " is at revision ", current.revision, ", the change was made to ",
                                        made.follows, "; read it again and repeat the change"));
  }
  return absl::OkStatus();
}

absl::Status Apply::Write(const NewEntry& made, absl::StatusOr<Entry>& answer) {
  absl::StatusOr<std::optional<Entry>> before = MadeBy(made.entry.request_id);
  if (!before.ok()) return before.status();
  if (before->has_value()) {
    if ((*before)->damaged) {
      answer = CheckWhole(**before);
    } else if ((*before)->request_digest == made.entry.request_digest) {
      answer = **std::move(before);
    } else {
      answer = absl::AlreadyExistsError(
          absl::StrCat("request_id: \"", made.entry.request_id, "\" was used by another call, which made revision ",
                       (*before)->revision, " of ", (*before)->name, "; accepted: a new one for every call"));
    }
    return absl::OkStatus();
  }
  Entry entry = made.entry;
  Current current;
  absl::Status refused;
  if (absl::Status looked = MayFollow(made, entry, current, refused); !looked.ok()) return looked;
  if (!refused.ok()) {
    answer = std::move(refused);
    return absl::OkStatus();
  }
  entry.revision = made.follows + 1;
  if (entry.recorded_micros == 0) entry.recorded_micros = NowMicros();
  if (current.exists) {
    entry.create_micros = current.create_micros;
  } else if (entry.create_micros == 0) {
    entry.create_micros = entry.recorded_micros;
  }
  absl::Status appended = Append(entry, made.facts, current);
  if (appended.ok()) answer = std::move(entry);
  return appended;
}

absl::Status Apply::Import(const NewEntry& made, absl::StatusOr<Entry>& answer, bool& added) {
  added = false;
  Entry entry = made.entry;
  const std::string told = absl::StrCat("revision ", entry.revision, " of ", entry.name);
  absl::StatusOr<Current> current = CurrentOf(entry.name);
  if (!current.ok()) return current.status();
  if (entry.revision <= current->revision) {
    const auto there = EntryWhere(*db_, "e.resource = $1 AND e.revision = $2", {current->id, int64_t{entry.revision}});
    if (!there.ok()) return there.status();
    if (there->has_value() && (*there)->damaged) {
      entry.sequence = (*there)->sequence;
      if (absl::Status right = PutRight(entry, made.facts, *current); !right.ok()) return right;
      answer = std::move(entry);
      added = true;
    } else if (there->has_value() && Same(**there, entry)) {
      answer = **there;
    } else {
      answer = absl::AlreadyExistsError(absl::StrCat(told, " is in the archive and differs from the one to import"));
    }
    return absl::OkStatus();
  }
  const auto request = MadeBy(entry.request_id);
  if (!request.ok()) return request.status();
  absl::StatusOr<Current> needed = Current();
  if (!made.needs.empty()) needed = CurrentOf(made.needs);
  if (!needed.ok()) return needed.status();
  absl::StatusOr<int64_t> number = 0;
  if (entry.kind == Kind::kReadings) number = NextNumber(JobOf(entry.name));
  if (!number.ok()) return number.status();

  if (request->has_value()) {
    answer = absl::AlreadyExistsError(
        absl::StrCat(told, " has the request id of ", (*request)->name, ", which is in the archive"));
  } else if (entry.revision != current->revision + 1) {
    answer = absl::FailedPreconditionError(absl::StrCat(told, " cannot follow revision ", current->revision,
                                                        "; entries are imported in the order of their export"));
  } else if (!made.needs.empty() && !needed->exists) {
    answer = absl::FailedPreconditionError(absl::StrCat(told, " needs ", made.needs, ", which is not in the archive"));
  } else if (entry.kind == Kind::kReadings && *number != NumberOf(entry.name)) {
    answer = absl::FailedPreconditionError(
        absl::StrCat(told, " cannot be imported: the next of its job is number ", *number));
  } else {
    if (absl::Status appended = Append(entry, made.facts, *current); !appended.ok()) return appended;
    answer = std::move(entry);
    added = true;
  }
  return absl::OkStatus();
}

absl::Status Apply::Append(Entry& entry, const Facts& given, const Current& current) {
  entry.sequence = next_;
  const int64_t id = current.exists ? current.id : entry.sequence;
  std::vector<Value> values = ValuesOf(entry);
  values.emplace_back(id);
  if (absl::Status kept = db_->Later(kInsertEntry, values); !kept.ok()) return kept;
  Facts facts = given;
  if (entry.kind == Kind::kReadings) facts.parent = JobOf(entry.name);
  if (absl::Status indexed = Index(id, entry, facts, current); !indexed.ok()) return indexed;
  ++next_;
  last_ = entry;
  const int before = current.exists && !current.deleted ? 1 : 0;
  grown_[static_cast<size_t>(entry.kind)] += (entry.deleted ? 0 : 1) - before;
  if (foreseen_) Remember(entry, id);
  return absl::OkStatus();
}

absl::Status Apply::PutRight(const Entry& entry, const Facts& given, const Current& current) {
  if (absl::Status kept = db_->Later(kReplaceEntry, ValuesOf(entry)); !kept.ok()) return kept;
  if (entry.revision != current.revision) return absl::OkStatus();
  Facts facts = given;
  if (entry.kind == Kind::kReadings) facts.parent = JobOf(entry.name);
  return Index(current.id, entry, facts, current);
}

void Apply::Remember(const Entry& entry, int64_t id) {
  current_[entry.name] = {true, entry.deleted, id, entry.create_micros, entry.revision, ""};
  if (!entry.request_id.empty()) made_by_[entry.request_id] = entry;
  if (entry.kind == Kind::kReadings) next_number_[JobOf(entry.name)] = NumberOf(entry.name) + 1;
}

absl::Status Apply::Index(int64_t id, const Entry& entry, const Facts& facts, const Current& current) {
  const Dialect dialect = db_->dialect();
  const std::string terms = TermsOf(entry.kind, facts);
  absl::Status kept = db_->Later(current.exists ? UpdateResource(dialect) : InsertResource(dialect),
                                 ResourceValues(id, entry, facts, terms));
  if (!kept.ok()) return kept;
  if (dialect != Dialect::kSqlite || terms == current.terms) return absl::OkStatus();
  if (current.exists) {
    const auto out =
        db_->Query("INSERT INTO found_by (found_by, rowid, terms) VALUES ('delete', $1, $2)", {id, current.terms});
    if (!out.ok()) return out.status();
  }
  return db_->Query("INSERT INTO found_by (rowid, terms) VALUES ($1, $2)", {id, terms}).status();
}

absl::Status Apply::Finish() {
  for (int64_t kind = 1; kind < 4; ++kind) {
    const int64_t grown = grown_[kind];
    if (grown == 0) continue;
    absl::Status kept = db_->Later("UPDATE size SET resources = resources + $2 WHERE kind = $1", {kind, grown});
    if (!kept.ok()) return kept;
  }
  return absl::OkStatus();
}

absl::StatusOr<bool> Apply::Holds(Database& db, const Entry& entry) {
  const auto found = EntryWhere(db, "e.sequence = $1", {entry.sequence});
  if (!found.ok()) return found.status();
  return found->has_value() && Same(**found, entry);
}

}  // namespace coilwright::archive
