#pragma once

#include <map>
#include <string>

namespace coilwright::house {

// The rule registry as Markdown: file name ("wire.md") to text, one page per area, rules in the order of their ids.
std::map<std::string, std::string> RulePages();

}  // namespace coilwright::house
