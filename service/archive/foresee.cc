#include <set>
#include <string>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "archive/apply.h"
#include "archive/rows.h"

namespace coilwright::archive {
namespace {

// As PostgreSQL reads an array of texts (its documentation, "Array Input and Output Syntax").
std::string ArrayOf(const std::set<std::string>& texts) {
  std::string array = "{";
  for (const std::string& text : texts) {
    absl::StrAppend(&array, array.size() == 1 ? "\"" : ",\"",
                    absl::StrReplaceAll(text, {{"\\", "\\\\"}, {"\"", "\\\""}}), "\"");
  }
  return array + "}";
}

}  // namespace

absl::Status Apply::Foresee(const std::vector<const NewEntry*>& all) {
  if (db_->dialect() == Dialect::kSqlite) return absl::OkStatus();  // asks within the process
  foreseen_ = true;
  std::set<std::string> names, requests, jobs;
  for (const NewEntry* made : all) {
    if (!made->number) names.insert(made->entry.name);
    if (!made->needs.empty()) names.insert(made->needs);
    if (!made->entry.request_id.empty()) requests.insert(made->entry.request_id);
    if (made->entry.kind == Kind::kReadings) jobs.insert(JobOf(made->entry.name));
  }
  for (const std::string& name : names) current_[name] = Current();
  for (const std::string& request : requests) made_by_[request] = std::nullopt;
  for (const std::string& job : jobs) next_number_[job] = 1;

  if (!names.empty()) {
    const auto rows = db_->Query(
        "SELECT id, create_micros, revision, deleted, NULL, name FROM resource WHERE name = ANY($1)", {ArrayOf(names)});
    if (!rows.ok()) return rows.status();
    for (const Row& row : *rows) current_[Text(row[5])] = CurrentIn(row);
  }
  if (!requests.empty()) {
    auto rows = db_->Query(absl::StrCat("SELECT ", kEntryColumns, " FROM entry e WHERE e.request_id = ANY($1)"),
                           {ArrayOf(requests)});
    if (!rows.ok()) return rows.status();
    for (Row& row : *rows) {
      Entry entry = EntryOf(std::move(row));
      std::string request = entry.request_id;
      made_by_[request] = std::move(entry);
    }
  }
  if (!jobs.empty()) {
    const auto rows = db_->Query(
        "SELECT DISTINCT ON (parent) parent, name FROM resource WHERE parent = ANY($1) AND kind = 3 "
        "ORDER BY parent, id DESC",
        {ArrayOf(jobs)});
    if (!rows.ok()) return rows.status();
    for (const Row& row : *rows) next_number_[Text(row[0])] = NumberOf(Text(row[1])) + 1;
  }
  return absl::OkStatus();
}

}  // namespace coilwright::archive
