#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"
#include "coilwright/v1/insulation_run_service.pb.h"

namespace coilwright::cli {

// Lines of readings under one heading line that names columns with their units, separated by commas:
//   seconds | minutes, volts | kilovolts, and one or both of microamps | nanoamps | milliamps and megohms | gigohms;
//   then celsius | fahrenheit as wanted.
// Capitals and quotation marks of the heading do not count, nor does a byte order mark before it. An empty cell is a
// reading not taken. ">2000" megohms and "<0.001" of current are over range.
class SampleLines {
 public:
  // Without a column of volts every reading is at `constant_volts`.
  explicit SampleLines(std::optional<double> constant_volts = std::nullopt) : constant_volts_(constant_volts) {}

  // INVALID_ARGUMENT, one line: an unknown or repeated name, no time, no volts, neither current nor megohms.
  absl::Status ReadHeading(absl::string_view line);
  bool has_heading() const { return !columns_.empty(); }
  bool has_volts() const;
  // INVALID_ARGUMENT, one line naming the column, what was given and what is accepted.
  absl::Status Read(absl::string_view line, v1::InsulationSample* sample) const;

 private:
  struct Column {
    std::string name;
    int field;      // number of the sample's field
    double factor;  // to its unit
    double offset;  // subtracted first
  };
  std::optional<double> constant_volts_;
  std::vector<Column> columns_;
};

}  // namespace coilwright::cli
