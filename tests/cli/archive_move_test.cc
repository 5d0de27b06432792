// Everything out of an archive and into another one.
#include <gmock/gmock.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <thread>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "archive/raw_sqlite.h"
#include "archive_folder.h"
#include "json.h"

namespace coilwright::cli {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;

class Moving : public ArchiveFolder {
 protected:
  std::string Path(const std::string& name) const { return folder() + "/" + name; }

  // A winding in two revisions, one set aside, and a job with readings of both kinds: judged and not.
  void FillArchive() {
    Save("motor");
    ASSERT_EQ(Change("motor", {"--set", "title=Größe \"95\""}).exit_status, 0);
    Save("other");
    ASSERT_EQ(Do({"archive", "set-aside", "other", "--by", "Bo"}).exit_status, 0);
    ASSERT_EQ(Do({"job", "open", "--winding", "motor", "--id", "j1", "--by", "Ana"}).exit_status, 0);
    ASSERT_EQ(
        Do({"job", "readings", "j1", "--stage", "as-received", "--megohms", "850@22C", "--by", "Ana"}).exit_status, 0);
  }

  static std::string WithoutWhatIsSetAnew(const std::string& lines) {
    std::string without;
    for (absl::string_view line : absl::StrSplit(lines, '\n', absl::SkipEmpty())) {
      v1::ArchiveEntry entry;
      EXPECT_TRUE(ParseJsonLine(std::string(line), &entry));
      entry.mutable_winding()->mutable_revision()->clear_etag();
      entry.mutable_winding()->clear_code();
      absl::StrAppend(&without, ToJsonLine(entry), "\n");
    }
    return without;
  }

  // `count` windings that were checked once, as lines of an export.
  std::string Lines(int count) {
    Save("one");
    const std::string line = Do({"archive", "export", "-"}).out;
    std::string lines;
    v1::ArchiveEntry entry;
    EXPECT_TRUE(ParseJsonLine(line.substr(0, line.size() - 1), &entry));
    for (int i = 1; i <= count; ++i) {
      entry.set_sequence(i);
      entry.set_request_id(absl::StrCat("made-", i));
      entry.mutable_winding()->set_name(absl::StrCat("windings/made-", i));
      entry.mutable_winding()->mutable_record()->set_title(absl::StrCat("Number ", i));
      // Of the name and the revision; an archive makes its own.
      entry.mutable_winding()->mutable_revision()->clear_etag();
      entry.mutable_winding()->clear_code();
      absl::StrAppend(&lines, ToJsonLine(entry), "\n");
    }
    return lines;
  }
};

TEST_F(Moving, AnExportIsLossless) {
  FillArchive();
  const Ran exported = Do({"archive", "export", Path("all.jsonl")});
  EXPECT_THAT(exported.out, StartsWith(absl::StrCat(Path("all.jsonl"), ": 6 entries, ")));
  EXPECT_EQ(Do({"archive", "export", "-"}).out, Text(Path("all.jsonl")));
  const Ran imported = Do({"archive", "import", Path("all.jsonl")}, "", "other.db");
  EXPECT_THAT(imported.out, HasSubstr("6 entries added, 0 there already"));
  EXPECT_EQ(Do({"archive", "export", "-"}, "", "other.db").out, Text(Path("all.jsonl")));
  for (const char* name : {"motor", "motor@1", "other"}) {
    EXPECT_EQ(Do({"archive", "show", name}, "", "other.db").out, Do({"archive", "show", name}).out);
  }
  EXPECT_EQ(Do({"job", "show", "j1"}, "", "other.db").out, Do({"job", "show", "j1"}).out);
  // Again: nothing is doubled.
  EXPECT_THAT(Do({"archive", "import", "-"}, Text(Path("all.jsonl")), "other.db").out,
              HasSubstr("standard input: 0 entries added, 6 there already"));
}

TEST_F(Moving, ABackupIsRestoredIntoAnEmptyArchive) {
  FillArchive();
  const std::string file = Path("backup.jsonl");
  EXPECT_EQ(Do({"archive", "backup", file}).exit_status, 0);
  // sha256sum of the lines before the last, from outside.
  ASSERT_EQ(std::system(absl::StrCat("head -n -1 ", file, " | sha256sum | cut -d' ' -f1 > ", file, ".sum").c_str()), 0);
  const std::string text = Text(file);
  const std::string sum = Text(file + ".sum");
  EXPECT_THAT(text, testing::EndsWith(absl::StrCat("{\"closing\":{\"entries\":6,\"sha256\":\"",
                                                   sum.substr(0, sum.size() - 1), "\"}}\n")));
  ExpectOneLine(Do({"archive", "restore", file}), 3, "the archive holds 6 entries");
  const Ran restored = Do({"archive", "restore", file}, "", "new.db");
  EXPECT_EQ(restored.exit_status, 0) << restored.err;
  EXPECT_THAT(restored.out, HasSubstr("verified, 6 entries restored"));
  EXPECT_EQ(Do({"archive", "export", "-"}, "", "new.db").out, Do({"archive", "export", "-"}).out);
  // It imports too.
  EXPECT_THAT(Do({"archive", "import", file}, "", "new.db").out, HasSubstr("0 entries added, 6 there already"));
}

// A revision taken out of the file behind the archive's back.
TEST_F(Moving, ABackupOfLessThanTheArchiveHoldsIsNone) {
  FillArchive();
  archive::RawSqlite(Path("shop.db")).Run("DELETE FROM entry WHERE sequence = 1");
  const Ran refused = Do({"archive", "backup", Path("backup.jsonl")});
  EXPECT_EQ(refused.exit_status, 4);
  EXPECT_THAT(refused.err, HasSubstr("5 of 6 entries are left"));
  EXPECT_FALSE(std::filesystem::exists(Path("backup.jsonl")));
  EXPECT_THAT(Do({"archive", "export", Path("left.jsonl")}).out, HasSubstr("5 of 6 entries"));
}

// One entry that the disk changed: everything else goes on, no backup passes for whole, and an earlier one puts it
// right.
TEST_F(Moving, ADamagedEntryIsToldOfAndPutRightByAnEarlierBackup) {
  FillArchive();
  const std::string before = Do({"archive", "export", "-"}).out;
  ASSERT_EQ(Do({"archive", "backup", Path("good.jsonl")}).exit_status, 0);
  archive::RawSqlite(Path("shop.db")).Run("UPDATE entry SET payload = x'0a0b' WHERE sequence = 2");
  const Ran found = Do({"archive", "find", "--set-aside"});
  EXPECT_THAT(found.out, AllOf(HasSubstr("other"), HasSubstr("1 found")));
  EXPECT_THAT(found.err, HasSubstr("damaged in the archive and left out: revision 2 of windings/motor (entry 2)"));
  EXPECT_EQ(Do({"archive", "show", "other"}).exit_status, 0);
  EXPECT_EQ(Do({"archive", "show", "motor@1"}).exit_status, 0);
  EXPECT_THAT(Do({"archive", "show", "motor"}).err, HasSubstr("is not as it was written"));
  EXPECT_THAT(Do({"archive", "history", "motor"}).err, HasSubstr("revision 2 of windings/motor"));
  const Ran exported = Do({"archive", "export", Path("left.jsonl")});
  EXPECT_THAT(exported.out, HasSubstr("5 of 6 entries"));
  EXPECT_THAT(exported.err, HasSubstr("revision 2 of windings/motor"));
  EXPECT_THAT(Do({"archive", "backup", Path("new.jsonl")}).err, HasSubstr("no backup: 5 of 6"));
  EXPECT_THAT(Do({"archive", "import", Path("good.jsonl")}).out, HasSubstr("1 entries added, 5 there already"));
  EXPECT_EQ(Do({"archive", "export", "-"}).out, before);
  EXPECT_EQ(Do({"archive", "backup", Path("new.jsonl")}).exit_status, 0);
}

TEST_F(Moving, ADamagedBackupWritesNothing) {
  FillArchive();
  const std::string file = Path("backup.jsonl");
  ASSERT_EQ(Do({"archive", "backup", file}).exit_status, 0);
  const std::string whole = Text(file);
  const auto refused = [&](const std::string& text, const std::string& part) {
    const Ran ran = Do({"archive", "restore", File("damaged.jsonl", text)}, "", "new.db");
    ExpectOneLine(ran, 2, part);
    EXPECT_EQ(Count("new.db").entries(), 0);
  };
  std::string damaged = whole;
  const size_t at = damaged.find("Label applicator");
  damaged[at] = 'l';
  refused(damaged, "line 7: the file is damaged");
  // Nor does an import of it.
  ExpectOneLine(Do({"archive", "import", Path("damaged.jsonl")}, "", "new.db"), 2, "line 7: the file is damaged");
  EXPECT_EQ(Count("new.db").entries(), 0);
  damaged = whole;
  damaged[whole.size() - 10] ^= 1;
  refused(damaged, "line 7: the file is damaged");
  refused(whole.substr(0, whole.size() / 2), "line ");
  refused(whole.substr(0, whole.rfind("{\"closing\"")), "no closing line at its end");
  refused(absl::StrCat(whole, whole), "stands after the closing line");
  refused("", "no closing line at its end");
  ExpectOneLine(Do({"archive", "restore", "-"}, whole, "new.db"), 2, "a backup is read twice");
  ExpectOneLine(Do({"archive", "backup", "-"}), 2, "accepted: its name");
  ExpectOneLine(Do({"archive", "backup", Path("no/such/folder/x")}), 2, "cannot be made");
}

TEST_F(Moving, ARefusedEntryIsNamedByItsLine) {
  const std::string lines = Lines(7);
  std::vector<std::string> each = absl::StrSplit(lines, '\n', absl::SkipEmpty());
  // The fifth is there already and is another one.
  ASSERT_EQ(Do({"archive", "import", "-"}, lines, "new.db").exit_status, 0);
  each[4] = absl::StrReplaceAll(each[4], {{"Number 5", "Number five"}});
  std::string changed;
  for (const std::string& line : each) absl::StrAppend(&changed, line, "\n");
  Ran ran = Do({"archive", "import", "-"}, changed, "new.db");
  EXPECT_EQ(ran.exit_status, 2);
  EXPECT_THAT(ran.err, AllOf(HasSubstr("coilwright: standard input: line 5: "),
                             HasSubstr("0 entries before it were taken, 4 were there")));
  // One whose name cannot be, in an empty archive: those before it are taken.
  each[4] = absl::StrReplaceAll(each[4], {{"windings/made-5", "windings/made 5"}});
  changed.clear();
  for (const std::string& line : each) absl::StrAppend(&changed, line, "\n");
  ran = Do({"archive", "import", "-"}, changed, "third.db");
  EXPECT_EQ(ran.exit_status, 2);
  EXPECT_THAT(ran.err, AllOf(HasSubstr("standard input: line 5: "), HasSubstr("made 5")));
  EXPECT_LE(Count("third.db").entries(), 4);
  ran = Do({"archive", "import", "-"}, absl::StrCat(each[0], "\nnot json\n", each[1], "\n"), "fourth.db");
  EXPECT_THAT(ran.err, HasSubstr("standard input: line 2: not JSON"));
  EXPECT_EQ(Count("fourth.db").entries(), 1);
}

// Two thousand, in many batches and pages; then the same with the program killed on its way, and repeated.
TEST_F(Moving, ThousandsGoThroughAndAnInterruptedImportIsRepeated) {
  const std::string file = File("many.jsonl", Lines(2000));
  const Ran imported = Do({"archive", "import", file}, "", "many.db");
  EXPECT_EQ(imported.exit_status, 0) << imported.err;
  EXPECT_THAT(imported.out, HasSubstr("2000 entries added"));
  EXPECT_EQ(Do({"archive", "export", Path("out.jsonl")}, "", "many.db").exit_status, 0);
  EXPECT_TRUE(WithoutWhatIsSetAnew(Text(Path("out.jsonl"))) == WithoutWhatIsSetAnew(Text(file)));

  const std::string program = std::string(COILWRIGHT_BINARY_DIR) + "/bin/coilwright";
  const std::string archive = Path("killed.db");
  std::vector<std::string> words = {program, "archive", "import", file, "--archive", archive};
  std::vector<char*> argv;
  for (std::string& word : words) argv.push_back(&word[0]);
  argv.push_back(nullptr);
  pid_t child = 0;
  ASSERT_EQ(posix_spawn(&child, program.c_str(), nullptr, nullptr, argv.data(), environ), 0);
  // A batch is 1 MiB at most: once the write-ahead log holds three, the first is in. Then it dies.
  for (int i = 0; i < 2000; ++i) {
    std::error_code error;
    const auto size = std::filesystem::file_size(archive + "-wal", error);
    if (!error && size > 3000000) break;
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  kill(child, SIGKILL);
  int status = 0;
  waitpid(child, &status, 0);
  ASSERT_TRUE(WIFSIGNALED(status)) << "it was done before it could be killed";
  const auto before = Count("killed.db").entries();
  EXPECT_GT(before, 0);
  EXPECT_LT(before, 2000);
  const Ran again = Do({"archive", "import", file}, "", "killed.db");
  EXPECT_EQ(again.exit_status, 0) << again.err;
  EXPECT_THAT(again.out, HasSubstr(absl::StrCat(2000 - before, " entries added, ", before, " there already")));
  EXPECT_TRUE(Do({"archive", "export", "-"}, "", "killed.db").out == Text(Path("out.jsonl")));
}

TEST_F(Moving, AnEmptyArchiveMovesToo) {
  // No archive is made by what only reads; a backup of nothing makes one. Its checksum: sha256sum of coreutils.
  const std::string nothing = File("nothing.jsonl",
                                   "{\"closing\":{\"entries\":0,\"sha256\":"
                                   "\"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855\"}}\n");
  ASSERT_EQ(Do({"archive", "restore", nothing}).exit_status, 0);
  EXPECT_EQ(Do({"archive", "backup", Path("empty.jsonl")}).exit_status, 0);
  EXPECT_THAT(Text(Path("empty.jsonl")), StartsWith("{\"closing\":{\"entries\":0,"));
  EXPECT_EQ(Do({"archive", "restore", Path("empty.jsonl")}, "", "new.db").exit_status, 0);
  EXPECT_EQ(Do({"archive", "export", "-"}).out, "");
}

}  // namespace
}  // namespace coilwright::cli
