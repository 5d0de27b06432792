#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace coilwright::archive {

// What a resource is found by, of its current revision; derived from the payload by who writes it. In one unit each.
struct Facts {
  std::string name;      // set by the archive in what it returns
  int machine_kind = 0;  // number of the contract's enum; 0 unknown
  int verdict = 0;       // of the check; 0 where there is none
  std::optional<int> slots, poles;
  std::optional<double> rated_volts, rated_kw, speed_rpm, frequency_hz, bore_mm, outer_mm, stack_length_mm;
  std::string text;         // all words it is found by
  std::string serial;       // of the machine, with case and blanks taken off; empty unknown
  std::string parent;       // winding of a job, job of readings
  int stage = 0;            // latest of a job, that of readings
  int64_t time_micros = 0;  // of readings: when they were taken
};

}  // namespace coilwright::archive
