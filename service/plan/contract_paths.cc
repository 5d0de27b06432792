#include "plan/contract_paths.h"

#include <algorithm>
#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "standards/errors.h"

namespace coilwright::plan {

absl::Status InContract(const absl::Status& status, absl::string_view otherwise,
                        std::initializer_list<ContractPath> paths) {
  std::vector<standards::FieldError> errors = standards::FieldErrorsOf(status);
  if (errors.empty()) return status;
  for (standards::FieldError& error : errors) {
    const auto* found =
        std::find_if(paths.begin(), paths.end(), [&](const ContractPath& path) { return path.ours == error.field; });
    if (found == paths.end()) error.given = absl::StrCat(error.field, " ", error.given);
    error.field = std::string(found == paths.end() ? otherwise : found->contract);
  }
  return standards::InvalidFields(errors);
}

}  // namespace coilwright::plan
