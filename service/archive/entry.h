#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "absl/status/status.h"
#include "archive/facts.h"

namespace coilwright::archive {

enum class Kind { kWinding = 1, kJob = 2, kReadings = 3 };

// One revision of one resource; never changed once it is kept.
struct Entry {
  int64_t sequence = 0;  // place in the order of this archive, from 1, without gaps
  Kind kind = Kind::kWinding;
  std::string name;  // "windings/{id}", "jobs/{id}", "jobs/{id}/readings/{number}"
  int revision = 1;  // from 1; readings have no other
  bool deleted = false;
  int64_t create_micros = 0;    // UTC since 1970, of the first revision
  int64_t recorded_micros = 0;  // of this one
  std::string request_id, request_digest;
  std::string payload;  // the message of the contract, as bytes that this room does not read
  // Read back and not as it was written: nothing of it but the sequence is to be relied on.
  bool damaged = false;
};

// DATA_LOSS for a damaged entry, with what to do.
absl::Status CheckWhole(const Entry& entry);
// "revision 3 of windings/x (entry 12)", for people; what is no text in it is escaped.
std::string Described(const Entry& entry);

// What is to be appended. Sequence, and where they are zero the two times, are given by the archive.
struct NewEntry {
  Entry entry;
  // The current revision that this one follows; 0 makes a new resource. `entry.revision` is set from it but in an
  // import.
  int follows = 0;
  // A name that ends in "/": the next free number below it is added, so that readings are numbered without gaps.
  bool number = false;
  // Must be there and not be deleted: the job of readings, the winding of a job. Empty: none.
  std::string needs;
  Facts facts;
};

}  // namespace coilwright::archive
