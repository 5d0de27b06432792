#pragma once

#include <set>
#include <string>

#include "coilwright/v1/quantities.pb.h"
#include "page.h"

namespace coilwright::cli {

using RuleUses = google::protobuf::RepeatedPtrField<v1::RuleUse>;
using Texts = google::protobuf::RepeatedPtrField<std::string>;

// Ids in order, each once.
void CollectRules(const RuleUses& uses, std::set<std::string>* ids);

// The end of an answer: what it notes, what to beware of, and by which rules.
void PrintEnd(const Texts& notes, const Texts& cautions, const std::set<std::string>& rules,
              const std::string& data_revision, Page* page);

// "Rules" with the ids on as few lines as they take, and the data revision.
void PrintRules(const std::set<std::string>& ids, const std::string& data_revision, Page* page);
void PrintRuleUses(const RuleUses& uses, const std::string& data_revision, Page* page);

}  // namespace coilwright::cli
