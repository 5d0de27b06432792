#pragma once

#include <set>
#include <string>

#include "coilwright/v1/quantities.pb.h"
#include "coilwright/v1/testing.pb.h"
#include "page.h"

namespace coilwright::cli {

using RuleUses = google::protobuf::RepeatedPtrField<v1::RuleUse>;
using Texts = google::protobuf::RepeatedPtrField<std::string>;

// Ids in order, each once.
void CollectRules(const RuleUses& uses, std::set<std::string>* ids);

// The shop's own settings that an answer rests on; nothing where there are none.
void PrintShop(const v1::ShopSettingsUse& shop, Page* page);

// The end of an answer: the shop's settings in force, what it notes, what to beware of, and by which rules.
void PrintEnd(const v1::ShopSettingsUse& shop, const Texts& notes, const Texts& cautions,
              const std::set<std::string>& rules, const std::string& data_revision, Page* page);

// "Rules" with the ids on as few lines as they take, and the data revision.
void PrintRules(const std::set<std::string>& ids, const std::string& data_revision, Page* page);
void PrintRuleUses(const RuleUses& uses, const std::string& data_revision, Page* page);

}  // namespace coilwright::cli
