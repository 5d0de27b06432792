#pragma once

#include <optional>
#include <string>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"
#include "standards/range_check.h"

// What planning and comparing core tests share.
namespace coilwright::testing {

// A single number of core_test.csv.
double CoreFigure(absl::string_view name);

// Why 1.32 T and the limits per mass tell little of this core; empty where they do.
std::string HighFrequencyNote(std::optional<double> designed_for_hz, std::optional<double> lamination_mm);

// FAILED_PRECONDITION: no loop round magnets.
absl::Status MagnetsFirst();

// Every wrong field of both.
absl::Status Together(const standards::RangeCheck& checks, const absl::Status& status);

}  // namespace coilwright::testing
