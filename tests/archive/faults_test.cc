// A store that is slow, loses its connections or stays away.
#include <atomic>
#include <map>
#include <mutex>
#include <set>

#include "archive/faulty.h"
#include "archive/fixture.h"

namespace coilwright::archive {
namespace {

using ::testing::HasSubstr;

class Faulted : public ArchiveTest {
 protected:
  std::shared_ptr<Faults> faults = std::make_shared<Faults>();
};
COILWRIGHT_IN_EVERY_STORE(Faulted);

TEST_P(Faulted, MoreWritesThanMayWaitAreToldSo) {
  ArchiveOptions options;
  options.most_writes_waiting = 3;
  Reopen(Faulty(open_store, faults), options);
  faults->SetGate(true);
  std::atomic<int> kept{0};
  std::vector<std::thread> writers;
  for (int i = 0; i < 3; ++i) {
    writers.emplace_back([&, i] { kept += archive->Write(Winding(std::to_string(i))).ok() ? 1 : 0; });
    while (archive->writes_waiting() <= i) std::this_thread::yield();
  }
  const absl::Status refused = archive->Write(Winding("one too many")).status();
  EXPECT_EQ(refused.code(), absl::StatusCode::kResourceExhausted);
  EXPECT_THAT(std::string(refused.message()), HasSubstr("3 writes wait"));
  EXPECT_EQ(archive->Import({Winding("one too many")}).status().code(), absl::StatusCode::kResourceExhausted);
  faults->SetGate(false);
  for (std::thread& writer : writers) writer.join();
  EXPECT_EQ(kept, 3);
  EXPECT_EQ(archive->Count()->windings, 3);
  EXPECT_EQ(archive->writes_waiting(), 0);
  Write(Winding("room again"));
}

TEST_P(Faulted, ClosingFinishesTheWritesThatWait) {
  Reopen(Faulty(open_store, faults), {});
  faults->SetGate(true);
  std::atomic<int> kept{0};
  std::vector<std::thread> writers;
  for (int i = 0; i < 5; ++i) {
    writers.emplace_back([&, i] { kept += archive->Write(Winding(std::to_string(i))).ok() ? 1 : 0; });
  }
  while (archive->writes_waiting() < 5) std::this_thread::yield();
  std::thread opener([&] {
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    faults->SetGate(false);
  });
  archive.reset();
  opener.join();
  for (std::thread& writer : writers) writer.join();
  EXPECT_EQ(kept, 5);
  Reopen();
  EXPECT_EQ(archive->Count()->windings, 5);
}

// Without request ids, so that the archive alone must know what took place.
TEST_P(Faulted, LostConnectionsLoseAndDoubleNothing) {
  Reopen(Faulty(open_store, faults), {});
  Write(Job("j"));
  faults->LoseOneIn(40);
  std::mutex mutex;
  std::multiset<std::string> kept;
  InThreads(8, [&](int i) {
    for (int n = 0; n < 25; ++n) {
      const std::string mark = std::to_string(i) + "-" + std::to_string(n);
      const absl::StatusOr<Entry> entry =
          archive->Write(n % 2 == 0 ? Winding(mark, "mark " + mark) : ReadingsOf("jobs/j", "mark " + mark));
      ASSERT_TRUE(entry.ok()) << entry.status();
      EXPECT_EQ(entry->payload, "mark " + mark);
      const std::lock_guard<std::mutex> lock(mutex);
      kept.insert(entry->name + "=" + entry->payload);
    }
  });
  faults->LoseOneIn(0);
  EXPECT_GT(faults->struck(), 10) << "too few connections were lost: the test shows nothing";
  std::multiset<std::string> there;
  const std::vector<Entry> all = All();
  for (size_t i = 1; i < all.size(); ++i) there.insert(all[i].name + "=" + all[i].payload);
  EXPECT_EQ(there, kept);
  EXPECT_EQ(archive->Count()->readings, 96);
}

TEST_P(Faulted, ALostConnectionDoesNotImportTwice) {
  Reopen(Faulty(open_store, faults), {});
  faults->LoseOneIn(30);
  for (int i = 0; i < 30; ++i) {
    const std::string id = std::to_string(i);
    const absl::StatusOr<Imported> imported = archive->Import({Winding(id + "a"), Winding(id + "b")});
    ASSERT_TRUE(imported.ok()) << imported.status();
    EXPECT_EQ(imported->added, 2) << i;
    EXPECT_EQ(imported->passed_over, 0) << i;
  }
  faults->LoseOneIn(0);
  EXPECT_EQ(archive->Count()->windings, 60);
}

TEST_P(Faulted, AStoreThatStaysAwayIsWaitedForOnlySoLong) {
  ArchiveOptions options;
  options.patience = std::chrono::milliseconds(100);
  Reopen(Faulty(open_store, faults), options);
  Write(Winding("a"));
  ASSERT_TRUE(archive->Get("windings/a").ok());
  faults->SetAway(true);
  EXPECT_EQ(Refusal(Winding("b")), absl::StatusCode::kUnavailable);
  EXPECT_EQ(archive->Get("windings/a").status().code(), absl::StatusCode::kUnavailable);
  faults->SetAway(false);
  EXPECT_TRUE(archive->Get("windings/a").ok());
  Write(Winding("b"));
}

TEST_P(Faulted, AStoreThatComesBackInTimeIsNotNoticed) {
  Reopen(Faulty(open_store, faults), {});
  Write(Winding("a"));
  faults->SetAway(true);
  std::thread back([&] {
    std::this_thread::sleep_for(std::chrono::milliseconds(150));
    faults->SetAway(false);
  });
  Write(Winding("b"));
  back.join();
  EXPECT_EQ(archive->Count()->windings, 2);
}

}  // namespace
}  // namespace coilwright::archive
