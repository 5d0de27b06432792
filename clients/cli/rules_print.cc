#include "rules_print.h"

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"

namespace coilwright::cli {

void CollectRules(const RuleUses& uses, std::set<std::string>* ids) {
  for (const v1::RuleUse& use : uses) ids->insert(use.rule());
}

void PrintShop(const v1::ShopSettingsUse& shop, Page* page) {
  if (shop.name().empty()) return;
  page->Heading(absl::StrCat("Settings of ", shop.name()));
  page->List(shop.used());
}

void PrintEnd(const v1::ShopSettingsUse& shop, const Texts& notes, const Texts& cautions,
              const std::set<std::string>& rules, const std::string& data_revision, Page* page) {
  PrintShop(shop, page);
  if (!notes.empty()) page->Heading("Notes");
  page->List(notes);
  if (!cautions.empty()) page->Heading("Cautions");
  page->List(cautions, "!");
  PrintRules(rules, data_revision, page);
}

void PrintRules(const std::set<std::string>& ids, const std::string& data_revision, Page* page) {
  page->Heading("Rules (coilwright rules show ID)");
  if (!ids.empty()) page->Paragraph(absl::StrJoin(ids, ", "));
  page->Paragraph(absl::StrCat("data revision ", data_revision));
}

void PrintRuleUses(const RuleUses& uses, const std::string& data_revision, Page* page) {
  std::set<std::string> ids;
  CollectRules(uses, &ids);
  PrintRules(ids, data_revision, page);
}

}  // namespace coilwright::cli
