#include "archive/ledger.h"

#include <map>
#include <set>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "gtest/gtest.h"

namespace coilwright::archive {
namespace {

// With every byte there is, so that none is taken for an end or a quote.
std::string PayloadOf(const std::string& name) {
  std::string payload = name + "\n";
  for (int byte = 0; byte < 256; ++byte) payload += static_cast<char>(byte);
  return payload;
}

}  // namespace

NewEntry NewWinding(const std::string& id, const std::string& request_id) {
  NewEntry made;
  made.entry.kind = Kind::kWinding;
  made.entry.name = absl::StrCat("windings/", id);
  made.entry.request_id = request_id;
  made.entry.request_digest = request_id.empty() ? "" : absl::StrCat("digest of ", id);
  made.entry.payload = PayloadOf(made.entry.name);
  made.facts.slots = 36;
  made.facts.poles = 4;
  made.facts.bore_mm = 92.5;
  made.facts.text = absl::StrCat("retort pump ", id);
  return made;
}

std::vector<Entry> WholeLog(Archive& archive) {
  std::vector<Entry> log;
  const auto last = archive.LastSequence();
  EXPECT_TRUE(last.ok()) << last.status();
  while (last.ok() && (log.empty() ? 0 : log.back().sequence) < *last) {
    auto page = archive.Log(log.empty() ? 0 : log.back().sequence, *last, 1 << 20);
    EXPECT_TRUE(page.ok()) << page.status();
    if (!page.ok() || page->empty()) break;
    for (Entry& entry : *page) log.push_back(std::move(entry));
  }
  return log;
}

std::string WrongIn(const std::vector<Entry>& log) {
  std::map<std::string, int> revisions;
  std::set<std::string> requests;
  int64_t sequence = 0;
  for (const Entry& entry : log) {
    const std::string told = absl::StrCat(entry.name, " revision ", entry.revision, " at ", entry.sequence);
    if (entry.sequence != ++sequence) return absl::StrCat(told, " stands at place ", sequence);
    if (entry.revision != ++revisions[entry.name])
      return absl::StrCat(told, " follows one ", revisions[entry.name] - 1);
    if (!entry.request_id.empty() && !requests.insert(entry.request_id).second)
      return absl::StrCat(told, ": doubled request");
    if (!absl::StartsWith(entry.payload, entry.name + "\n")) return absl::StrCat(told, " has the payload of another");
  }
  return "";
}

std::string LostOf(const std::vector<Entry>& acknowledged, const std::vector<Entry>& log) {
  for (const Entry& entry : acknowledged) {
    const std::string told = absl::StrCat(entry.name, " acknowledged at ", entry.sequence);
    if (entry.sequence < 1 || entry.sequence > static_cast<int64_t>(log.size())) return absl::StrCat(told, " is gone");
    const Entry& kept = log[static_cast<size_t>(entry.sequence) - 1];
    if (kept.name != entry.name || kept.revision != entry.revision) {
      return absl::StrCat(told, " is ", kept.name, " revision ", kept.revision);
    }
  }
  return "";
}

}  // namespace coilwright::archive
