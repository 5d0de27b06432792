#include "house/rule_pages.h"

#include "absl/strings/str_cat.h"
#include "standards/rules.h"

namespace coilwright::house {
namespace {

// Source, edition and locator on one line, what is empty left out.
std::string Reference(const standards::Rule& rule) {
  std::string reference = rule.source;
  for (const std::string& part : {rule.edition, rule.locator}) {
    if (!part.empty()) absl::StrAppend(&reference, ", ", part);
  }
  return reference;
}

std::string Entry(const standards::Rule& rule) {
  std::string entry = absl::StrCat("\n## `", rule.id, "`\n\n", rule.title, ".\n\n");
  absl::StrAppend(&entry, "- Source: ", Reference(rule), "\n");
  absl::StrAppend(&entry, "- Standing: ", standards::StandingName(rule.standing), "\n");
  if (!rule.formula.empty()) absl::StrAppend(&entry, "- Rule: ", rule.formula, "\n");
  if (!rule.note.empty()) absl::StrAppend(&entry, "- Note: ", rule.note, "\n");
  return entry;
}

}  // namespace

std::map<std::string, std::string> RulePages() {
  std::map<std::string, std::string> pages;
  for (const standards::Rule& rule : standards::Rules()) {
    std::string& page = pages[rule.area + ".md"];
    if (page.empty()) {
      page = absl::StrCat("# Rules: ", rule.area, "\n\nWritten from `service/standards/data/rules_", rule.area,
                          ".csv` by `write_rule_pages`; edit the table.\n");
    }
    absl::StrAppend(&page, Entry(rule));
  }
  return pages;
}

}  // namespace coilwright::house
