#include "standards/rules.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include "absl/strings/str_cat.h"
#include "standards/tables.h"

namespace coilwright::standards {
namespace {

constexpr absl::string_view kAreas[] = {"wire", "winding", "insulation", "testing", "plan"};

Standing ParseStanding(absl::string_view text) {
  for (Standing standing :
       {Standing::kPublished, Standing::kCommonPractice, Standing::kFromMemory, Standing::kDerived}) {
    if (StandingName(standing) == text) return standing;
  }
  std::fprintf(stderr, "rule registry: unknown standing \"%.*s\"\n", static_cast<int>(text.size()), text.data());
  std::abort();
}

std::vector<Rule> LoadRules() {
  std::vector<Rule> rules;
  for (absl::string_view area : kAreas) {
    const Table table(EmbeddedTable(absl::StrCat("rules_", area)));
    for (int row = 0; row < table.rows(); ++row) {
      const auto text = [&](absl::string_view column) { return std::string(table.Text(row, column)); };
      rules.push_back({text("id"), text("title"), text("source"), text("edition"), text("locator"),
                       ParseStanding(table.Text(row, "standing")), text("formula"), text("note"), std::string(area)});
    }
  }
  std::sort(rules.begin(), rules.end(), [](const Rule& a, const Rule& b) { return a.id < b.id; });
  return rules;
}

}  // namespace

const std::vector<Rule>& Rules() {
  static const std::vector<Rule>& rules = *new std::vector<Rule>(LoadRules());
  return rules;
}

const Rule* FindRule(absl::string_view id) {
  const std::vector<Rule>& rules = Rules();
  const auto found = std::lower_bound(rules.begin(), rules.end(), id,
                                      [](const Rule& rule, absl::string_view key) { return rule.id < key; });
  return found != rules.end() && found->id == id ? &*found : nullptr;
}

absl::string_view StandingName(Standing standing) {
  switch (standing) {
    case Standing::kPublished:
      return "published";
    case Standing::kCommonPractice:
      return "common practice";
    case Standing::kFromMemory:
      return "from memory";
    case Standing::kDerived:
      return "derived";
  }
  return "";
}

}  // namespace coilwright::standards
