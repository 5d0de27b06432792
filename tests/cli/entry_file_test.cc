// Lines of an archive: what is written is read again, and what was damaged is told.
#include "entry_file.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "absl/strings/str_cat.h"
#include "coilwright/v1/status.pb.h"
#include "json.h"

namespace coilwright::cli {
namespace {

using testing::HasSubstr;

v1::ArchiveEntry Entry(int number) {
  v1::ArchiveEntry entry;
  entry.set_sequence(number);
  entry.set_request_id(absl::StrCat("id-", number));
  v1::ArchivedWinding* winding = entry.mutable_winding();
  winding->set_name(absl::StrCat("windings/w", number));
  winding->mutable_record()->set_title("Größe \"Ø 95\", line\nbreak \xE2\x80\xA8 and \x01");
  winding->mutable_record()->mutable_measured()->mutable_resistance()->set_u_v_ohms(0.1 + 1e-17 * number);
  winding->mutable_record()->mutable_machine()->mutable_core()->mutable_bore_diameter()->set_inches(1.0 / 3);
  winding->mutable_create_time()->set_seconds(1493821800);
  winding->mutable_create_time()->set_nanos(123456000);
  // An error that was kept, with the fields that were wrong.
  v1::FieldViolations violations;
  auto* violation = violations.add_field_violations();
  violation->set_field("record.winding.strands");
  violation->set_description("missing");
  auto* detail = winding->mutable_check_refused()->add_details();
  detail->set_type_url("type.googleapis.com/google.rpc.BadRequest");
  detail->set_value(violations.SerializeAsString());
  return entry;
}

std::string Backup(int entries) {
  std::string text;
  for (int i = 1; i <= entries; ++i) absl::StrAppend(&text, ToJsonLine(Entry(i)), "\n");
  Checksum checksum;
  checksum.Add(text);
  return absl::StrCat(text, ClosingLineText({entries, checksum.Hex()}));
}

// "" where all of it can be read.
std::string Fault(const std::string& text, bool* closed = nullptr, int64_t* entries = nullptr) {
  std::istringstream in(text);
  EntryReader reader(in, "file");
  v1::ArchiveEntry entry;
  for (;;) {
    const auto more = reader.Next(&entry);
    if (!more.ok()) return std::string(more.status().message());
    if (*more) continue;
    if (closed != nullptr) *closed = reader.closed();
    if (entries != nullptr) *entries = reader.entries();
    return "";
  }
}

// FIPS 180-4, example of one block.
TEST(Checksum, IsSha256) {
  Checksum checksum;
  checksum.Add("a");
  checksum.Add("bc");
  EXPECT_EQ(checksum.Hex(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  checksum.Add("d");
  EXPECT_NE(checksum.Hex(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST(EntryLines, LoseNothing) {
  std::istringstream in(absl::StrCat(ToJsonLine(Entry(1)), "\n\n", ToJsonLine(Entry(2))));
  EntryReader reader(in, "file");
  v1::ArchiveEntry entry;
  ASSERT_TRUE(*reader.Next(&entry));
  EXPECT_EQ(entry.SerializeAsString(), Entry(1).SerializeAsString());
  ASSERT_TRUE(*reader.Next(&entry));
  EXPECT_EQ(entry.SerializeAsString(), Entry(2).SerializeAsString());
  EXPECT_EQ(reader.line(), 3);
  EXPECT_FALSE(*reader.Next(&entry));
  EXPECT_FALSE(reader.closed());
}

TEST(EntryLines, NameTheLineThatIsNone) {
  const std::string good = absl::StrCat(ToJsonLine(Entry(1)), "\n");
  EXPECT_THAT(Fault(absl::StrCat(good, "{\"winding\": {\"nam\": \"x\"}}\n")),
              testing::AllOf(HasSubstr("file: line 2: winding.nam: no such field; did you mean name?")));
  EXPECT_THAT(Fault(absl::StrCat(good, "not json\n")), HasSubstr("file: line 2: not JSON"));
  EXPECT_THAT(Fault(absl::StrCat(good, "{}\n")), HasSubstr("file: line 2: holds no entry"));
  EXPECT_THAT(Fault(absl::StrCat(good, "\xFF\n")), HasSubstr("file: line 2: not UTF-8"));
  EXPECT_THAT(Fault(absl::StrCat(Backup(1), good)), HasSubstr("file: line 3: stands after the closing line"));
}

// Lines of every length around the block that is read at once.
TEST(EntryLines, MayBeOfAnyLength) {
  for (size_t length : {65400, 65535, 65536, 65537, 131072, 3 << 20}) {
    v1::ArchiveEntry entry = Entry(1);
    entry.mutable_winding()->mutable_record()->set_note(std::string(length, 'n'));
    const std::string line = ToJsonLine(entry);
    int64_t entries = 0;
    EXPECT_EQ(Fault(absl::StrCat(line, "\n", line, "\n"), nullptr, &entries), "");
    EXPECT_EQ(entries, 2) << length;
  }
}

// Whatever byte is another one, the file is not taken for whole: a fault is told, or the closing line is none.
TEST(Backup, DamagedByOneByteIsSeen) {
  const std::string whole = Backup(2);
  bool closed = false;
  int64_t entries = 0;
  ASSERT_EQ(Fault(whole, &closed, &entries), "");
  EXPECT_TRUE(closed);
  EXPECT_EQ(entries, 2);
  int seen = 0;
  for (size_t at = 0; at + 1 < whole.size(); ++at) {
    for (char other : {static_cast<char>(whole[at] ^ 1), static_cast<char>(whole[at] ^ 0x20), '\n', ' '}) {
      if (other == whole[at]) continue;
      std::string damaged = whole;
      damaged[at] = other;
      closed = false;
      const std::string fault = Fault(damaged, &closed);
      EXPECT_TRUE(!fault.empty() || !closed) << "byte " << at << " of " << whole.size();
      ++seen;
    }
  }
  EXPECT_GT(seen, 3000);
  // Cut short anywhere, or a line taken out.
  for (size_t length = 0; length + 1 < whole.size(); length += 7) {
    closed = false;
    const std::string fault = Fault(whole.substr(0, length), &closed);
    EXPECT_TRUE(!fault.empty() || !closed) << length;
  }
  EXPECT_THAT(Fault(whole.substr(whole.find('\n') + 1)), HasSubstr("damaged"));
}

TEST(WholeFile, IsThereWholeOrNotAtAll) {
  std::string folder = testing::TempDir() + "coilwright_whole_XXXXXX";
  ASSERT_NE(mkdtemp(&folder[0]), nullptr);
  const std::string path = folder + "/backup.jsonl";
  std::ofstream(path) << "{the one before";
  {
    WholeFile file(path);
    ASSERT_TRUE(file.Open().ok());
    ASSERT_TRUE(file.Write("half of it").ok());
  }
  std::stringstream text;
  text << std::ifstream(path).rdbuf();
  EXPECT_EQ(text.str(), "{the one before");
  {
    WholeFile file(path);
    ASSERT_TRUE(file.Open().ok());
    ASSERT_TRUE(file.Write("all of ").ok() && file.Write("it").ok());
    ASSERT_TRUE(file.Finish().ok());
  }
  std::stringstream now;
  now << std::ifstream(path).rdbuf();
  EXPECT_EQ(now.str(), "all of it");
  struct stat found = {};
  ASSERT_EQ(stat(path.c_str(), &found), 0);
  EXPECT_EQ(found.st_mode & 0777u, 0600u);
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder), std::filesystem::directory_iterator()), 1);
  WholeFile nowhere(folder + "/no/such/folder/x");
  EXPECT_EQ(nowhere.Open().code(), absl::StatusCode::kInvalidArgument);
  std::filesystem::remove_all(folder);
}

// An archive, its log, a device, a link: never.
TEST(WholeFile, ReplacesOnlyItsLike) {
  std::string folder = testing::TempDir() + "coilwright_like_XXXXXX";
  ASSERT_NE(mkdtemp(&folder[0]), nullptr);
  const auto opened = [](const std::string& path) { return WholeFile(path).Open().code(); };
  std::ofstream(folder + "/a.db") << "SQLite format 3";
  std::ofstream(folder + "/a.db.lock") << "123\n";
  std::ofstream(folder + "/a.jsonl") << "{\"sequence\":";
  std::ofstream(folder + "/empty").close();
  std::filesystem::create_symlink(folder + "/a.jsonl", folder + "/link");
  ASSERT_EQ(mkfifo((folder + "/fifo").c_str(), 0600), 0);
  for (const char* name : {"/a.db", "/a.db.lock", "/link", "/fifo"})
    EXPECT_EQ(opened(folder + name), absl::StatusCode::kInvalidArgument) << name;
  EXPECT_EQ(opened("/dev/null"), absl::StatusCode::kInvalidArgument);
  EXPECT_EQ(opened(folder), absl::StatusCode::kInvalidArgument);
  for (const char* name : {"/a.jsonl", "/empty", "/new"})
    EXPECT_EQ(opened(folder + name), absl::StatusCode::kOk) << name;
  std::filesystem::remove_all(folder);
}

// A full disk: the kernel's own device for it.
TEST(WholeFile, SaysThatTheDiskIsFull) {
  if (access("/dev/full", W_OK) != 0) GTEST_SKIP() << "no /dev/full here";
  std::string folder = testing::TempDir() + "coilwright_full_XXXXXX";
  ASSERT_NE(mkdtemp(&folder[0]), nullptr);
  WholeFile file(folder + "/backup.jsonl");
  ASSERT_TRUE(file.Open().ok());
  const int full = open("/dev/full", O_WRONLY);
  // What it writes to from now on.
  for (const auto& entry : std::filesystem::directory_iterator("/proc/self/fd")) {
    std::error_code error;
    const auto target = std::filesystem::read_symlink(entry.path(), error);
    if (!error && target.string().rfind(folder, 0) == 0) dup2(full, std::stoi(entry.path().filename()));
  }
  close(full);
  const absl::Status written = file.Write("x");
  EXPECT_EQ(written.code(), absl::StatusCode::kUnavailable);
  EXPECT_THAT(std::string(written.message()), HasSubstr("No space left on device; nothing is left of it"));
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace coilwright::cli
