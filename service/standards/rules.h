#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "standards/rule_ids.h"

namespace coilwright::standards {

// How far a rule can be trusted.
enum class Standing {
  kPublished,       // read in a public quotation or table of the named source
  kCommonPractice,  // trade practice, no source sets it
  kFromMemory,      // recalled from the named source, not read in print
  kDerived,         // follows from physics or arithmetic, no standard needed
};

// One entry of the rule registry. Every computed number of an answer names the id of the rule it came from.
struct Rule {
  std::string id;       // stable, e.g. "ieee43.minimum.random_wound"; also a constant in standards/rule_ids.h
  std::string title;    // one line in the shop's words
  std::string source;   // standard, handbook or "common practice, no source"
  std::string edition;  // edition or year, empty where it does not matter
  std::string locator;  // clause, table or page, empty where there is none
  Standing standing = Standing::kDerived;
  std::string formula;  // in words or symbols
  std::string note;     // range, contradiction with other rules, what it does not say
  std::string area;     // "wire" for a row of data/rules_wire.csv; its page is docs/rules/wire.md
};

// Every rule, ordered by id. Lives as long as the program; safe from any thread.
const std::vector<Rule>& Rules();

// The rule with this id, or null.
const Rule* FindRule(absl::string_view id);

absl::string_view StandingName(Standing standing);  // "published", "common practice", "from memory", "derived"

}  // namespace coilwright::standards
