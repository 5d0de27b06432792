#include "archive/rows.h"

#include <atomic>
#include <utility>
#include <vector>

#include "absl/strings/escaping.h"
#include "absl/strings/str_cat.h"

namespace coilwright::archive {
namespace {

std::atomic<int64_t> damaged_met{0};

// FNV-1a of 64 bits: quick, and sees any single changed byte. It guards against a failing disk, not against a forger.
class Checksum {
 public:
  void Add(absl::string_view bytes) {
    Add(static_cast<int64_t>(bytes.size()));
    for (const char byte : bytes) AddByte(static_cast<unsigned char>(byte));
  }
  void Add(int64_t number) {
    for (int shift = 0; shift < 64; shift += 8) AddByte(static_cast<unsigned char>(number >> shift));
  }
  int64_t value() const { return static_cast<int64_t>(hash_); }

 private:
  void AddByte(unsigned char byte) { hash_ = (hash_ ^ byte) * 0x100000001b3u; }
  uint64_t hash_ = 0xcbf29ce484222325u;
};

int64_t ChecksumOf(const Entry& entry) {
  Checksum sum;
  sum.Add(static_cast<int64_t>(entry.kind));
  sum.Add(entry.name);
  sum.Add(entry.revision);
  sum.Add(entry.deleted ? 1 : 0);
  sum.Add(entry.create_micros);
  sum.Add(entry.recorded_micros);
  sum.Add(entry.request_id);
  sum.Add(entry.request_digest);
  sum.Add(entry.payload);
  return sum.value();
}

std::optional<double> RealOrNothing(const Value& value) {
  if (std::holds_alternative<std::monostate>(value)) return std::nullopt;
  return Real(value);
}

std::optional<int> IntOrNothing(const Value& value) {
  if (std::holds_alternative<std::monostate>(value)) return std::nullopt;
  return static_cast<int>(Int(value));
}

}  // namespace

int64_t Int(const Value& value) {
  if (const auto* number = std::get_if<int64_t>(&value)) return *number;
  return 0;
}

double Real(const Value& value) {
  if (const auto* number = std::get_if<double>(&value)) return *number;
  return static_cast<double>(Int(value));
}

std::string Text(const Value& value) {
  if (const auto* text = std::get_if<std::string>(&value)) return *text;
  return "";
}

Value TextOrNull(const std::string& text) {
  if (text.empty()) return std::monostate();
  return text;
}

const char* const kEntryColumns =
    "e.sequence, e.kind, e.name, e.revision, e.deleted, e.create_micros, e.recorded_micros, e.request_id, "
    "e.request_digest, e.checksum, e.payload";

Entry EntryOf(Row row) {
  Entry entry;
  entry.sequence = Int(row[0]);
  entry.kind = static_cast<Kind>(Int(row[1]));
  entry.name = Text(row[2]);
  entry.revision = static_cast<int>(Int(row[3]));
  entry.deleted = Int(row[4]) != 0;
  entry.create_micros = Int(row[5]);
  entry.recorded_micros = Int(row[6]);
  entry.request_id = Text(row[7]);
  entry.request_digest = Text(row[8]);
  if (auto* payload = std::get_if<Blob>(&row[10])) entry.payload = std::move(payload->bytes);
  entry.damaged = Int(row[9]) != ChecksumOf(entry);
  if (entry.damaged) ++damaged_met;
  return entry;
}

int64_t DamagedMet() { return damaged_met; }

std::string Described(const Entry& entry) {
  return absl::StrCat("revision ", entry.revision, " of ", absl::Utf8SafeCHexEscape(entry.name), " (entry ",
                      entry.sequence, ")");
}

absl::Status CheckWhole(const Entry& entry) {
  if (!entry.damaged) return absl::OkStatus();
  return absl::DataLossError(
      absl::StrCat(Described(entry),
                   " is not as it was written: the disk or a foreign program changed it; importing a backup or an "
                   "export that holds it puts it right (coilwright archive import)"));
}

std::vector<Value> ValuesOf(const Entry& entry) {
  return {entry.sequence,
          static_cast<int64_t>(entry.kind),
          entry.name,
          static_cast<int64_t>(entry.revision),
          static_cast<int64_t>(entry.deleted ? 1 : 0),
          entry.create_micros,
          entry.recorded_micros,
          TextOrNull(entry.request_id),
          TextOrNull(entry.request_digest),
          ChecksumOf(entry),
          Blob{entry.payload}};
}

const char* const kFactColumns =
    "r.name, r.machine_kind, r.verdict, r.slots, r.poles, r.rated_volts, r.rated_kw, r.speed_rpm, r.frequency_hz, "
    "r.bore_mm, "
    "r.outer_mm, r.stack_length_mm, r.serial, r.parent, r.stage, r.time_micros";

Facts FactsOf(const Row& row) {
  Facts facts;
  facts.name = Text(row[0]);
  facts.machine_kind = static_cast<int>(Int(row[1]));
  facts.verdict = static_cast<int>(Int(row[2]));
  facts.slots = IntOrNothing(row[3]);
  facts.poles = IntOrNothing(row[4]);
  facts.rated_volts = RealOrNothing(row[5]);
  facts.rated_kw = RealOrNothing(row[6]);
  facts.speed_rpm = RealOrNothing(row[7]);
  facts.frequency_hz = RealOrNothing(row[8]);
  facts.bore_mm = RealOrNothing(row[9]);
  facts.outer_mm = RealOrNothing(row[10]);
  facts.stack_length_mm = RealOrNothing(row[11]);
  facts.serial = Text(row[12]);
  facts.parent = Text(row[13]);
  facts.stage = static_cast<int>(Int(row[14]));
  facts.time_micros = Int(row[15]);
  return facts;
}

absl::Status NotThere(const std::string& name) {
  return absl::NotFoundError(absl::StrCat(name, " is not in the archive"));
}

}  // namespace coilwright::archive
