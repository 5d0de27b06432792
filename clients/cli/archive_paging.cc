#include "archive_paging.h"

#include <ostream>

#include "text.h"

namespace coilwright::cli {

std::vector<Flag> PagingFlags() {
  return {{"most", "N", "", "at most this many (50)"},
          {"page", "TOKEN", "page_token", "go on where an answer ended, with the same flags", true}};
}

std::string FoundText(int shown, const std::string& next_page_token) {
  if (next_page_token.empty()) return absl::StrCat("\n", shown, " found\n");
  return absl::StrCat("\n", shown, " shown, there are more: --most ", 4 * shown, ", or the same with --page ",
                      next_page_token, "\n");
}

void TellDamaged(Session& session, const google::protobuf::RepeatedPtrField<std::string>& damaged) {
  for (const std::string& entry : damaged) {
    session.aside << "coilwright: damaged in the archive and left out: " << Printable(entry)
                  << "; coilwright archive import of a backup that holds it puts it right\n";
  }
}

absl::StatusOr<int> MostWanted(const Arguments& arguments) {
  int most = 50;
  if (arguments.Has("most") && (!absl::SimpleAtoi(arguments.Text("most"), &most) || most < 1 || most > 100000)) {
    return absl::InvalidArgumentError(
        absl::StrCat("--most: got \"", arguments.Text("most"), "\", accepted: a whole number from 1 to 100000"));
  }
  return most;
}

}  // namespace coilwright::cli
