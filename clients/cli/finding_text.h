#pragma once

#include <string>

#include "coilwright/v1/quantities.pb.h"
#include "units.h"

namespace coilwright::cli {

// A value of a check in print units, and the band or range it is held against; units of no print form stay as the
// answer names them ("ohms", "kg", "teslas", "ratio", "percent", ...). Either may be null.
struct CheckedText {
  std::string found;
  std::string expected;
};
CheckedText TextOfChecked(const std::string& unit, const double* found, const v1::Band* expected, const Units& units);

}  // namespace coilwright::cli
