#include "server_flags.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include "absl/flags/reflection.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"
#include "coilwrightd_flags.h"

namespace coilwright::manual {

std::vector<ServerFlag> ServerFlags() {
  std::vector<ServerFlag> flags;
  for (absl::string_view form : absl::StrSplit(kFlagForms, absl::ByAnyChar(" []"), absl::SkipEmpty())) {
    if (!absl::ConsumePrefix(&form, "--")) continue;
    const std::pair<std::string, std::string> parts = absl::StrSplit(form, absl::MaxSplits('=', 1));
    const absl::CommandLineFlag* flag = absl::FindCommandLineFlag(parts.first);
    if (flag == nullptr) continue;
    flags.push_back({parts.first, parts.second, flag->DefaultValue(), flag->Help()});
  }
  for (const auto& entry : absl::GetAllFlags()) {
    const absl::string_view name = entry.first;
    const bool named = std::any_of(flags.begin(), flags.end(), [&](const ServerFlag& f) { return f.name == name; });
    if (absl::StrContains(entry.second->Filename(), "coilwrightd_flags") && !named) {
      std::fprintf(stderr, "coilwrightd_flags.h: the usage does not name --%s\n", std::string(name).c_str());
      std::exit(1);
    }
  }
  return flags;
}

}  // namespace coilwright::manual
