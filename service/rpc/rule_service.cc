#include "absl/strings/match.h"
#include "absl/strings/strip.h"
#include "rpc/methods.h"
#include "rpc/paging.h"
#include "rpc/write.h"

namespace coilwright::rpc {

absl::Status GetRule(const v1::GetRuleRequest& request, v1::GetRuleResponse* response) {
  absl::string_view id = request.name();
  if (!absl::ConsumePrefix(&id, "rules/") || id.empty()) {
    return standards::InvalidField("name",
                                   request.name().empty() ? "nothing" : absl::StrCat("\"", request.name(), "\""),
                                   "rules/{id}, e.g. rules/ieee43.test_voltage; ListRules names them all");
  }
  const standards::Rule* rule = standards::FindRule(id);
  if (rule == nullptr) return absl::NotFoundError(absl::StrCat("no rule \"", id, "\"; ListRules names them all"));
  Write(*rule, response->mutable_rule());
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

absl::Status ListRules(const v1::ListRulesRequest& request, v1::ListRulesResponse* response) {
  std::vector<const standards::Rule*> matching;
  for (const standards::Rule& rule : standards::Rules()) {
    if (absl::StartsWith(rule.id, request.id_prefix())) matching.push_back(&rule);
  }
  const absl::StatusOr<Page> page =
      PageOf(static_cast<int>(matching.size()), request.page_size(), request.page_token());
  if (!page.ok()) return page.status();
  for (int i = page->begin; i < page->end; ++i) Write(*matching[static_cast<size_t>(i)], response->add_rules());
  response->set_next_page_token(page->next_token);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
