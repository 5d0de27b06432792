#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "absl/status/status.h"
#include "archive/database.h"
#include "archive/entry.h"
#include "archive/facts.h"

namespace coilwright::archive {

// Columns of a row by what they must hold; NULL reads as zero or empty.
int64_t Int(const Value& value);
double Real(const Value& value);
std::string Text(const Value& value);

// NULL for an empty text, so that partial indexes leave it out.
Value TextOrNull(const std::string& text);

template <class T>
Value ValueOrNull(const std::optional<T>& number) {
  if (!number.has_value()) return std::monostate();
  if constexpr (std::is_floating_point_v<T>) {
    return static_cast<double>(*number);
  } else {
    return static_cast<int64_t>(*number);
  }
}

// What EntryOf reads, from a table or alias `e`.
extern const char* const kEntryColumns;
// Marked as damaged where the row is not what was written: stores check their structure, not every byte of a value.
Entry EntryOf(Row row);
// How often that was found, since this process began.
int64_t DamagedMet();
// In the order of kEntryColumns.
std::vector<Value> ValuesOf(const Entry& entry);

// Answer to a name that is in no row.
absl::Status NotThere(const std::string& name);

// What FactsOf reads, from a table or alias `r`.
extern const char* const kFactColumns;
Facts FactsOf(const Row& row);

}  // namespace coilwright::archive
