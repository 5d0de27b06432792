#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "archive/entry.h"

namespace coilwright::archive {

// Both ends included; one may be absent.
struct Range {
  std::optional<double> least, most;
};

// Fits everything given.
struct Query {
  Kind kind = Kind::kWinding;
  std::string text;  // words that must all occur at the beginning of a word
  int machine_kind = 0, verdict = 0, stage = 0;
  Range slots, poles, rated_volts, rated_kw, speed_rpm, bore_mm, outer_mm, stack_length_mm;
  std::string parent, serial;
  bool deleted_too = false;
  bool oldest_first = false;
  int64_t after = 0;  // Found::next of the page before
  int most = 50;
};

struct Found {
  std::vector<Entry> entries;
  int64_t next = 0;  // 0 on the last page
};

// A stator whose like is looked for. Slots equal, bore within the ratio; where the others are known on both sides,
// within theirs.
struct Near {
  int slots = 0;
  int machine_kind = 0;
  double bore_mm = 0;
  std::optional<double> outer_mm, stack_length_mm;
  std::optional<int> poles;
  double bore_ratio = 1.25, outer_ratio = 1.25, stack_ratio = 2.0;
  int most = 500;  // nearest in bore first
};

}  // namespace coilwright::archive
