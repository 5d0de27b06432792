// An acknowledged write survives kill -9 at any moment: a process that writes is killed again and again on one file,
// and after every kill the file is opened and held against what was acknowledged.
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <map>
#include <random>
#include <set>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "archive/fixture.h"
#include "archive/raw_sqlite.h"

namespace coilwright::archive {
namespace {

constexpr int kKills = 220;

// A line is smaller than PIPE_BUF, so that lines of several threads do not mix and a kill does not cut one.
void Say(int out, const std::string& line) {
  const std::string whole = line + "\n";
  if (write(out, whole.data(), whole.size()) < 0) _exit(3);
}

// Never returns: new windings, changes of them, readings, imports, from several threads, each told when it is
// acknowledged.
[[noreturn]] void WriteUntilKilled(const std::string& file, int kill, int out) {
  const absl::StatusOr<OpenDatabase> open = OpenSqlite(file);
  if (!open.ok()) Say(out, "failed " + open.status().ToString());
  const absl::StatusOr<std::unique_ptr<Archive>> archive = Archive::Open(*open);
  if (!archive.ok()) Say(out, "failed " + archive.status().ToString());
  Archive& a = **archive;
  a.Write(Job("j")).status().IgnoreError();  // there after the first time
  InThreads(6, [&](int thread) {
    for (int n = 0;; ++n) {
      const std::string mark = absl::StrCat(kill, "-", thread, "-", n);
      NewEntry made = thread == 0 && n > 0 ? Winding(absl::StrCat(kill, "-0-0"), mark, n) : Winding(mark, mark);
      if (thread == 1) made = Requested(ReadingsOf("jobs/j", mark), mark);
      made.facts.text = absl::StrCat("pump ", mark);
      made.facts.slots = 36;
      absl::Status done;
      if (thread == 2) {
        NewEntry second = Winding(mark + "-b", mark + "-b");
        done = a.Import({made, second}).status();
        if (done.ok()) Say(out, "kept " + mark + "-b");
      } else {
        done = a.Write(made).status();
      }
      Say(out, done.ok() ? "kept " + mark : "failed " + done.ToString());
    }
  });
  _exit(4);
}

TEST(Crash, AcknowledgedWritesSurviveAKillAtAnyMoment) {
  TemporaryFolder folder;
  const std::string file = folder.path() + "/archive.db";
  std::minstd_rand random(std::random_device{}());
  std::set<std::string> there;  // marks of all entries so far
  int64_t last = 0;
  size_t acknowledged = 0;
  int kills_while_writing = 0;
  for (int kill_number = 0; kill_number < kKills; ++kill_number) {
    int lines[2];
    ASSERT_EQ(pipe(lines), 0);
    const pid_t child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      close(lines[0]);
      WriteUntilKilled(file, kill_number, lines[1]);
    }
    close(lines[1]);
    // One in four at any time from its start, while it opens the file; the others after they have begun to write.
    std::string said;
    char buffer[65536];
    if (kill_number % 4 != 0) {
      const ssize_t got = read(lines[0], buffer, sizeof(buffer));
      ASSERT_GT(got, 0);
      said.append(buffer, static_cast<size_t>(got));
    }
    usleep(static_cast<useconds_t>(random() % 60000));
    ASSERT_EQ(kill(child, SIGKILL), 0);
    for (ssize_t got = 0; (got = read(lines[0], buffer, sizeof(buffer))) > 0;)
      said.append(buffer, static_cast<size_t>(got));
    close(lines[0]);
    ASSERT_EQ(waitpid(child, nullptr, 0), child);

    std::set<std::string> kept;
    for (const absl::string_view line : absl::StrSplit(said, '\n', absl::SkipEmpty())) {
      ASSERT_TRUE(absl::StartsWith(line, "kept ")) << line;
      ASSERT_TRUE(kept.insert(std::string(line.substr(5))).second) << line << " twice";
    }
    acknowledged += kept.size();
    kills_while_writing += kept.empty() ? 0 : 1;
    const absl::StatusOr<OpenDatabase> open = OpenSqlite(file);
    ASSERT_TRUE(open.ok()) << open.status();
    const absl::StatusOr<std::unique_ptr<Archive>> archive = Archive::Open(*open);
    ASSERT_TRUE(archive.ok()) << archive.status();
    const absl::StatusOr<std::vector<Entry>> log = (*archive)->Log(last, int64_t{1} << 60, int64_t{1} << 40);
    ASSERT_TRUE(log.ok()) << log.status();
    ASSERT_LT(log->size(), 4096u);
    for (const Entry& entry : *log) {
      ASSERT_EQ(entry.sequence, ++last);
      if (entry.kind == Kind::kJob) continue;
      ASSERT_TRUE(there.insert(entry.payload).second) << entry.payload << " is there twice";
      kept.erase(entry.payload);
    }
    ASSERT_TRUE(kept.empty()) << *kept.begin() << " was acknowledged and is lost, kill " << kill_number;
    if (kill_number % 20 == 19) {
      ASSERT_EQ(RawSqlite(file).Checked(), "ok\n");
    }
  }
  EXPECT_EQ(RawSqlite(file).Checked(), "ok\n");
  // Nothing that was acknowledged before an earlier kill went away later.
  RawSqlite raw(file);
  EXPECT_EQ(raw.Run("SELECT count(*), count(DISTINCT payload), max(sequence) FROM entry"),
            absl::StrCat(last, "\n", last, "\n", last, "\n"));
  EXPECT_EQ(raw.Run("SELECT count(*) FROM resource WHERE kind = 3"),
            raw.Run("SELECT max(CAST(substr(name, 17) AS INTEGER)) FROM resource WHERE kind = 3"));
  EXPECT_EQ(raw.Run("SELECT sum(resources) FROM size"), raw.Run("SELECT count(*) FROM resource WHERE deleted = 0"));
  EXPECT_GE(kills_while_writing, kKills / 4 * 3) << "too few kills came while something was written";
  RecordProperty("acknowledged", static_cast<int>(acknowledged));
  std::cout << kKills << " kills, " << kills_while_writing << " of them while writing, " << acknowledged
            << " writes acknowledged, " << last << " entries\n";
}

}  // namespace
}  // namespace coilwright::archive
