// Everything out of one archive and into another, in every store.
#include <set>

#include "archive/fixture.h"

namespace coilwright::archive {
namespace {

using ::testing::HasSubstr;

// As an import gets them from the service: the entry, its facts anew, and what it needs.
std::vector<NewEntry> AsImport(const std::vector<Entry>& entries) {
  std::vector<NewEntry> made;
  for (const Entry& entry : entries) {
    made.emplace_back();
    made.back().entry = entry;
    made.back().facts.text = "imported";
    if (entry.kind == Kind::kReadings) made.back().needs = entry.name.substr(0, entry.name.find("/readings"));
  }
  return made;
}

class Imports : public ArchiveTest {
 protected:
  void SetUp() override {
    ArchiveTest::SetUp();
    other_store = std::make_unique<SqliteStore>();
    absl::StatusOr<std::unique_ptr<Archive>> opened = Archive::Open(*other_store->Open());
    ASSERT_TRUE(opened.ok()) << opened.status();
    other = *std::move(opened);
    // An archive with a history.
    ASSERT_TRUE(other->Write(Requested(Winding("a", std::string("first\0\xff", 7)), "call-1")).ok());
    ASSERT_TRUE(other->Write(Job("j", "windings/a")).ok());
    ASSERT_TRUE(other->Write(ReadingsOf("jobs/j", "one")).ok());
    ASSERT_TRUE(other->Write(Winding("a", "second", 1)).ok());
    ASSERT_TRUE(other->Write(ReadingsOf("jobs/j", "two")).ok());
    NewEntry gone = Winding("a", "gone", 2);
    gone.entry.deleted = true;
    ASSERT_TRUE(other->Write(gone).ok());
    exported = *other->Log(0, 100, 1 << 20);
    ASSERT_EQ(exported.size(), 6u);
  }
  void TearDown() override {
    other.reset();
    ArchiveTest::TearDown();
  }
  void ExpectRefused(const std::vector<NewEntry>& entries, absl::StatusCode code, const std::string& why) {
    const std::vector<Entry> before = All();
    const Size size = *archive->Count();
    const absl::Status refused = archive->Import(entries).status();
    EXPECT_EQ(refused.code(), code) << refused;
    EXPECT_THAT(std::string(refused.message()), HasSubstr(why));
    EXPECT_EQ(Names(All()), Names(before));
    EXPECT_EQ(archive->Count()->windings, size.windings);
    Query query;
    query.text = "imported";
    query.deleted_too = true;
    EXPECT_EQ(archive->Find(query)->entries.size(), size.windings) << "something of a refused import is found";
  }

  std::unique_ptr<TestStore> other_store;
  std::unique_ptr<Archive> other;
  std::vector<Entry> exported;
};
COILWRIGHT_IN_EVERY_STORE(Imports);

TEST_P(Imports, LoseNothing) {
  const absl::StatusOr<Imported> imported = archive->Import(AsImport(exported));
  ASSERT_TRUE(imported.ok()) << imported.status();
  EXPECT_EQ(imported->added, 6);
  EXPECT_EQ(imported->passed_over, 0);
  const std::vector<Entry> all = All();
  ASSERT_EQ(all.size(), exported.size());
  for (size_t i = 0; i < all.size(); ++i) ExpectSame(all[i], exported[i]);
  EXPECT_EQ(archive->Count()->windings, 0);
  EXPECT_EQ(archive->Count()->readings, 2);
  // What was a repeat there is one here, and numbers go on.
  ExpectSame(Write(Requested(Winding("a"), "call-1")), exported[0]);
  EXPECT_EQ(Write(ReadingsOf("jobs/j")).name, "jobs/j/readings/3");
}

TEST_P(Imports, PassOverWhatIsThere) {
  ASSERT_TRUE(archive->Import(AsImport({exported[0], exported[1]})).ok());
  const absl::StatusOr<Imported> again = archive->Import(AsImport(exported));
  ASSERT_TRUE(again.ok()) << again.status();
  EXPECT_EQ(again->added, 4);
  EXPECT_EQ(again->passed_over, 2);
  EXPECT_EQ(archive->Import(AsImport(exported))->passed_over, 6);
  EXPECT_EQ(archive->Import({})->added, 0);
  EXPECT_EQ(All().size(), 6u);
}

TEST_P(Imports, MergeWithWhatCameInHere) {
  Write(Winding("here"));
  ASSERT_TRUE(archive->Import(AsImport(exported)).ok());
  EXPECT_EQ(All().size(), 7u);
  EXPECT_EQ(archive->Get("windings/a", 2)->sequence, 5);
}

TEST_P(Imports, AreWholeOrAbsent) {
  std::vector<NewEntry> entries = AsImport(exported);
  entries[3].entry.revision = 5;
  ExpectRefused(entries, absl::StatusCode::kFailedPrecondition, "revision 5 of windings/a cannot follow revision 1");
  entries = AsImport(exported);
  entries.erase(entries.begin() + 1);
  ExpectRefused(entries, absl::StatusCode::kFailedPrecondition, "needs jobs/j");
  entries = AsImport(exported);
  entries.erase(entries.begin() + 2);
  ExpectRefused(entries, absl::StatusCode::kFailedPrecondition, "the next of its job is number 1");
  entries = AsImport(exported);
  entries[4].entry.request_id = "call-1";
  ExpectRefused(entries, absl::StatusCode::kAlreadyExists, "request id of windings/a");
  ASSERT_TRUE(archive->Import(AsImport(exported)).ok());
  NewEntry made = Winding("b");
  made.facts.text = "imported";
  entries = {made, AsImport(exported)[3]};
  entries[1].entry.payload = "changed";
  const absl::Status differs = archive->Import(entries).status();
  EXPECT_EQ(differs.code(), absl::StatusCode::kAlreadyExists);
  EXPECT_THAT(std::string(differs.message()), HasSubstr("revision 2 of windings/a is in the archive and differs"));
  EXPECT_FALSE(archive->Get("windings/b").ok());
  EXPECT_EQ(All().size(), 6u);
  // Nothing of the refused ones is in the way.
  Write(Winding("b"));
  EXPECT_EQ(All().back().sequence, 7);
}

// What the disk or another program changed is marked where several are read, refused where it is read alone, and put
// right by the import of what it was.
TEST_P(Imports, PutDamagedEntriesRight) {
  for (const char* name : {"a", "b", "c"}) Write(Winding(name));
  const std::vector<Entry> good = All();
  {
    auto db = *open_store();
    ASSERT_TRUE(db->BeginWrite().ok());
    ASSERT_TRUE(db->Query("UPDATE entry SET payload = $1, recorded_micros = 5 WHERE sequence = 2", {Blob{"x"}}).ok());
    ASSERT_TRUE(db->Commit().ok());
  }
  const auto damaged = [&](const std::vector<Entry>& entries) {
    std::vector<int64_t> sequences;
    for (const Entry& entry : entries)
      if (entry.damaged) sequences.push_back(entry.sequence);
    return sequences;
  };
  EXPECT_EQ(damaged(All()), std::vector<int64_t>{2});
  EXPECT_EQ(damaged(archive->Find(Query())->entries), std::vector<int64_t>{2});
  EXPECT_EQ(damaged(*archive->History("windings/b", std::nullopt, 5)), std::vector<int64_t>{2});
  EXPECT_EQ(archive->Get("windings/b").status().code(), absl::StatusCode::kDataLoss);
  EXPECT_TRUE(archive->Get("windings/c").ok());
  std::vector<NewEntry> again;
  for (const Entry& entry : good) {
    NewEntry made = Winding(entry.name.substr(9));
    made.entry = entry;
    again.push_back(made);
  }
  const auto imported = archive->Import(again);
  ASSERT_TRUE(imported.ok()) << imported.status();
  EXPECT_EQ(imported->added, 1);
  EXPECT_EQ(imported->passed_over, 2);
  const std::vector<Entry> now = All();
  ASSERT_EQ(now.size(), good.size());
  for (size_t i = 0; i < now.size(); ++i) ExpectSame(now[i], good[i]);
  EXPECT_TRUE(damaged(now).empty());
  EXPECT_EQ(archive->Count()->windings, 3);
}

TEST_P(Imports, GoOnBesideWrites) {
  InThreads(6, [&](int i) {
    for (int n = 0; n < 10; ++n) {
      const std::string id = std::to_string(i) + "-" + std::to_string(n);
      if (i % 2 == 0) {
        EXPECT_EQ(archive->Import({Winding(id + "a"), Winding(id + "b")})->added, 2);
      } else {
        EXPECT_TRUE(archive->Write(Winding(id)).ok());
      }
    }
  });
  const std::vector<Entry> all = All();
  EXPECT_EQ(all.size(), 90u);
  for (size_t i = 0; i < all.size(); ++i) EXPECT_EQ(all[i].sequence, static_cast<int64_t>(i) + 1);
}

}  // namespace
}  // namespace coilwright::archive
