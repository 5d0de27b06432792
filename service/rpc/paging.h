#pragma once

#include <algorithm>
#include <string>

#include "absl/status/statusor.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "standards/errors.h"
#include "standards/tables.h"

namespace coilwright::rpc {

// A window into a list that only a data revision can change. The token says the revision and where to go on; one from
// another revision is refused.
struct Page {
  int begin = 0;
  int end = 0;
  std::string next_token;
};

inline absl::StatusOr<Page> PageOf(int size, int page_size, const std::string& token) {
  constexpr int kDefault = 50;
  constexpr int kMost = 200;
  if (page_size < 0) return standards::InvalidField("page_size", absl::StrCat(page_size), "0 (for 50) to 200");
  Page page;
  const std::string prefix = absl::StrCat(standards::DataRevision(), ".");
  if (!token.empty()) {
    const bool ours = token.compare(0, prefix.size(), prefix) == 0;
    if (!ours || !absl::SimpleAtoi(token.substr(prefix.size()), &page.begin) || page.begin < 0 || page.begin > size) {
      return standards::InvalidField("page_token", "a token of another list or data revision",
                                     "next_page_token of the page before");
    }
  }
  page.end = std::min(size, page.begin + (page_size == 0 ? kDefault : std::min(page_size, kMost)));
  if (page.end < size) page.next_token = absl::StrCat(prefix, page.end);
  return page;
}

}  // namespace coilwright::rpc
