#include "absl/strings/str_cat.h"
#include "absl/strings/strip.h"
#include "coilwright/v1/rule_service.pb.h"
#include "command.h"
#include "request.h"

namespace coilwright::cli {
namespace {

std::string Id(const v1::Rule& rule) { return std::string(absl::StripPrefix(rule.name(), "rules/")); }

absl::Status ListRules(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 1, "at most one PREFIX of rule ids"); !words.ok())
    return words;
  v1::ListRulesRequest request;
  request.set_page_size(200);
  if (!session.arguments.words().empty()) request.set_id_prefix(session.arguments.words()[0]);
  v1::ListRulesResponse all;
  do {
    v1::ListRulesResponse page;
    if (absl::Status called = session.Call(request, &page); !called.ok()) return called;
    all.MergeFrom(page);
    all.set_next_page_token(page.next_page_token());
    request.set_page_token(page.next_page_token());
  } while (!request.page_token().empty());
  if (all.rules().empty())
    return absl::NotFoundError(absl::StrCat("no rule id begins with \"", request.id_prefix(), "\""));
  if (session.json) {
    session.out = ToJson(all);
    return absl::OkStatus();
  }
  Page page;
  Table table({{"rule", {}}, {"standing", {}}, {"title", {}}});
  for (const v1::Rule& rule : all.rules()) table.Add({Id(rule), EnumText(rule.standing()), rule.title()});
  page.Add(table);
  page.Heading(absl::StrCat(all.rules_size(), " rules, data revision ", all.data_revision()));
  session.out = page.text();
  return absl::OkStatus();
}

absl::Status ShowRule(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "the ID of a rule"); !words.ok()) return words;
  v1::GetRuleRequest request;
  request.set_name(absl::StrCat("rules/", absl::StripPrefix(session.arguments.words()[0], "rules/")));
  v1::GetRuleResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  if (session.json) {
    session.out = ToJson(answer);
    return absl::OkStatus();
  }
  const v1::Rule& rule = answer.rule();
  Page page;
  page.Title(Id(rule));
  page.Facts({{"title", rule.title()},
              {"source", rule.source()},
              {"edition", rule.edition()},
              {"where", rule.locator()},
              {"standing", EnumText(rule.standing())},
              {"formula", rule.formula()},
              {"note", rule.note()},
              {"data revision", answer.data_revision()}});
  session.out = page.text();
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> RulesCommands() {
  return {{"rules list",
           "rules behind the numbers",
           "[PREFIX]",
           {},
           ListRules,
           "Standing tells how far a rule can be trusted: published (read in print or in a public quotation), common "
           "practice "
           "(no source sets it), from memory (recalled, not read), derived (physics or arithmetic)."},
          {"rules show", "one rule: source, formula, what it does not say", "ID", {}, ShowRule}};
}

}  // namespace coilwright::cli
