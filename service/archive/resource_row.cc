#include "archive/resource_row.h"

#include "absl/strings/str_cat.h"
#include "archive/rows.h"

namespace coilwright::archive {

std::string InsertResource(Dialect dialect) {
  return absl::StrCat(
      "INSERT INTO resource (id, sequence, kind, name, revision, deleted, create_micros, parent, serial, machine_kind, "
      "verdict, "
      "stage, slots, poles, rated_volts, rated_kw, speed_rpm, frequency_hz, bore_mm, outer_mm, stack_length_mm, "
      "time_micros, "
      "terms) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, "
      "$22, ",
      dialect == Dialect::kSqlite ? "$23)" : "array_to_tsvector(string_to_array($23, ' ')))");
}
std::string UpdateResource(Dialect dialect) {
  return absl::StrCat(
      "UPDATE resource SET sequence = $2, kind = $3, name = $4, revision = $5, deleted = $6, create_micros = $7, "
      "parent = $8, "
      "serial = $9, machine_kind = $10, verdict = $11, stage = $12, slots = $13, poles = $14, rated_volts = $15, "
      "rated_kw = $16, speed_rpm = $17, frequency_hz = $18, bore_mm = $19, outer_mm = $20, stack_length_mm = $21, "
      "time_micros = $22, terms = ",
      dialect == Dialect::kSqlite ? "$23" : "array_to_tsvector(string_to_array($23, ' '))", " WHERE id = $1");
}

std::vector<Value> ResourceValues(int64_t id, const Entry& entry, const Facts& facts, const std::string& terms) {
  return {id,
          entry.sequence,
          static_cast<int64_t>(entry.kind),
          entry.name,
          static_cast<int64_t>(entry.revision),
          static_cast<int64_t>(entry.deleted ? 1 : 0),
          entry.create_micros,
          TextOrNull(facts.parent),
          TextOrNull(facts.serial),
          static_cast<int64_t>(facts.machine_kind),
          static_cast<int64_t>(facts.verdict),
          static_cast<int64_t>(facts.stage),
          ValueOrNull(facts.slots),
          ValueOrNull(facts.poles),
          ValueOrNull(facts.rated_volts),
          ValueOrNull(facts.rated_kw),
          ValueOrNull(facts.speed_rpm),
          ValueOrNull(facts.frequency_hz),
          ValueOrNull(facts.bore_mm),
          ValueOrNull(facts.outer_mm),
          ValueOrNull(facts.stack_length_mm),
          facts.time_micros,
          TextOrNull(terms)};
}

}  // namespace coilwright::archive
