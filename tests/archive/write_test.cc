// What a write promises, in every store.
#include <algorithm>
#include <map>
#include <mutex>
#include <set>

#include "archive/fixture.h"

namespace coilwright::archive {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::StartsWith;

class Writes : public ArchiveTest {};
COILWRIGHT_IN_EVERY_STORE(Writes);

TEST_P(Writes, AreKeptAsGiven) {
  NewEntry made = Requested(Winding("a-1", std::string("\0\xff'\"; bytes", 11)), "call-1", "abc");
  made.entry.recorded_micros = 1700000000000001;
  made.entry.create_micros = 1400000000000002;
  const Entry kept = Write(made);
  EXPECT_EQ(kept.sequence, 1);
  EXPECT_EQ(kept.revision, 1);
  EXPECT_EQ(kept.name, "windings/a-1");
  EXPECT_EQ(kept.payload, made.entry.payload);
  EXPECT_EQ(kept.recorded_micros, 1700000000000001);
  EXPECT_EQ(kept.create_micros, 1400000000000002);
  Reopen();
  const absl::StatusOr<Entry> read = archive->Get("windings/a-1");
  ASSERT_TRUE(read.ok()) << read.status();
  ExpectSame(*read, kept);
}

TEST_P(Writes, AreGivenTheirTime) {
  const Entry first = Write(Winding("a"));
  const Entry second = Write(Winding("a", "changed", 1));
  EXPECT_GT(first.recorded_micros, 1600000000000000);
  EXPECT_EQ(first.create_micros, first.recorded_micros);
  EXPECT_GE(second.recorded_micros, first.recorded_micros);
  EXPECT_EQ(second.create_micros, first.create_micros);
  EXPECT_EQ(second.revision, 2);
}

TEST_P(Writes, ARequestIdIsAppliedOnce) {
  const Entry kept = Write(Requested(Winding("a"), "call-1"));
  ExpectSame(Write(Requested(Winding("a"), "call-1")), kept);
  // Even where the service chose another name for the repeat.
  ExpectSame(Write(Requested(Winding("b"), "call-1")), kept);
  const absl::StatusOr<Entry> misused = archive->Write(Requested(Winding("c"), "call-1", "another digest"));
  EXPECT_EQ(misused.status().code(), absl::StatusCode::kAlreadyExists);
  EXPECT_THAT(std::string(misused.status().message()), StartsWith("request_id: "));
  EXPECT_EQ(All().size(), 1u);
  const auto made = archive->MadeBy("call-1");
  ASSERT_TRUE(made.ok() && made->has_value());
  ExpectSame(**made, kept);
  const auto none = archive->MadeBy("call-2");
  ASSERT_TRUE(none.ok());
  EXPECT_FALSE(none->has_value());
}

TEST_P(Writes, ARequestIdIsAppliedOnceByManyAtOnce) {
  Write(Job("j"));
  std::vector<Entry> answers(16);
  InThreads(16, [&](int i) {
    for (int again = 0; again < 3; ++again) {
      const absl::StatusOr<Entry> entry = archive->Write(Requested(ReadingsOf("jobs/j"), "the same"));
      ASSERT_TRUE(entry.ok()) << entry.status();
      answers[static_cast<size_t>(i)] = *entry;
    }
  });
  for (const Entry& answer : answers) ExpectSame(answer, answers[0]);
  EXPECT_EQ(All().size(), 2u);
}

TEST_P(Writes, FollowTheCurrentRevisionOrAreRefused) {
  Write(Winding("a"));
  EXPECT_EQ(Refusal(Winding("a")), absl::StatusCode::kAlreadyExists);
  EXPECT_EQ(Refusal(Winding("b", "x", 1)), absl::StatusCode::kNotFound);
  Write(Winding("a", "second", 1));
  const absl::StatusOr<Entry> late = archive->Write(Winding("a", "lost", 1));
  EXPECT_EQ(late.status().code(), absl::StatusCode::kAborted);
  EXPECT_THAT(std::string(late.status().message()), HasSubstr("windings/a is at revision 2"));
  EXPECT_EQ(Refusal(Winding("a", "early", 3)), absl::StatusCode::kAborted);
  EXPECT_EQ(archive->Get("windings/a")->payload, "second");
  EXPECT_EQ(archive->Get("windings/a", 1)->payload, "payload");
  EXPECT_EQ(archive->Get("windings/a", 3).status().code(), absl::StatusCode::kNotFound);
  EXPECT_EQ(archive->Get("windings/none").status().code(), absl::StatusCode::kNotFound);
  // A refused call leaves no gap.
  EXPECT_EQ(Write(Winding("c")).sequence, 3);
}

// A counter that everybody reads, adds one to and writes back: what it shows at the end is what was acknowledged.
TEST_P(Writes, NoUpdateIsLost) {
  constexpr int kThreads = 12, kWins = 15;
  Write(Winding("a", "0"));
  std::mutex mutex;
  std::map<int, int> winners;  // by revision
  int aborted = 0;
  InThreads(kThreads, [&](int) {
    for (int wins = 0; wins < kWins;) {
      const absl::StatusOr<Entry> read = archive->Get("windings/a");
      ASSERT_TRUE(read.ok()) << read.status();
      const absl::StatusOr<Entry> entry =
          archive->Write(Winding("a", std::to_string(std::stoi(read->payload) + 1), read->revision));
      const std::lock_guard<std::mutex> lock(mutex);
      if (entry.ok()) {
        ++wins;
        ++winners[entry->revision];
      } else {
        ASSERT_EQ(entry.status().code(), absl::StatusCode::kAborted) << entry.status();
        ++aborted;
      }
    }
  });
  EXPECT_EQ(archive->Get("windings/a")->payload, std::to_string(kThreads * kWins));
  EXPECT_EQ(archive->Get("windings/a")->revision, kThreads * kWins + 1);
  EXPECT_EQ(winners.size(), static_cast<size_t>(kThreads * kWins));
  for (const auto& [revision, count] : winners) EXPECT_EQ(count, 1) << revision;
  EXPECT_GT(aborted, 0) << "nobody was ever in another's way: the test shows nothing";
}

TEST_P(Writes, NeedWhatTheyBelongTo) {
  EXPECT_EQ(Refusal(Job("j", "windings/a")), absl::StatusCode::kNotFound);
  EXPECT_EQ(Refusal(ReadingsOf("jobs/j")), absl::StatusCode::kNotFound);
  Write(Winding("a"));
  Write(Job("j", "windings/a"));
  EXPECT_EQ(Write(ReadingsOf("jobs/j")).name, "jobs/j/readings/1");
  NewEntry gone = Job("j");
  gone.entry.deleted = true;
  gone.follows = 1;
  Write(gone);
  EXPECT_EQ(Refusal(ReadingsOf("jobs/j")), absl::StatusCode::kFailedPrecondition);
  gone.entry.deleted = false;
  gone.follows = 2;
  Write(gone);
  EXPECT_EQ(Write(ReadingsOf("jobs/j")).name, "jobs/j/readings/2");
}

TEST_P(Writes, ReadingsAreNumberedWithoutGaps) {
  Write(Job("j"));
  Write(Job("k"));
  std::mutex mutex;
  std::set<std::string> given;
  InThreads(8, [&](int i) {
    for (int n = 0; n < 10; ++n) {
      const absl::StatusOr<Entry> entry = archive->Write(ReadingsOf(i % 2 == 0 ? "jobs/j" : "jobs/k"));
      ASSERT_TRUE(entry.ok()) << entry.status();
      const std::lock_guard<std::mutex> lock(mutex);
      given.insert(entry->name);
    }
  });
  std::set<std::string> expected;
  for (int n = 1; n <= 40; ++n) {
    expected.insert("jobs/j/readings/" + std::to_string(n));
    expected.insert("jobs/k/readings/" + std::to_string(n));
  }
  EXPECT_EQ(given, expected);
  Query query;
  query.kind = Kind::kReadings;
  query.parent = "jobs/k";
  query.oldest_first = true;
  query.most = 3;
  EXPECT_THAT(Names(archive->Find(query)->entries),
              ElementsAre("jobs/k/readings/1", "jobs/k/readings/2", "jobs/k/readings/3"));
  const std::vector<Entry> all = All();
  for (size_t i = 0; i < all.size(); ++i) EXPECT_EQ(all[i].sequence, static_cast<int64_t>(i) + 1);
}

TEST_P(Writes, DeletingMarksAndIsUndone) {
  NewEntry made = Winding("a");
  made.facts.text = "pump";
  Write(made);
  Write(Winding("b"));
  EXPECT_EQ(archive->Count()->windings, 2);
  made.entry.deleted = true;
  made.follows = 1;
  EXPECT_TRUE(Write(made).deleted);
  EXPECT_EQ(archive->Count()->windings, 1);
  EXPECT_EQ(archive->Count()->entries, 3);
  EXPECT_TRUE(archive->Get("windings/a")->deleted);
  EXPECT_FALSE(archive->Get("windings/a", 1)->deleted);
  EXPECT_EQ(Refusal(Winding("a")), absl::StatusCode::kAlreadyExists);
  Query query;
  EXPECT_THAT(Names(archive->Find(query)->entries), ElementsAre("windings/b"));
  query.text = "pump";
  EXPECT_TRUE(archive->Find(query)->entries.empty());
  query.deleted_too = true;
  EXPECT_THAT(Names(archive->Find(query)->entries), ElementsAre("windings/a"));
  made.entry.deleted = false;
  made.follows = 2;
  Write(made);
  query.deleted_too = false;
  EXPECT_THAT(Names(archive->Find(query)->entries), ElementsAre("windings/a"));
  EXPECT_EQ(archive->Count()->windings, 2);
}

TEST_P(Writes, HistoryGoesBackInPages) {
  Write(Winding("a", "1"));
  for (int follows = 1; follows < 7; ++follows) Write(Winding("a", std::to_string(follows + 1), follows));
  Write(Winding("ab"));
  const auto payloads = [&](std::optional<int> before, int most) {
    std::vector<std::string> found;
    const absl::StatusOr<std::vector<Entry>> entries = archive->History("windings/a", before, most);
    EXPECT_TRUE(entries.ok()) << entries.status();
    for (const Entry& entry : *entries) found.push_back(entry.payload);
    return found;
  };
  EXPECT_THAT(payloads(std::nullopt, 3), ElementsAre("7", "6", "5"));
  EXPECT_THAT(payloads(5, 3), ElementsAre("4", "3", "2"));
  EXPECT_THAT(payloads(2, 3), ElementsAre("1"));
  EXPECT_THAT(payloads(1, 3), ElementsAre());
  EXPECT_EQ(archive->History("windings/none", std::nullopt, 3).status().code(), absl::StatusCode::kNotFound);
}

TEST_P(Writes, TheLogComesInOrderAndInPagesOfBytes) {
  for (int i = 0; i < 20; ++i) Write(Winding(std::to_string(i), std::string(static_cast<size_t>(100 * (i % 4)), 'x')));
  EXPECT_EQ(*archive->LastSequence(), 20);
  int64_t after = 0;
  int pages = 0;
  while (after < 15) {
    const absl::StatusOr<std::vector<Entry>> page = archive->Log(after, 15, 450);
    ASSERT_TRUE(page.ok() && !page->empty());
    size_t bytes = 0;
    for (const Entry& entry : *page) {
      EXPECT_EQ(entry.sequence, ++after);
      bytes += entry.payload.size();
    }
    EXPECT_LE(bytes, 450u);
    ++pages;
  }
  EXPECT_GT(pages, 3);
  EXPECT_TRUE(archive->Log(15, 15, 450)->empty());
  // One that is larger than a page still comes.
  EXPECT_EQ(archive->Log(3, 15, 10)->size(), 1u);
}

TEST_P(Writes, CountsByKind) {
  EXPECT_EQ(archive->Count()->entries, 0);
  Write(Winding("a"));
  Write(Winding("a", "again", 1));
  Write(Job("j"));
  for (int i = 0; i < 3; ++i) Write(ReadingsOf("jobs/j"));
  const absl::StatusOr<Size> size = archive->Count();
  ASSERT_TRUE(size.ok()) << size.status();
  EXPECT_EQ(size->windings, 1);
  EXPECT_EQ(size->jobs, 1);
  EXPECT_EQ(size->readings, 3);
  EXPECT_EQ(size->entries, 6);
  EXPECT_THAT(archive->store(), StartsWith(GetParam().name));
}

}  // namespace
}  // namespace coilwright::archive
