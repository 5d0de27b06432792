// What one store cannot keep neither does, and nobody else's write suffers from it.

#include <atomic>
#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "archive/fixture.h"

namespace coilwright::archive {
namespace {

using absl::StatusCode;

class Limits : public ArchiveTest {};
COILWRIGHT_IN_EVERY_STORE(Limits);

TEST_P(Limits, TextThatCannotBeKeptIsRefusedByItself) {
  std::atomic<int> kept{0}, refused{0};
  InThreads(16, [&](int thread) {
    for (int i = 0; i < 20; ++i) {
      NewEntry made = Winding(absl::StrCat("w", thread, "-", i));
      const std::string wrong = i % 3 == 0 ? std::string("a\0b", 3) : i % 3 == 1 ? "\xc3(" : std::string(1001, 'x');
      const int field = thread % 8;
      if (field == 0) made.entry.name += wrong;
      if (field == 1) made = Requested(made, wrong);
      if (field == 2) made = Requested(made, made.entry.name, wrong);
      if (field == 3) made.facts.serial = wrong;
      if (field == 4) made.facts.parent = wrong;
      const auto answer = archive->Write(made);
      if (answer.ok()) ++kept;
      if (answer.status().code() == StatusCode::kInvalidArgument) ++refused;
    }
  });
  EXPECT_EQ(refused, 5 * 2 * 20);
  EXPECT_EQ(kept, 3 * 2 * 20);
  NewEntry whole = Winding(std::string(900, 'n'));
  whole.facts.serial = std::string(1000, 's');
  whole.facts.parent = std::string(1000, 'p');
  Write(Requested(whole, std::string(1000, 'r'), std::string(1000, 'd')));
}

TEST_P(Limits, ALongTextIsFoundByItsFirstWords) {
  NewEntry made = Winding("novel");
  for (int i = 0; i < 20000; ++i) absl::StrAppend(&made.facts.text, "chapter", i, std::string(60, 'z'), " ");
  made.entry.payload = std::string(5 << 20, '\x7f');
  const Entry kept = Write(made);
  Query query;
  query.text = "chapter4095zz";
  const auto found = archive->Find(query);
  ASSERT_TRUE(found.ok()) << found.status();
  ASSERT_EQ(Names(found->entries), std::vector<std::string>{"windings/novel"});
  ExpectSame(found->entries[0], kept);
  query.text = "chapter4096zz";
  EXPECT_TRUE(archive->Find(query)->entries.empty());
}

}  // namespace
}  // namespace coilwright::archive
