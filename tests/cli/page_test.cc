#include "page.h"

#include <gmock/gmock.h>

#include "absl/strings/str_split.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using testing::Each;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::Le;
using testing::ResultOf;

TEST(Table, PutsDecimalPointsUnderEachOther) {
  Table table({{"wire", {}}, {"mm2", Table::Align::kPoint}, {"", {}}});
  table.Add({"AWG 8", "8.366", "thick"});
  table.Add({"AWG 18 heavy", "0.8231"});
  table.Add({"two", "12"});
  EXPECT_THAT(table.Lines(0), ElementsAre("wire              mm2", "AWG 8          8.366   thick",
                                          "AWG 18 heavy   0.8231", "two           12"));
}

TEST(Table, RightAlignsAndDropsEmptyColumns) {
  Table table({{"", Table::Align::kRight}, {"never", {}}, {"what", {}}});
  table.Add({"1", "", "one"});
  table.Add({"10", "", "ten"});
  EXPECT_THAT(table.Lines(2), ElementsAre("      what", "   1  one", "  10  ten"));
}

TEST(Table, WrapsTheLastColumnUnderItself) {
  Table table({{"", {}}, {"", {}}});
  table.Add({"note", std::string(30, 'a') + " " + std::string(50, 'b') + " " + std::string(40, 'c')});
  EXPECT_THAT(table.Lines(2), ElementsAre("  note  " + std::string(30, 'a') + " " + std::string(50, 'b'),
                                          "        " + std::string(40, 'c')));
}

TEST(Table, PrintsANoteAcrossBelowItsRow) {
  Table table({{"", {}}, {"check", {}}, {"found", Table::Align::kRight}});
  table.Add({"look", "mass", "1 kg"});
  table.Note("weigh it again");
  table.Add({"ok", "volts", "2 V"});
  EXPECT_THAT(table.Lines(1), ElementsAre("       check  found", " look  mass    1 kg", "       weigh it again",
                                          " ok    volts    2 V"));
}

TEST(Table, CountsCharactersNotBytes) {
  Table table({{"", {}}, {"", {}}});
  table.Add({"M\xC3\xB6rtel", "x"});
  table.Add({"Kessel", "y"});
  EXPECT_THAT(table.Lines(0), ElementsAre("M\xC3\xB6rtel  x", "Kessel  y"));
}

TEST(Table, WithoutRowsPrintsNothing) { EXPECT_THAT(Table(std::vector<Table::Column>(2)).Lines(2), IsEmpty()); }

TEST(Page, NeverPrintsALineWiderThanThePage) {
  Page page;
  std::string text;
  for (int i = 0; i < 80; ++i) text += "insulation ";
  page.Title(text);
  page.Heading(text);
  page.Paragraph(text);
  page.Item(text, "!");
  page.Facts({{"a fact", text}, {"none", ""}});
  const std::vector<std::string> lines = absl::StrSplit(page.text(), '\n');
  EXPECT_THAT(lines, Each(ResultOf([](const std::string& line) { return Width(line); }, Le(kPageWidth))));
  EXPECT_GT(lines.size(), 40u);
  EXPECT_EQ(page.text().find("none"), std::string::npos);
}

TEST(Page, LeavesOneBlankLineBeforeAHeading) {
  Page page;
  page.Title("title");
  page.Blank();
  page.Heading("heading");
  page.Item("a caution", "!");
  EXPECT_EQ(page.text(), "title\n\nheading\n  ! a caution\n");
}

}  // namespace
}  // namespace coilwright::cli
