#pragma once

#include <string>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"
#include "standards/errors.h"

namespace coilwright::standards {

// Collects every wrong field of an input, so that a caller hears of all of them at once.
class RangeCheck {
 public:
  // `value` must be finite and lie in low..high, both ends included. True if it does.
  bool Within(absl::string_view field, double value, double low, double high, absl::string_view unit);
  // The same with the lower end left out: more than `low`, at most `high`.
  bool Above(absl::string_view field, double value, double low, double high, absl::string_view unit);
  // A field that is wrong for another reason than its own range.
  void Refuse(absl::string_view field, absl::string_view given, absl::string_view accepted);

  bool ok() const { return errors_.empty(); }
  // OK, or INVALID_ARGUMENT with every field refused so far.
  absl::Status status() const;

 private:
  std::vector<FieldError> errors_;
};

// "2.5 mm"; "NaN" and "infinity" in words; without a unit the number alone.
std::string WithUnit(double value, absl::string_view unit);

}  // namespace coilwright::standards
