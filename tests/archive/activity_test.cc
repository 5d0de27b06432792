// What an archive says of what it has done, for whoever watches it.
#include <random>
#include <string>

#include "archive/faulty.h"
#include "archive/fixture.h"

namespace coilwright::archive {
namespace {

class ActivityTest : public ArchiveTest {};
COILWRIGHT_IN_EVERY_STORE(ActivityTest);

TEST_P(ActivityTest, CountsWritesCommitsAndWhatWaits) {
  const auto faults = std::make_shared<Faults>();
  Reopen(Faulty(open_store, faults), {});
  const Activity before = archive->Done();
  EXPECT_EQ(before.writes + before.commits + before.writes_waiting + before.greatest_waiting, 0);
  faults->SetGate(true);
  std::vector<std::thread> writers;
  for (int i = 0; i < 6; ++i) writers.emplace_back([&, i] { Write(Winding("w" + std::to_string(i))); });
  while (archive->writes_waiting() < 6) std::this_thread::yield();
  EXPECT_EQ(archive->Done().writes_waiting, 6);
  faults->SetGate(false);
  for (std::thread& writer : writers) writer.join();
  EXPECT_EQ(Refusal(Winding("w0")), absl::StatusCode::kAlreadyExists);
  const Activity done = archive->Done();
  EXPECT_EQ(done.writes_waiting, 0);
  EXPECT_EQ(done.greatest_waiting, 6);
  EXPECT_EQ(done.writes, 7) << "a refused one was answered too";
  EXPECT_GE(done.commits, 2);
  EXPECT_LE(done.commits, 7) << "those that waited share one";
  EXPECT_GT(done.commit_times.seconds, 0);
  EXPECT_EQ(done.failed_commits, 0);
}

TEST_P(ActivityTest, CountsCommitsThatDidNotStand) {
  const auto faults = std::make_shared<Faults>();
  Reopen(Faulty(open_store, faults), {});
  faults->LoseOneIn(25);
  int writes = 0;
  while (archive->Done().failed_commits < 2 && writes < 300) Write(Winding("w" + std::to_string(writes++)));
  faults->LoseOneIn(0);
  const Activity done = archive->Done();
  EXPECT_EQ(done.writes, writes);
  EXPECT_EQ(done.failed_commits, 2);
  EXPECT_GE(done.commits, writes - 2) << "one that took place although nobody answered for it stands uncounted";
}

TEST_P(ActivityTest, TellsWhatTheStoreTakes) {
  const auto empty = archive->Bytes();
  ASSERT_TRUE(empty.ok()) << empty.status();
  EXPECT_GT(*empty, 0);
  // A server keeps what repeats compressed.
  std::string payload(3 << 20, '\0');
  std::minstd_rand random(4711);
  for (char& byte : payload) byte = static_cast<char>(random());
  Write(Winding("large", payload));
  EXPECT_GE(*archive->Bytes(), *empty + (2 << 20));
}

}  // namespace
}  // namespace coilwright::archive
