#include "archive/archive.h"

#include <utf8proc.h>

#include <utility>

#include "absl/strings/escaping.h"
#include "absl/strings/str_cat.h"
#include "archive/readers.h"
#include "archive/rows.h"
#include "archive/schema.h"
#include "archive/search.h"
#include "archive/writer.h"

namespace coilwright::archive {
namespace {

absl::StatusOr<std::vector<Entry>> Entries(Database& db, absl::string_view rest, const std::vector<Value>& values) {
  auto rows = db.Query(absl::StrCat("SELECT ", kEntryColumns, " FROM entry e ", rest), values);
  if (!rows.ok()) return rows.status();
  std::vector<Entry> entries;
  entries.reserve(rows->size());
  for (Row& row : *rows) {
    entries.push_back(EntryOf(std::move(row)));
  }
  return entries;
}

absl::StatusOr<bool> Exists(Database& db, const std::string& name) {
  const auto rows = db.Query("SELECT id FROM resource WHERE name = $1", {name});
  if (!rows.ok()) return rows.status();
  return !rows->empty();
}

absl::StatusOr<Entry> Read(Database& db, const std::string& name, std::optional<int> revision) {
  absl::StatusOr<std::vector<Entry>> entries =
      revision.has_value() ? Entries(db, "JOIN resource r ON r.id = e.resource WHERE r.name = $1 AND e.revision = $2",
                                     {name, int64_t{*revision}})
                           : Entries(db, "JOIN resource r ON r.sequence = e.sequence WHERE r.name = $1", {name});
  if (!entries.ok()) return entries.status();
  if (!entries->empty()) {
    if (absl::Status whole = CheckWhole((*entries)[0]); !whole.ok()) return whole;
    return std::move((*entries)[0]);
  }
  if (!revision.has_value()) return NotThere(name);
  const absl::StatusOr<bool> exists = Exists(db, name);
  if (!exists.ok()) return exists.status();
  if (!*exists) return NotThere(name);
  return absl::NotFoundError(absl::StrCat(name, " has no revision ", *revision));
}

// Sizes first, so that no more payload is read than fits.
absl::StatusOr<std::vector<Entry>> ReadLog(Database& db, int64_t after, int64_t up_to, int64_t most_bytes) {
  constexpr int64_t kMostEntries = 4096;
  const auto sizes = db.Query(
      "SELECT sequence, length(payload) FROM entry WHERE sequence > $1 AND sequence <= $2 ORDER BY sequence LIMIT $3",
      {after, up_to, kMostEntries});
  if (!sizes.ok()) return sizes.status();
  int64_t last = after, bytes = 0;
  for (const Row& row : *sizes) {
    bytes += Int(row[1]);
    if (last != after && bytes > most_bytes) break;
    last = Int(row[0]);
  }
  return Entries(db, "WHERE e.sequence > $1 AND e.sequence <= $2 ORDER BY e.sequence", {after, last});
}

bool IsUtf8(absl::string_view text) {
  const auto* bytes = reinterpret_cast<const utf8proc_uint8_t*>(text.data());
  for (size_t at = 0; at < text.size();) {
    utf8proc_int32_t character = 0;
    const utf8proc_ssize_t size =
        utf8proc_iterate(bytes + at, static_cast<utf8proc_ssize_t>(text.size() - at), &character);
    if (size <= 0) return false;
    at += static_cast<size_t>(size);
  }
  return true;
}

// What PostgreSQL cannot keep as text or in an index neither store takes, and it is told before it could spoil the
// commit that others share.
absl::Status CanBeKept(const NewEntry& made) {
  constexpr size_t kMostBytes = 1000;
  const std::pair<const char*, const std::string&> texts[] = {
      {"name", made.entry.name}, {"request_id", made.entry.request_id}, {"digest", made.entry.request_digest},
      {"needs", made.needs},     {"serial", made.facts.serial},         {"parent", made.facts.parent},
  };
  for (const auto& [field, text] : texts) {
    if (text.size() <= kMostBytes && text.find('\0') == std::string::npos && IsUtf8(text)) continue;
    return absl::InvalidArgumentError(absl::StrCat(field, ": \"", absl::Utf8SafeCEscape(text.substr(0, 80)),
                                                   "\" cannot be kept; accepted: at most ", kMostBytes,
                                                   " bytes of UTF-8 without NUL"));
  }
  return absl::OkStatus();
}

}  // namespace

absl::StatusOr<std::unique_ptr<Archive>> Archive::Open(OpenDatabase open, const ArchiveOptions& options) {
  absl::StatusOr<std::unique_ptr<Database>> first = open();
  if (!first.ok()) return first.status();
  const absl::StatusOr<int> version = Migrate(**first);
  if (!version.ok()) return version.status();
  return std::unique_ptr<Archive>(new Archive(std::move(open), *std::move(first), options));
}

Archive::Archive(OpenDatabase open, std::unique_ptr<Database> first, const ArchiveOptions& options)
    : options_(options),
      store_(first->version()),
      readers_(std::make_unique<Readers>(open, options)),
      writer_(std::make_unique<Writer>(std::move(open), std::move(first), options)) {}

Archive::~Archive() = default;

absl::StatusOr<Entry> Archive::Write(NewEntry entry) {
  if (absl::Status kept = CanBeKept(entry); !kept.ok()) return kept;
  return writer_->Write(std::move(entry));
}

absl::StatusOr<Imported> Archive::Import(std::vector<NewEntry> entries) {
  for (const NewEntry& entry : entries) {
    if (absl::Status kept = CanBeKept(entry); !kept.ok()) return kept;
  }
  return writer_->Import(std::move(entries));
}

absl::StatusOr<std::optional<Entry>> Archive::MadeBy(const std::string& request_id) {
  return readers_->Read<std::optional<Entry>>([&](Database& db) -> absl::StatusOr<std::optional<Entry>> {
    absl::StatusOr<std::vector<Entry>> entries = Entries(db, "WHERE e.request_id = $1", {request_id});
    if (!entries.ok()) return entries.status();
    if (entries->empty()) return std::nullopt;
    if (absl::Status whole = CheckWhole((*entries)[0]); !whole.ok()) return whole;
    return std::optional<Entry>(std::move((*entries)[0]));
  });
}

absl::StatusOr<Entry> Archive::Get(const std::string& name, std::optional<int> revision) {
  return readers_->Read<Entry>([&](Database& db) { return Read(db, name, revision); });
}

absl::StatusOr<std::vector<Entry>> Archive::History(const std::string& name, std::optional<int> before, int most) {
  return readers_->Read<std::vector<Entry>>([&](Database& db) -> absl::StatusOr<std::vector<Entry>> {
    const absl::StatusOr<bool> exists = Exists(db, name);
    if (!exists.ok()) return exists.status();
    if (!*exists) return NotThere(name);
    constexpr int64_t kAll = int64_t{1} << 40;
    return Entries(
        db,
        "JOIN resource r ON r.id = e.resource WHERE r.name = $1 AND e.revision < $2 ORDER BY e.revision DESC LIMIT $3",
        {name, before.has_value() ? int64_t{*before} : kAll, int64_t{most}});
  });
}

absl::StatusOr<Found> Archive::Find(const Query& query) {
  return readers_->Read<Found>([&](Database& db) { return Search(db, query); });
}

absl::StatusOr<std::vector<Facts>> Archive::Candidates(const Near& near) {
  return readers_->Read<std::vector<Facts>>([&](Database& db) { return SearchNear(db, near); });
}

absl::StatusOr<std::vector<Entry>> Archive::Log(int64_t after, int64_t up_to, int64_t most_bytes) {
  return readers_->Read<std::vector<Entry>>([&](Database& db) { return ReadLog(db, after, up_to, most_bytes); });
}

absl::StatusOr<int64_t> Archive::LastSequence() {
  return readers_->Read<int64_t>([&](Database& db) -> absl::StatusOr<int64_t> {
    const auto rows = db.Query("SELECT max(sequence) FROM entry", {});
    if (!rows.ok()) return rows.status();
    return Int((*rows)[0][0]);
  });
}

absl::StatusOr<Size> Archive::Count() {
  return readers_->Read<Size>([&](Database& db) -> absl::StatusOr<Size> {
    const auto rows = db.Query("SELECT (SELECT max(sequence) FROM entry), kind, resources FROM size", {});
    if (!rows.ok()) return rows.status();
    Size size;
    for (const Row& row : *rows) {
      size.entries = Int(row[0]);
      const Kind kind = static_cast<Kind>(Int(row[1]));
      (kind == Kind::kWinding ? size.windings : kind == Kind::kJob ? size.jobs : size.readings) = Int(row[2]);
    }
    return size;
  });
}

absl::StatusOr<int64_t> Archive::Bytes() {
  return readers_->Read<int64_t>([&](Database& db) -> absl::StatusOr<int64_t> {
    const auto rows = db.Query(db.dialect() == Dialect::kSqlite
                                   ? "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
                                   : "SELECT pg_database_size(current_database())",
                               {});
    if (!rows.ok()) return rows.status();
    return Int(rows->front()[0]);
  });
}

Activity Archive::Done() const {
  Activity done = writer_->done();
  done.damaged_met = DamagedMet();
  return done;
}

std::string Archive::store() const { return store_; }
int Archive::schema_version() const { return SchemaVersion(); }
int Archive::writes_waiting() const { return writer_->waiting(); }
int Archive::most_writes_waiting() const { return options_.most_writes_waiting; }

}  // namespace coilwright::archive
