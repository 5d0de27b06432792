// One store against the other: what is taken from one into the other is the same to the byte, and both find the same.

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "archive/archive.h"
#include "archive/fixture.h"
#include "archive/ledger.h"
#include "archive/stores.h"
#include "gtest/gtest.h"

namespace coilwright::archive {
namespace {

// Draws what a shop might keep, and odd things that it might.
class Draws {
 public:
  int Below(int end) { return static_cast<int>(random_() % static_cast<unsigned>(end)); }
  double Between(double least, double most) { return std::uniform_real_distribution<double>(least, most)(random_); }
  template <class T>
  const T& Of(const std::vector<T>& all) {
    return all[static_cast<size_t>(Below(static_cast<int>(all.size())))];
  }
  std::string Bytes() {
    std::string bytes(static_cast<size_t>(Below(400)), '\0');
    for (char& byte : bytes) byte = static_cast<char>(Below(256));
    return bytes;
  }
  std::string Text() {
    static const std::vector<std::string> kWords = {
        "pump",   "Pump",   "retort",       "ÉTUVE", "étuve", "e\xcc\x81tuve", "Straße", "STRASSE",
        "can-12", "IM B3",  "160/4",        "it's",  "a\"b",  "\\'",           "насос",  "ポンプ",
        "ﬁlter",  "filter", "& | ! <-> :*", "$1",    "%_"};
    std::string text;
    for (int words = Below(6); words > 0; --words) absl::StrAppend(&text, Of(kWords), " ");
    return text;
  }
  NewEntry Anything(const std::vector<std::string>& windings, const std::vector<std::string>& jobs, int number) {
    NewEntry made;
    const int kind = Below(10);
    made.entry.kind = kind < 6 || windings.empty() ? Kind::kWinding
                      : kind < 8 || jobs.empty()   ? Kind::kJob
                                                   : Kind::kReadings;
    if (made.entry.kind == Kind::kWinding) made.entry.name = absl::StrCat("windings/w", number);
    if (made.entry.kind == Kind::kJob) {
      made.entry.name = absl::StrCat("jobs/j", number);
      if (Below(2) == 0) made.needs = made.facts.parent = Of(windings);
      made.facts.stage = Below(5);
    }
    if (made.entry.kind == Kind::kReadings) {
      made.needs = made.facts.parent = Of(jobs);
      made.entry.name = made.needs + "/readings/";
      made.number = true;
      made.facts.time_micros = Below(1'000'000'000);
    }
    Fill(made, number);
    return made;
  }
  void Fill(NewEntry& made, int number) {
    made.entry.payload = Bytes();
    if (Below(2) == 0) {
      made.entry.request_id = absl::StrCat("request ", number, " ", Text());
      made.entry.request_digest = absl::StrCat("digest ", number);
    }
    Facts& facts = made.facts;
    facts.machine_kind = Below(4);
    facts.verdict = Below(4);
    facts.text = Text();
    if (Below(3) == 0) facts.serial = absl::StrCat("s/n", Below(20));
    if (Below(4) != 0) facts.slots = 12 * (1 + Below(6));
    if (Below(4) != 0) facts.poles = 2 * (1 + Below(4));
    for (std::optional<double>* number_of : {&facts.rated_volts, &facts.rated_kw, &facts.speed_rpm, &facts.frequency_hz,
                                             &facts.bore_mm, &facts.outer_mm, &facts.stack_length_mm}) {
      if (Below(4) != 0) *number_of = Below(3) == 0 ? Below(100) + 50 : std::exp(Between(-2, 8));
    }
  }
  Range Limits() {
    Range range;
    const double least = std::exp(Between(-2, 8));
    if (Below(2) == 0) range.least = Below(2) == 0 ? least : std::floor(least);
    if (Below(2) == 0) range.most = least * std::exp(Between(0, 2));
    return range;
  }
  Query Question(const std::vector<std::string>& windings, const std::vector<std::string>& jobs) {
    Query query;
    query.kind = Of(std::vector<Kind>{Kind::kWinding, Kind::kWinding, Kind::kJob, Kind::kReadings});
    if (query.kind == Kind::kReadings) {
      query.parent = Of(jobs);
    } else {
      if (Below(2) == 0) query.text = Text().substr(0, static_cast<size_t>(3 + Below(12)));
      if (Below(6) == 0) query.machine_kind = Below(4);
      if (Below(6) == 0) query.verdict = Below(4);
      if (Below(6) == 0) query.slots = {12.0 * Below(4), 12.0 * (2 + Below(4))};
      if (Below(6) == 0) query.poles.least = 2 * Below(4);
      if (Below(8) == 0) query.serial = absl::StrCat("s/n", Below(20));
      if (query.kind == Kind::kJob && Below(3) == 0) query.parent = Of(windings);
      for (Range* range : {&query.rated_volts, &query.rated_kw, &query.speed_rpm, &query.bore_mm, &query.outer_mm,
                           &query.stack_length_mm}) {
        if (Below(8) == 0) *range = Limits();
      }
    }
    query.deleted_too = Below(3) == 0;
    query.oldest_first = Below(2) == 0;
    query.most = 1 + Below(60);
    return query;
  }
  Near Like() {
    Near near;
    near.slots = 12 * (1 + Below(6));
    near.machine_kind = Below(4);
    near.bore_mm = std::exp(Between(3, 6));
    near.bore_ratio = Between(1.01, 3);
    if (Below(2) == 0) near.outer_mm = std::exp(Between(3, 6));
    if (Below(2) == 0) near.stack_length_mm = std::exp(Between(3, 6));
    if (Below(2) == 0) near.poles = 2 * (1 + Below(4));
    near.most = 1 + Below(30);
    return near;
  }

 private:
  std::mt19937 random_{5};
};

class Exchange : public testing::Test {
 protected:
  // An archive of a store that lives as long as the test.
  Archive& In(std::unique_ptr<TestStore> store) {
    stores_.push_back(std::move(store));
    archives_.push_back(Archive::Open(stores_.back()->Open().value()).value());
    return *archives_.back();
  }
  // 600 entries of all kinds, corrections and deletions among them; what is found by of each is remembered.
  void Fill(Archive& archive) {
    for (int number = 0; number < 600; ++number) {
      NewEntry made = draws_.Anything(windings_, jobs_, number);
      if (draws_.Below(4) == 0 && !windings_.empty()) {  // another revision of what is there
        const bool job = draws_.Below(3) == 0 && !jobs_.empty();
        made = NewEntry();
        made.entry.kind = job ? Kind::kJob : Kind::kWinding;
        made.entry.name = draws_.Of(job ? jobs_ : windings_);
        made.entry.deleted = draws_.Below(3) == 0;
        draws_.Fill(made, number);
        made.follows = archive.Get(made.entry.name)->revision;
      }
      const auto kept = archive.Write(made);
      if (kept.status().code() == absl::StatusCode::kFailedPrecondition) continue;  // of something deleted
      ASSERT_TRUE(kept.ok()) << kept.status() << " " << made.entry.name;
      made.entry = *kept;
      made_[{kept->name, kept->revision}] = made;
      if (kept->revision == 1 && kept->kind == Kind::kWinding) windings_.push_back(kept->name);
      if (kept->revision == 1 && kept->kind == Kind::kJob) jobs_.push_back(kept->name);
    }
  }
  // In pages, as export and import do it.
  void Take(Archive& from, Archive& to) {
    const int64_t last = *from.LastSequence();
    for (int64_t after = 0; after < last;) {
      const auto page = from.Log(after, last, 5000);
      ASSERT_TRUE(page.ok()) << page.status();
      std::vector<NewEntry> entries;
      for (const Entry& entry : *page) {
        const auto known = made_.find({entry.name, entry.revision});
        if (known == made_.end()) continue;
        entries.push_back(known->second);
        entries.back().entry = entry;
      }
      const auto imported = to.Import(entries);
      ASSERT_TRUE(imported.ok()) << imported.status();
      EXPECT_EQ(imported->added, static_cast<int64_t>(entries.size()));
      after = page->back().sequence;
    }
  }

  Draws draws_;
  std::vector<std::string> windings_, jobs_;
  std::map<std::pair<std::string, int>, NewEntry> made_;

 private:
  std::vector<std::unique_ptr<TestStore>> stores_;
  std::vector<std::unique_ptr<Archive>> archives_;
};

TEST_F(Exchange, ThereAndBackIsTheSameToTheByte) {
  Archive& first = In(std::make_unique<SqliteStore>());
  Archive& second = In(std::make_unique<PostgresqlStore>());
  Archive& third = In(std::make_unique<SqliteStore>());
  Fill(first);
  // What is there already moves the sequences, and nothing else.
  ASSERT_TRUE(second.Write(NewWinding("of its own")).ok());
  Take(first, second);
  Take(second, third);
  const std::vector<Entry> before = WholeLog(first), between = WholeLog(second), after = WholeLog(third);
  ASSERT_GT(before.size(), 400u);
  ASSERT_EQ(between.size(), before.size() + 1);
  ASSERT_EQ(after.size(), before.size());
  for (size_t i = 0; i < before.size(); ++i) {
    ExpectSame(before[i], after[i]);
    Entry moved = between[i + 1];
    EXPECT_EQ(moved.sequence--, before[i].sequence + 1);
    ExpectSame(before[i], moved);
  }
  EXPECT_EQ(first.Count()->windings, third.Count()->windings);
  EXPECT_EQ(first.Count()->windings + 1, second.Count()->windings);
  EXPECT_EQ(first.Count()->jobs, second.Count()->jobs);
  EXPECT_EQ(first.Count()->readings, second.Count()->readings);
  // Once more adds nothing.
  std::vector<NewEntry> again;
  for (const Entry& entry : before) {
    again.push_back(made_.at({entry.name, entry.revision}));
    again.back().entry = entry;
  }
  const auto repeated = second.Import(again);
  ASSERT_TRUE(repeated.ok()) << repeated.status();
  EXPECT_EQ(repeated->added, 0);
  EXPECT_EQ(repeated->passed_over, static_cast<int64_t>(before.size()));
}

TEST_F(Exchange, BothStoresFindTheSame) {
  Archive& sqlite = In(std::make_unique<SqliteStore>());
  Archive& postgresql = In(std::make_unique<PostgresqlStore>());
  Fill(sqlite);
  Take(sqlite, postgresql);
  size_t found = 0, pages = 0;
  for (int i = 0; i < 600; ++i) {
    Query query = draws_.Question(windings_, jobs_);
    const std::string told = absl::StrCat("question ", i, ": \"", query.text, "\"");
    while (true) {
      const auto a = sqlite.Find(query), b = postgresql.Find(query);
      ASSERT_TRUE(a.ok()) << told << a.status();
      ASSERT_TRUE(b.ok()) << told << b.status();
      ASSERT_EQ(Names(a->entries), Names(b->entries)) << told;
      for (size_t entry = 0; entry < a->entries.size(); ++entry) ExpectSame(a->entries[entry], b->entries[entry]);
      ASSERT_EQ(a->next, b->next) << told;
      found += a->entries.size();
      ++pages;
      query.after = a->next;
      if (query.after == 0) break;
    }
  }
  EXPECT_GT(found, 2000u);
  EXPECT_GT(pages, 800u);
}

TEST_F(Exchange, BothStoresFindTheSameNear) {
  Archive& sqlite = In(std::make_unique<SqliteStore>());
  Archive& postgresql = In(std::make_unique<PostgresqlStore>());
  Fill(sqlite);
  Take(sqlite, postgresql);
  size_t found = 0;
  for (int i = 0; i < 300; ++i) {
    const Near near = draws_.Like();
    const auto a = sqlite.Candidates(near), b = postgresql.Candidates(near);
    ASSERT_TRUE(a.ok()) << a.status();
    ASSERT_TRUE(b.ok()) << b.status();
    ASSERT_EQ(a->size(), b->size()) << i;
    for (size_t one = 0; one < a->size(); ++one) {
      EXPECT_EQ((*a)[one].name, (*b)[one].name) << i;
      EXPECT_EQ((*a)[one].bore_mm, (*b)[one].bore_mm) << i;
      EXPECT_EQ((*a)[one].outer_mm, (*b)[one].outer_mm) << i;
    }
    found += a->size();
  }
  EXPECT_GT(found, 300u);
}

}  // namespace
}  // namespace coilwright::archive
