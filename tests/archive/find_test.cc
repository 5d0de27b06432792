// Finding, against looking at every record.
#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "archive/fixture.h"

namespace coilwright::archive {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

const std::vector<std::string> kWords = {"pump", "pumice",       "punch", "fan",   "fanfare", "harbour",
                                         "lane", "112m",         "112mx", "spare", "spar",    "kettle",
                                         "k",    "kr\xc3\xa4he", "x1",    "0815"};

struct Kept {
  Kind kind = Kind::kWinding;
  std::string name;
  bool deleted = false;
  Facts facts;
};

// Numbers stand close to each other and on the steps that the index parts them by, where mistakes would be.
class Machines {
 public:
  explicit Machines(unsigned seed) : random_(seed) {}
  int Below(int count) { return static_cast<int>(random_() % static_cast<unsigned>(count)); }
  double Value(double around) {
    static const double kSteps[] = {0.5, 0.917, 0.999999999, 1.0, 1.000000001, 1.0905, 1.1, 1.5, 2.0, 7.3, 1000.0};
    return around * kSteps[Below(11)];
  }
  std::optional<double> Perhaps(double around) {
    if (Below(5) == 0) return std::nullopt;
    return Value(around);
  }
  std::string Words() {
    std::vector<std::string> words;
    for (int i = Below(4); i >= 0; --i)
      words.push_back(kWords[static_cast<size_t>(Below(static_cast<int>(kWords.size())))]);
    return absl::StrJoin(words, Below(2) == 0 ? " " : "-");
  }
  Facts Make() {
    Facts facts;
    facts.machine_kind = Below(4);
    facts.verdict = Below(3);
    facts.stage = Below(3);
    if (Below(6) != 0) facts.slots = 12 * (1 + Below(8)) + Below(2);
    if (Below(6) != 0) facts.poles = 2 * (1 + Below(5));
    facts.rated_volts = Perhaps(400);
    facts.rated_kw = Perhaps(4);
    facts.speed_rpm = Perhaps(1024);
    facts.bore_mm = Perhaps(128);
    facts.outer_mm = Perhaps(200);
    facts.stack_length_mm = Perhaps(100);
    facts.text = Words();
    if (Below(3) == 0) facts.serial = absl::StrCat("sn", Below(5));
    if (Below(3) == 0) facts.parent = absl::StrCat("windings/P", Below(3));
    return facts;
  }
  Range Between(double around) {
    Range range;
    if (Below(4) != 0) range.least = Value(around);
    if (Below(4) != 0) range.most = Value(around) * (Below(3) == 0 ? 1 : 1.7);
    return range;
  }

 private:
  std::minstd_rand random_;
};

bool Within(const Range& range, const std::optional<double>& value) {
  if (!range.least.has_value() && !range.most.has_value()) return true;
  return value.has_value() && *value >= range.least.value_or(-HUGE_VAL) && *value <= range.most.value_or(HUGE_VAL);
}

// Texts here have no accents but one, in one form, so plain splitting finds their words.
bool HasAll(const std::string& text, const std::string& asked) {
  const std::vector<std::string> words = absl::StrSplit(text, absl::ByAnyChar(" -"));
  for (const absl::string_view wanted : absl::StrSplit(asked, absl::ByAnyChar(" -"), absl::SkipEmpty())) {
    if (std::none_of(words.begin(), words.end(), [&](const auto& word) { return absl::StartsWith(word, wanted); })) {
      return false;
    }
  }
  return true;
}

bool Fits(const Kept& kept, const Query& query) {
  const Facts& facts = kept.facts;
  const auto is = [](int asked, int value) { return asked == 0 || asked == value; };
  const auto named = [](const std::string& asked, const std::string& value) { return asked.empty() || asked == value; };
  return kept.kind == query.kind && (query.deleted_too || !kept.deleted) && HasAll(facts.text, query.text) &&
         is(query.machine_kind, facts.machine_kind) && is(query.verdict, facts.verdict) &&
         is(query.stage, facts.stage) && named(query.parent, facts.parent) && named(query.serial, facts.serial) &&
         Within(query.slots, facts.slots) && Within(query.poles, facts.poles) &&
         Within(query.rated_volts, facts.rated_volts) && Within(query.rated_kw, facts.rated_kw) &&
         Within(query.speed_rpm, facts.speed_rpm) && Within(query.bore_mm, facts.bore_mm) &&
         Within(query.outer_mm, facts.outer_mm) && Within(query.stack_length_mm, facts.stack_length_mm);
}

class Finds : public ArchiveTest {
 protected:
  // Some come in, some are changed, some deleted; what is found is what they became.
  void Fill(Machines& machines, int count) {
    std::vector<NewEntry> entries;
    for (int i = 0; i < count; ++i) {
      NewEntry made = machines.Below(4) == 0 ? Job(absl::StrCat("j", i)) : Winding(absl::StrCat("w", i));
      made.facts = machines.Make();
      all_kept.push_back({made.entry.kind, made.entry.name, false, made.facts});
      entries.push_back(made);
    }
    for (Kept& kept : all_kept) {
      for (int revision = 2; machines.Below(3) == 0; ++revision) {
        NewEntry made;
        made.entry.kind = kept.kind;
        made.entry.name = kept.name;
        made.entry.revision = revision;
        made.entry.deleted = kept.deleted = machines.Below(3) == 0;
        made.facts = kept.facts = machines.Below(2) == 0 ? kept.facts : machines.Make();
        entries.push_back(made);
      }
    }
    const absl::StatusOr<Imported> imported = archive->Import(entries);
    ASSERT_TRUE(imported.ok()) << imported.status();
  }
  // Over all pages.
  std::vector<std::string> FindAll(Query query) {
    std::vector<std::string> names;
    do {
      const absl::StatusOr<Found> found = archive->Find(query);
      EXPECT_TRUE(found.ok()) << found.status();
      if (!found.ok()) break;
      EXPECT_LE(found->entries.size(), static_cast<size_t>(query.most));
      for (const Entry& entry : found->entries) names.push_back(entry.name);
      query.after = found->next;
    } while (query.after != 0);
    return names;
  }
  std::vector<std::string> LookAtAll(const Query& query) {
    std::vector<std::string> names;
    for (const Kept& kept : all_kept) {
      if (Fits(kept, query)) names.push_back(kept.name);
    }
    if (!query.oldest_first) std::reverse(names.begin(), names.end());
    return names;
  }

  std::vector<Kept> all_kept;
};
COILWRIGHT_IN_EVERY_STORE(Finds);

TEST_P(Finds, WhatLookingAtEveryRecordFinds) {
  Machines machines(20);
  Fill(machines, 700);
  int something = 0;
  for (int i = 0; i < 600; ++i) {
    Query query;
    query.kind = machines.Below(4) == 0 ? Kind::kJob : Kind::kWinding;
    query.deleted_too = machines.Below(4) == 0;
    query.oldest_first = machines.Below(3) == 0;
    query.most = 1 + machines.Below(40);
    // Mostly one or two conditions, so that most questions have answers.
    for (int conditions = machines.Below(3); conditions >= 0; --conditions) {
      switch (machines.Below(15)) {
        case 0:
          query.machine_kind = machines.Below(4);
          break;
        case 1:
          query.verdict = machines.Below(3);
          break;
        case 2:
          query.stage = machines.Below(3);
          break;
        case 3:
          query.slots = machines.Between(36);
          break;
        case 4:
          query.poles = machines.Between(4);
          break;
        case 5:
          query.rated_volts = machines.Between(400);
          break;
        case 6:
          query.rated_kw = machines.Between(4);
          break;
        case 7:
          query.speed_rpm = machines.Between(1024);
          break;
        case 8:
          query.bore_mm = machines.Between(128);
          break;
        case 9:
          query.outer_mm = machines.Between(200);
          break;
        case 10:
          query.stack_length_mm = machines.Between(100);
          break;
        case 11:
          query.parent = absl::StrCat("windings/", machines.Below(2) == 0 ? "P" : "p", machines.Below(3));
          break;
        case 12:
          query.serial = absl::StrCat("sn", machines.Below(5));
          break;
        case 13:
          query.text = machines.Words();
          break;
        default: {
          const std::string& word = kWords[static_cast<size_t>(machines.Below(static_cast<int>(kWords.size())))];
          const int letters = 1 + machines.Below(3);
          query.text = word.substr(0, static_cast<size_t>(letters));
        }
      }
    }
    const std::vector<std::string> expected = LookAtAll(query);
    something += expected.empty() ? 0 : 1;
    ASSERT_EQ(FindAll(query), expected) << "question " << i << ": \"" << query.text << "\"";
  }
  EXPECT_GT(something, 300);
}

TEST_P(Finds, NearOnesAsLookingAtEveryRecordDoes) {
  Machines machines(21);
  Fill(machines, 700);
  int something = 0;
  for (int i = 0; i < 200; ++i) {
    Near near;
    near.slots = 12 * (1 + machines.Below(8));
    near.machine_kind = machines.Below(4);
    near.bore_mm = machines.Value(128);
    near.outer_mm = machines.Perhaps(200);
    near.stack_length_mm = machines.Perhaps(100);
    if (machines.Below(2) == 0) near.poles = 2 * (1 + machines.Below(5));
    near.most = 1 + machines.Below(30);
    const auto ratio = [](double a, double b) { return std::max(a / b, b / a); };
    std::vector<double> expected;
    for (const Kept& kept : all_kept) {
      const Facts& facts = kept.facts;
      if (kept.kind != Kind::kWinding || kept.deleted || facts.slots != near.slots || !facts.bore_mm.has_value())
        continue;
      if (near.machine_kind != 0 && facts.machine_kind != 0 && facts.machine_kind != near.machine_kind) continue;
      if (near.poles.has_value() && facts.poles.has_value() && facts.poles != near.poles) continue;
      if (near.outer_mm && facts.outer_mm && ratio(*near.outer_mm, *facts.outer_mm) > near.outer_ratio) continue;
      if (near.stack_length_mm && facts.stack_length_mm &&
          ratio(*near.stack_length_mm, *facts.stack_length_mm) > near.stack_ratio * (1 + 1e-12)) {
        continue;
      }
      if (ratio(near.bore_mm, *facts.bore_mm) <= near.bore_ratio)
        expected.push_back(ratio(near.bore_mm, *facts.bore_mm));
    }
    std::sort(expected.begin(), expected.end());
    expected.resize(std::min(expected.size(), static_cast<size_t>(near.most)));
    const absl::StatusOr<std::vector<Facts>> found = archive->Candidates(near);
    ASSERT_TRUE(found.ok()) << found.status();
    std::vector<double> ratios;
    for (const Facts& facts : *found) {
      EXPECT_EQ(facts.slots, near.slots);
      EXPECT_THAT(facts.name, ::testing::StartsWith("windings/w"));
      ratios.push_back(ratio(near.bore_mm, facts.bore_mm.value_or(0)));
    }
    ASSERT_THAT(ratios, ::testing::Pointwise(::testing::DoubleEq(), expected)) << i;
    something += expected.empty() ? 0 : 1;
  }
  EXPECT_GT(something, 50);
}

TEST_P(Finds, WhateverTheCaseAndTheAccents) {
  NewEntry made = Winding("a");
  made.facts.text =
      "KR\xc3\x84HE Stra\xc3\x9f"
      "e n\xc2\xba 7, Caf\xc3\xa9-M\xc3\xbcller 4\xc2\xbd kW \xce\xa3\xce\x95\xce\x99\xce\xa1\xce\x91\xce\xa3";
  Write(made);
  const auto finds = [&](const std::string& text) {
    Query query;
    query.text = text;
    const absl::StatusOr<Found> found = archive->Find(query);
    EXPECT_TRUE(found.ok()) << found.status();
    return found->entries.size() == 1;
  };
  EXPECT_TRUE(finds("kr\xc3\xa4he"));
  EXPECT_TRUE(finds("KRAHE"));
  EXPECT_TRUE(finds("kra\xcc\x88"));  // an a and a mark of its own
  EXPECT_TRUE(finds("STRASSE"));      // Unicode CaseFolding.txt: 00DF folds to "ss"
  EXPECT_TRUE(finds("cafe muller"));
  EXPECT_TRUE(finds("\xcf\x83\xce\xb5\xce\xb9\xcf\x81\xce\xb1\xcf\x82"));  // final sigma
  EXPECT_TRUE(finds("m-c 7"));
  EXPECT_TRUE(finds(""));
  EXPECT_TRUE(finds("*'\" ()"));  // no word at all
  EXPECT_FALSE(finds("krahen"));
  EXPECT_FALSE(finds("afe"));
  EXPECT_FALSE(finds("cafe tea"));
  EXPECT_FALSE(finds("OR"));
  EXPECT_FALSE(finds("\" OR \"cafe"));
  EXPECT_TRUE(
      finds("\xff"
            "caf\xff"));
}

TEST_P(Finds, ManyWordsThatBeginAlike) {
  std::vector<NewEntry> entries;
  for (int i = 0; i < 450; ++i) {
    entries.push_back(Winding(absl::StrCat("w", i)));
    entries.back().facts.text = absl::StrCat("serial", 1000 + i);
  }
  ASSERT_TRUE(archive->Import(entries).ok());
  Query query;
  for (const auto& [text, count] : std::map<std::string, size_t>{{"s", 450},
                                                                 {"se", 450},
                                                                 {"ser", 450},
                                                                 {"serial1", 450},
                                                                 {"serial12", 100},
                                                                 {"serial123", 10},
                                                                 {"serial2", 0}}) {
    query.text = text;
    EXPECT_EQ(FindAll(query).size(), count) << text;
  }
}

TEST_P(Finds, PagesStandWhileOthersWrite) {
  for (int i = 0; i < 6; ++i) {
    NewEntry made = Winding(std::to_string(i));
    made.facts.text = "pump";
    Write(made);
  }
  for (const std::string text : {"", "pump"}) {
    Query query;
    query.text = text;
    query.most = 2;
    const absl::StatusOr<Found> first = archive->Find(query);
    NewEntry made = Winding("late " + text);
    made.facts.text = "pump";
    const Entry late = Write(made);
    // A change does not move a resource.
    const Entry current = *archive->Get("windings/1");
    NewEntry changed = Winding("1", "changed", current.revision);
    changed.facts.text = "pump";
    Write(changed);
    query.after = first->next;
    const absl::StatusOr<Found> second = archive->Find(query);
    query.after = second->next;
    const absl::StatusOr<Found> third = archive->Find(query);
    std::vector<std::string> names = Names(first->entries);
    for (const absl::StatusOr<Found>* page : {&second, &third}) {
      for (const Entry& entry : (*page)->entries) names.push_back(entry.name);
    }
    const std::vector<std::string> all = {"windings/5", "windings/4", "windings/3",
                                          "windings/2", "windings/1", "windings/0"};
    if (text.empty()) {
      EXPECT_EQ(names, all);
    } else {
      EXPECT_EQ(names, std::vector<std::string>(
                           {"windings/late ", "windings/5", "windings/4", "windings/3", "windings/2", "windings/1"}));
    }
    EXPECT_EQ(third->next == 0, text.empty());
  }
}

TEST_P(Finds, ReadingsOfAJobByStage) {
  Write(Job("j"));
  Write(Job("k"));
  for (int i = 0; i < 6; ++i) {
    NewEntry made = ReadingsOf(i < 5 ? "jobs/j" : "jobs/k");
    made.facts.stage = 1 + i % 2;
    Write(made);
  }
  Query query;
  query.kind = Kind::kReadings;
  query.parent = "jobs/j";
  query.stage = 2;
  query.oldest_first = true;
  EXPECT_THAT(FindAll(query), ElementsAre("jobs/j/readings/2", "jobs/j/readings/4"));
  query.parent = "jobs/none";
  EXPECT_THAT(FindAll(query), IsEmpty());
}

}  // namespace
}  // namespace coilwright::archive
