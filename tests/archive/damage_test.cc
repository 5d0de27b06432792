// A damaged file: refused with what to do, or answered rightly; never wrongly, and never with a crash.
#include <fstream>
#include <map>
#include <random>

#include "absl/strings/str_cat.h"
#include "archive/fixture.h"
#include "archive/raw_sqlite.h"

namespace coilwright::archive {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

constexpr int kWindings = 300;

std::string PayloadOf(int number) { return absl::StrCat("payload of ", number, std::string(400, 'p')); }

class Damage : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto archive = Archive::Open(*OpenSqlite(Good()));
    ASSERT_TRUE(archive.ok()) << archive.status();
    std::vector<NewEntry> entries;
    for (int i = 0; i < kWindings; ++i) {
      entries.push_back(Winding(std::to_string(i), PayloadOf(i)));
      entries.back().facts.text = absl::StrCat("pump ", i);
    }
    ASSERT_TRUE((*archive)->Import(entries).ok());
  }
  std::string Good() const { return folder.path() + "/good.db"; }
  std::string Bad() const { return folder.path() + "/bad.db"; }
  // A copy with these bytes at this place.
  void Overwrite(size_t at, const std::string& bytes) const {
    std::filesystem::copy(Good(), Bad(), std::filesystem::copy_options::overwrite_existing);
    std::fstream file(Bad(), std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(static_cast<std::streamoff>(at));
    file << bytes;
  }
  void ExpectDamaged(const absl::Status& status) const {
    EXPECT_EQ(status.code(), absl::StatusCode::kDataLoss) << status;
    EXPECT_THAT(std::string(status.message()), HasSubstr("coilwright archive "));
  }
  // Reads everything in every way: true where all was answered, and then it was right.
  bool ReadsAll() const {
    bool all = true;
    const auto answered = [&](const absl::Status& status) {
      if (!status.ok()) ExpectDamaged(status);
      all = all && status.ok();
      return status.ok();
    };
    const absl::StatusOr<OpenDatabase> open = OpenSqlite(Bad());
    if (!answered(open.status())) return false;
    const auto archive = Archive::Open(*open);
    if (!answered(archive.status())) return false;
    const absl::StatusOr<std::vector<Entry>> log = (*archive)->Log(0, kWindings, 1 << 30);
    if (answered(log.status())) {
      EXPECT_EQ(log->size(), static_cast<size_t>(kWindings));
      for (size_t i = 0; i < log->size(); ++i) {
        if (answered(CheckWhole((*log)[i]))) {
          EXPECT_EQ((*log)[i].payload, PayloadOf(static_cast<int>(i)));
        }
      }
    }
    for (int i = 0; i < kWindings; i += 7) {
      const absl::StatusOr<Entry> entry = (*archive)->Get(absl::StrCat("windings/", i));
      if (answered(entry.status())) {
        EXPECT_EQ(entry->payload, PayloadOf(i));
      }
    }
    Query query;
    query.text = "pump";
    query.most = kWindings;
    const absl::StatusOr<Found> found = (*archive)->Find(query);
    if (answered(found.status())) {
      EXPECT_EQ(found->entries.size(), static_cast<size_t>(kWindings));
      for (const Entry& entry : found->entries) answered(CheckWhole(entry));
    }
    return all;
  }

  TemporaryFolder folder;
};

TEST_F(Damage, OfTheHeader) {
  Overwrite(0, "SQLits");
  ExpectDamaged(OpenSqlite(Bad()).status());
  EXPECT_THAT(std::string(OpenSqlite(Bad()).status().message()), HasSubstr("header is overwritten"));
  Overwrite(16, std::string("\x12\x34", 2));
  ExpectDamaged(OpenSqlite(Bad()).status());
}

TEST_F(Damage, OfAFileThatWasCutShort) {
  Overwrite(0, "");
  ASSERT_TRUE(ReadsAll());
  const auto size = std::filesystem::file_size(Bad());
  for (const auto left : {size - 1, size - 4096, size / 2, uintmax_t{4096}, uintmax_t{50}}) {
    Overwrite(0, "");
    std::filesystem::resize_file(Bad(), left);
    const absl::Status refused = OpenSqlite(Bad()).status();
    EXPECT_FALSE(refused.ok()) << left;
    EXPECT_THAT(std::string(refused.message()), AllOf(HasSubstr("bad.db"), HasSubstr(left > 100 ? "cut short" : "")))
        << left;
  }
}

TEST_F(Damage, OfEveryPage) {
  const size_t pages = std::filesystem::file_size(Good()) / 4096;
  ASSERT_GT(pages, 40u);
  std::minstd_rand random(9);
  int refused = 0;
  for (size_t page = 1; page < pages; ++page) {
    std::string noise(4096, '\0');
    for (char& c : noise) c = static_cast<char>(random());
    Overwrite(page * 4096, noise);
    refused += ReadsAll() ? 0 : 1;
  }
  // Some pages are of indexes that these reads do not go through.
  EXPECT_GT(refused, static_cast<int>(pages) / 2);
}

// SQLite keeps no checksums of values; the log has its own.
TEST_F(Damage, OfASingleBit) {
  std::ifstream in(Good(), std::ios::binary);
  const std::string bytes(std::istreambuf_iterator<char>(in), {});
  const size_t at = bytes.find("payload of 77p");
  ASSERT_NE(at, std::string::npos);
  Overwrite(at + 100, "q");
  const auto archive = Archive::Open(*OpenSqlite(Bad()));
  ASSERT_TRUE(archive.ok()) << archive.status();
  ExpectDamaged((*archive)->Get("windings/77").status());
  EXPECT_TRUE((*archive)->Get("windings/78").ok());
}

}  // namespace
}  // namespace coilwright::archive
