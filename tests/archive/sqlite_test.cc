// The file of the SQLite store: who may open it, what is refused, and what a full disk does.
#include <sys/mount.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <fstream>

#include "absl/strings/str_cat.h"
#include "archive/fixture.h"
#include "archive/raw_sqlite.h"
#include "archive/schema.h"

namespace coilwright::archive {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

class SqliteFile : public ::testing::Test {
 protected:
  std::string Path(const std::string& name = "archive.db") const { return folder.path() + "/" + name; }
  static absl::StatusOr<std::unique_ptr<Archive>> Open(const std::string& file) {
    absl::StatusOr<OpenDatabase> open = OpenSqlite(file);
    if (!open.ok()) return open.status();
    return Archive::Open(*std::move(open));
  }
  static void ExpectRefused(const std::string& file, absl::StatusCode code, const std::string& why) {
    const absl::Status refused = Open(file).status();
    EXPECT_EQ(refused.code(), code) << refused;
    EXPECT_THAT(std::string(refused.message()), AllOf(HasSubstr(file), HasSubstr(why)));
  }
  static std::string Bytes(const std::string& file) {
    std::ifstream in(file, std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  }

  TemporaryFolder folder;
};

TEST_F(SqliteFile, IsMadeWithItsFolder) {
  {
    const auto archive = Open(Path("new/folder/archive.db"));
    ASSERT_TRUE(archive.ok()) << archive.status();
    EXPECT_EQ((*archive)->schema_version(), SchemaVersion());
    ASSERT_TRUE((*archive)->Write(Winding("a")).ok());
  }
  EXPECT_EQ(RawSqlite(Path("new/folder/archive.db")).Checked(), "ok\n");
  EXPECT_EQ((*Open(Path("new/folder/archive.db")))->Count()->windings, 1);
}

TEST_F(SqliteFile, IsMadeWhereItsMakerWasStopped) {
  std::ofstream(Path()).close();
  EXPECT_TRUE(Open(Path()).ok());
  RawSqlite(Path("half.db")).Run("PRAGMA journal_mode=WAL");
  EXPECT_TRUE(Open(Path("half.db")).ok());
}

TEST_F(SqliteFile, HasOneName) {
  ASSERT_TRUE(Open(Path()).ok());
  std::filesystem::create_hard_link(Path(), Path("second.db"));
  ExpectRefused(Path(), absl::StatusCode::kFailedPrecondition, "2 names");
  std::filesystem::remove(Path("second.db"));
  EXPECT_TRUE(Open(Path()).ok());
}

TEST_F(SqliteFile, TakesNoWriteOnceItHasLostItsName) {
  auto archive = *Open(Path());
  ASSERT_TRUE(archive->Write(Winding("a")).ok());
  std::filesystem::rename(Path(), Path("moved.db"));
  EXPECT_EQ(archive->Write(Winding("b")).status().code(), absl::StatusCode::kDataLoss);
  std::ofstream(Path()) << "another";
  EXPECT_EQ(archive->Write(Winding("c")).status().code(), absl::StatusCode::kDataLoss);
  std::filesystem::rename(Path("moved.db"), Path());
  EXPECT_TRUE(archive->Write(Winding("d")).ok());
  EXPECT_EQ(archive->Count()->windings, 2);
}

TEST_F(SqliteFile, IsHeldByOneProcess) {
  int ready[2];
  ASSERT_EQ(pipe(ready), 0);
  const pid_t child = fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    const auto archive = Open(Path());
    const char said = archive.ok() && (*archive)->Write(Winding("a")).ok() ? 'y' : 'n';
    if (write(ready[1], &said, 1) == 1) pause();
    _exit(1);
  }
  char said = 0;
  ASSERT_EQ(read(ready[0], &said, 1), 1);
  EXPECT_EQ(said, 'y');
  ExpectRefused(Path(), absl::StatusCode::kFailedPrecondition, absl::StrCat("held by process ", child));
  std::filesystem::create_symlink(Path(), Path("other-name.db"));
  EXPECT_EQ(Open(Path("other-name.db")).status().code(), absl::StatusCode::kFailedPrecondition);
  ASSERT_EQ(kill(child, SIGKILL), 0);
  ASSERT_EQ(waitpid(child, nullptr, 0), child);
  close(ready[0]);
  close(ready[1]);
  const auto archive = Open(Path());
  ASSERT_TRUE(archive.ok()) << archive.status();
  EXPECT_EQ((*archive)->Count()->windings, 1);
  ExpectRefused(Path(), absl::StatusCode::kFailedPrecondition, absl::StrCat("held by process ", getpid()));
}

// What a kill or a pulled plug leaves: the file with a log beside it that was never copied into it.
TEST_F(SqliteFile, IsReadWithTheLogOfAStoppedProcess) {
  const auto archive = Open(Path());
  ASSERT_TRUE(archive.ok());
  for (int i = 0; i < 5; ++i) ASSERT_TRUE((*archive)->Write(Winding(std::to_string(i))).ok());
  std::filesystem::copy(Path(), Path("left.db"));
  std::filesystem::copy(Path() + "-wal", Path("left.db-wal"));
  EXPECT_EQ((*Open(Path("left.db")))->Count()->windings, 5);
  // The end of the log is not written yet: what lies before it is there.
  std::filesystem::copy(Path(), Path("cut.db"));
  std::filesystem::copy(Path() + "-wal", Path("cut.db-wal"));
  std::filesystem::resize_file(Path("cut.db-wal"), std::filesystem::file_size(Path("cut.db-wal")) - 100);
  EXPECT_EQ((*Open(Path("cut.db")))->Count()->windings, 4);
  EXPECT_EQ(RawSqlite(Path("cut.db")).Checked(), "ok\n");
}

TEST_F(SqliteFile, OfSomebodyElseIsLeftAlone) {
  RawSqlite(Path("other.db")).Run("CREATE TABLE stock (bolt TEXT); INSERT INTO stock VALUES ('M8')");
  const std::string before = Bytes(Path("other.db"));
  ExpectRefused(Path("other.db"), absl::StatusCode::kFailedPrecondition, "another program");
  RawSqlite(Path("marked.db")).Run("PRAGMA application_id=42");
  ExpectRefused(Path("marked.db"), absl::StatusCode::kFailedPrecondition, "another program");
  std::ofstream(Path("letter.txt")) << "Dear Harbour Lane cannery, your motor is ready.";
  ExpectRefused(Path("letter.txt"), absl::StatusCode::kFailedPrecondition, "does not begin as an SQLite file does");
  EXPECT_EQ(RawSqlite(Path("other.db")).Run("SELECT * FROM stock"), "M8\n");
  EXPECT_EQ(Bytes(Path("letter.txt")), "Dear Harbour Lane cannery, your motor is ready.");
  EXPECT_TRUE(Bytes(Path("other.db")) == before) << "bytes of it were changed";
  ExpectRefused(folder.path(), absl::StatusCode::kFailedPrecondition, "must be a file");
  EXPECT_EQ(OpenSqlite("").status().code(), absl::StatusCode::kFailedPrecondition);
}

TEST_F(SqliteFile, OfALaterVersionIsRefused) {
  ASSERT_TRUE(Open(Path()).ok());
  RawSqlite(Path()).Run("UPDATE schema_version SET version = 99");
  const absl::Status refused = Open(Path()).status();
  EXPECT_EQ(refused.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(refused.message()), HasSubstr("later Coilwright (schema 99"));
  RawSqlite(Path()).Run(absl::StrCat("UPDATE schema_version SET version = ", SchemaVersion()));
  EXPECT_TRUE(Open(Path()).ok());
}

// Root may write everywhere, so the test is somebody else for a while.
class SomebodyElse {
 public:
  SomebodyElse() : root_(geteuid() == 0) {
    if (root_ && seteuid(65534) != 0) throw std::runtime_error("seteuid");
  }
  ~SomebodyElse() {
    if (root_ && seteuid(0) != 0) abort();
  }

 private:
  const bool root_;
};

TEST_F(SqliteFile, ThatCannotBeWrittenIsRefused) {
  std::string elsewhere = (std::filesystem::temp_directory_path() / "archive-XXXXXX").string();
  ASSERT_NE(mkdtemp(elsewhere.data()), nullptr);
  const std::string file = elsewhere + "/archive.db";
  ASSERT_TRUE(Open(file).ok());
  ASSERT_EQ(chmod(file.c_str(), 0444), 0);
  ASSERT_EQ(chmod(elsewhere.c_str(), 0777), 0);
  ASSERT_EQ(unlink((file + ".lock").c_str()), 0);
  {
    const SomebodyElse somebody;
    ExpectRefused(file, absl::StatusCode::kPermissionDenied, "Permission denied; give this user the right");
  }
  ASSERT_EQ(chmod(file.c_str(), 0666), 0);
  ASSERT_EQ(chmod(elsewhere.c_str(), 0555), 0);
  std::filesystem::remove(file + ".lock");
  {
    const SomebodyElse somebody;
    ExpectRefused(file, absl::StatusCode::kPermissionDenied, "Permission denied; give this user the right");
    EXPECT_EQ(Open(elsewhere + "/below/archive.db").status().code(), absl::StatusCode::kPermissionDenied);
  }
  ASSERT_EQ(chmod(elsewhere.c_str(), 0777), 0);
  std::filesystem::remove_all(elsewhere);
}

// Fills a store until it has no room, makes room, and goes on.
void FillUp(Archive& archive, const std::function<void()>& make_room) {
  int kept = 0;
  absl::Status refused;
  while (refused.ok() && kept < 10000) {
    NewEntry made = Winding(std::to_string(kept), std::string(3000, 'x'));
    made.facts.text = "pump";
    refused = archive.Write(made).status();
    kept += refused.ok() ? 1 : 0;
  }
  EXPECT_EQ(refused.code(), absl::StatusCode::kUnavailable) << refused;
  EXPECT_THAT(std::string(refused.message()), HasSubstr("make room"));
  EXPECT_GT(kept, 10);
  EXPECT_EQ(archive.Write(Winding("large", std::string(1 << 20, 'x'))).status().code(), absl::StatusCode::kUnavailable);
  EXPECT_EQ(archive.Import({Winding("large", std::string(1 << 20, 'x'))}).status().code(),
            absl::StatusCode::kUnavailable);
  // Reads go on, and show what was acknowledged.
  EXPECT_EQ(archive.Count()->windings, kept);
  for (int i = 0; i < kept; ++i) EXPECT_TRUE(archive.Get("windings/" + std::to_string(i)).ok()) << i;
  Query query;
  query.text = "pump";
  EXPECT_EQ(archive.Find(query)->entries.size(), static_cast<size_t>(std::min(kept, 50)));
  make_room();
  for (int i = 0; i < 20; ++i) {
    const absl::Status again = archive.Write(Winding("again " + std::to_string(i), std::string(3000, 'x'))).status();
    EXPECT_TRUE(again.ok()) << again;
  }
  EXPECT_EQ(archive.Count()->windings, kept + 20);
}

TEST_F(SqliteFile, ThatMayGrowNoMoreIsReadAndGoesOnLater) {
  const absl::StatusOr<OpenDatabase> open = OpenSqlite(Path());
  ASSERT_TRUE(open.ok());
  Database* writer = nullptr;
  const OpenDatabase limited = [&]() -> absl::StatusOr<std::unique_ptr<Database>> {
    absl::StatusOr<std::unique_ptr<Database>> db = (*open)();
    if (db.ok() && !(*db)->Run("PRAGMA max_page_count=200").ok()) return absl::InternalError("no limit");
    if (db.ok() && writer == nullptr) writer = db->get();
    return db;
  };
  {
    const absl::StatusOr<std::unique_ptr<Archive>> archive = Archive::Open(limited);
    ASSERT_TRUE(archive.ok()) << archive.status();
    // The writer rests while nobody writes.
    FillUp(**archive, [&] { ASSERT_TRUE(writer->Run("PRAGMA max_page_count=100000").ok()); });
  }
  EXPECT_EQ(RawSqlite(Path()).Checked(), "ok\n");
}

// A disk of 3 MiB in memory.
TEST_F(SqliteFile, OnAFullDiskIsReadAndGoesOnLater) {
  const std::string disk = Path("disk");
  std::filesystem::create_directory(disk);
  if (mount("none", disk.c_str(), "tmpfs", 0, "size=3m") != 0) GTEST_SKIP() << "only root may mount a small disk";
  {
    std::ofstream(disk + "/ballast") << std::string(1 << 20, 'x');
    const auto archive = Open(disk + "/archive.db");
    ASSERT_TRUE(archive.ok()) << archive.status();
    FillUp(**archive, [&] { std::filesystem::remove(disk + "/ballast"); });
  }
  EXPECT_EQ(RawSqlite(disk + "/archive.db").Checked(), "ok\n");
  EXPECT_EQ(umount(disk.c_str()), 0);
}

}  // namespace
}  // namespace coilwright::archive
