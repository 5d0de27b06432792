#pragma once

#include <vector>

#include "absl/strings/string_view.h"

namespace coilwright::plan {

// Counts or readings beside the recorded number they were taken for, all in one unit: empty where they agree, else what
// would be accepted. A count lies among its repeats, and these agree within two or a tenth; a reading lies within a
// twentieth of them (common practice, no source). `recorded` above 0; `repeats` not empty.
absl::string_view RepeatsAccepted(double recorded, bool count, const std::vector<double>& repeats);

}  // namespace coilwright::plan
