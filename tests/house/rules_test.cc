// The promises about the rule registry: ids are stable names, every rule says where it comes from, pages follow it.
#include "standards/rules.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>
#include <set>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "house/rule_pages.h"
#include "house/source_tree.h"
#include "standards/tables.h"

namespace coilwright::house {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

TEST(Rules, IdsAreUniqueAndWellFormed) {
  const std::regex form("[a-z][a-z0-9]*(_[a-z0-9]+)*([.][a-z0-9]+(_[a-z0-9]+)*)+");
  std::set<std::string> ids;
  for (const standards::Rule& rule : standards::Rules()) {
    EXPECT_TRUE(std::regex_match(rule.id, form)) << rule.id;
    EXPECT_TRUE(ids.insert(rule.id).second) << rule.id << " stands twice";
  }
  EXPECT_GT(ids.size(), 40u);
}

TEST(Rules, EveryRuleIsAConstant) {
  const std::string header = Read(COILWRIGHT_BINARY_DIR "/service/standards/generated/standards/rule_ids.h");
  for (const standards::Rule& rule : standards::Rules()) {
    const std::string constant = absl::StrReplaceAll(rule.id, {{".", "_"}});
    EXPECT_THAT(header, HasSubstr(absl::StrCat(" ", constant, " = \"", rule.id, "\";")));
  }
}

TEST(Rules, EveryRuleTableIsInTheRegistry) {
  std::set<std::string> areas;
  for (const standards::Rule& rule : standards::Rules()) areas.insert(rule.area);
  std::set<std::string> tables;
  for (const std::string& path : Files("service/standards/data", {".csv"})) {
    std::smatch match;
    if (std::regex_search(path, match, std::regex("rules_([a-z]+)[.]csv$"))) tables.insert(match[1]);
  }
  EXPECT_EQ(areas, tables);
}

TEST(Rules, EveryRuleSaysWhereItComesFrom) {
  for (const standards::Rule& rule : standards::Rules()) {
    EXPECT_FALSE(rule.title.empty()) << rule.id;
    EXPECT_FALSE(rule.source.empty()) << rule.id;
    EXPECT_FALSE(rule.formula.empty() && rule.note.empty()) << rule.id << " says nothing";
    EXPECT_FALSE(absl::EndsWith(rule.title, ".")) << rule.id;
    if (rule.standing == standards::Standing::kPublished) {
      EXPECT_THAT(rule.source, Not(HasSubstr("no source"))) << rule.id;
    }
  }
}

// A literal that misspells a rule compiles; the constant does not.
TEST(Rules, SourcesNameRulesByTheirConstants) {
  const std::regex literal("\"([a-z0-9_.]+)\"");
  for (const std::string& path : Files("service", {".h", ".cc"})) {
    const std::vector<std::string> lines = absl::StrSplit(Read(path), '\n');
    for (const std::string& line : lines) {
      const std::string code = line.substr(0, line.find("//"));
      for (auto match = std::sregex_iterator(code.begin(), code.end(), literal); match != std::sregex_iterator();
           ++match) {
        EXPECT_EQ(standards::FindRule((*match)[1].str()), nullptr) << path << ": " << line;
      }
    }
  }
}

// A rule that neither code nor another table names is a promise without a result.
TEST(Rules, EveryRuleIsUsed) {
  std::set<std::string> named;
  const std::regex constant("rules::([a-z0-9_]+)");
  for (const std::string& path : Files("service", {".h", ".cc"})) {
    const std::string code = Read(path);
    for (auto match = std::sregex_iterator(code.begin(), code.end(), constant); match != std::sregex_iterator();
         ++match) {
      named.insert((*match)[1]);
    }
  }
  std::string tables;
  for (const std::string& path : Files("service/standards/data", {".csv"})) {
    if (path.find("/rules_") == std::string::npos) absl::StrAppend(&tables, Read(path));
  }
  for (const standards::Rule& rule : standards::Rules()) {
    EXPECT_TRUE(named.count(absl::StrReplaceAll(rule.id, {{".", "_"}})) != 0 || absl::StrContains(tables, rule.id))
        << rule.id << " is named by no result";
  }
}

TEST(Rules, PagesEqualTheRegistry) {
  std::set<std::string> expected;
  for (const auto& [name, text] : RulePages()) {
    EXPECT_EQ(Read("docs/rules/" + name), text) << "run: build/tests/write_rule_pages docs";
    expected.insert("docs/rules/" + name);
  }
  const std::vector<std::string> present = Files("docs/rules");
  EXPECT_EQ(std::set<std::string>(present.begin(), present.end()), expected);
}

TEST(Rules, TheDataRevisionIsExplained) {
  EXPECT_THAT(Read("docs/changes.md"), HasSubstr(absl::StrCat("| `", standards::DataRevision(), "` |")))
      << "a table or rule has changed: say what in docs/changes.md";
}

}  // namespace
}  // namespace coilwright::house
