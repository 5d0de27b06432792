// Pages of text: what they say is read back by another program (pdftotext, of poppler).
#include "sheet/document.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <set>

#include "absl/strings/str_cat.h"
#include "sheet/noting_canvas.h"
#include "sheet/read_back.h"

namespace coilwright::sheet {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

std::string Made(const Document& document, Format format = Format::kPdf) {
  auto canvas = NewCanvas(format, document.title);
  if (!canvas.ok()) return std::string(canvas.status().message());
  Draw(document, SizeOf(Paper::kA4, false), **canvas);
  const auto files = (*canvas)->Finish();
  if (!files.ok()) return std::string(files.status().message());
  return files->front();
}

Document Long(int rows) {
  Document document;
  document.title = "Rewind sheet";
  document.code = "7KQ2-M0XC";
  document.footer = "data revision 1";
  Table table;
  table.columns = {{"slot", true, false}, {"what lies in it", false, true}};
  for (int i = 1; i <= rows; ++i) table.rows.push_back({absl::StrCat(i), absl::StrCat("side of coil ", i)});
  document.blocks.push_back({"Slots", std::move(table), false});
  return document;
}

TEST(Document, OfOnePageSaysSoAndKeepsEveryWord) {
  Document document = Long(3);
  document.warnings = {"NOT TO BE WOUND YET"};
  document.blocks.push_back(
      {"Machine", Facts{{{"Kind", "induction"}, {"Left out", ""}, {"Checked by", kToWrite}}}, true});
  document.blocks.push_back({"Cautions", List{{"discharge it first"}, "!"}, true});
  const std::string text = PdfText(Made(document));
  for (const char* word :
       {"Rewind sheet", "7KQ2-M0XC", "NOT TO BE WOUND YET", "what lies in it", "side of coil 3", "Machine", "induction",
        "Checked by", "! discharge it first", "page 1 of 1", "data revision 1"})
    EXPECT_THAT(text, HasSubstr(word));
  EXPECT_THAT(text, Not(HasSubstr("Left out")));
}

TEST(Document, OfManyPagesNamesItsColumnsOnEachAndLosesNoRow) {
  const std::string pdf = Made(Long(200));
  const std::string text = PdfText(pdf);
  int headings = 0;
  for (size_t at = text.find("what lies in it"); at != std::string::npos; at = text.find("what lies in it", at + 1))
    ++headings;
  EXPECT_THAT(text, HasSubstr(absl::StrCat("page 1 of ", headings)));
  EXPECT_GT(headings, 2);
  for (int i = 1; i <= 200; ++i) EXPECT_THAT(text, HasSubstr(absl::StrCat("side of coil ", i, "\n"))) << i;
}

TEST(Document, IsTheSameAgain) {
  EXPECT_EQ(Made(Long(40)), Made(Long(40)));
  EXPECT_EQ(Made(Long(40), Format::kSvg), Made(Long(40), Format::kSvg));
}

TEST(Document, BreaksAWordThatIsWiderThanItsColumn) {
  Document document = Long(1);
  document.blocks.push_back({"", Facts{{{"Note", std::string(300, 'W')}}}, false});
  const std::string text = PdfText(Made(document));
  size_t letters = 0;
  for (const char c : text) letters += c == 'W' ? 1 : 0;
  EXPECT_EQ(letters, 300u);
}

// What somebody wrote may be longer than a page: it goes on overleaf, wherever it stands.
TEST(Document, LosesNoLetterOfWhatIsLongerThanAPage) {
  const auto words = [](char letter) {
    std::string text;
    for (int i = 0; i < 2000; ++i) absl::StrAppend(&text, std::string(9, letter), " ");
    return text;
  };
  Document document = Long(1);
  document.title = words('t');
  document.subtitle = words('s');
  document.warnings = {words('A')};
  document.blocks.push_back({"", Facts{{{"Note", words('B')}, {words('C'), "short"}}}, false});
  document.blocks.push_back({"", List{{words('D')}, "!"}, false});
  document.blocks.push_back({"left", Facts{{{"Note", words('E')}}}, true});
  document.blocks.push_back({"right", List{{words('F')}, ""}, true});
  Table table;
  table.columns = {{"slot", true, false}, {"what lies in it", false, true}};
  table.rows = {{words('G'), words('H')}, {std::string(20000, 'I'), "short"}};
  document.blocks.push_back({"", std::move(table), false});
  for (const PageSize size : {SizeOf(Paper::kA4, false), PageSize{105, 74}}) {
    auto canvas = NewCanvas(Format::kSvg, "long");
    ASSERT_TRUE(canvas.ok()) << canvas.status();
    NotingCanvas noted(*std::move(canvas));
    Draw(document, size, noted);
    ASSERT_TRUE(noted.Finish().ok());
    const bool label = size.width_mm < 150;  // which has a margin of its own
    EXPECT_THAT(label ? std::vector<std::string>() : Illegible(noted), IsEmpty());
    std::map<char, int> drawn;
    for (const NotedText& text : noted.texts()) {
      for (const char c : text.text) ++drawn[c];
      ASSERT_TRUE(text.left_mm > 0 && text.right_mm < size.width_mm && text.bottom_mm < size.height_mm) << text.text;
    }
    for (const char letter : std::string("ABCDEFGH")) EXPECT_GE(drawn[letter], 2000 * 9) << letter;
    EXPECT_GE(drawn['I'], 20000);
  }
}

TEST(Document, CountsWhatItSets) {
  Document document;
  document.title = "1";
  document.blocks.push_back({"", Facts{{{"22", "333"}}}, false});
  document.blocks.push_back({"", List{{"4444"}, "!"}, false});
  document.blocks.push_back({"", Table{{{"slot", true, false}}, {{"55555"}}}, false});
  EXPECT_EQ(TextBytes(document), 15u);
}

TEST(Ticks, AreRoundAndWithin) {
  EXPECT_THAT(Ticks(0, 10, false, 5), ElementsAre(0, 2, 4, 6, 8, 10));
  EXPECT_THAT(Ticks(2015.2, 2020.1, false, 5), ElementsAre(2016, 2017, 2018, 2019, 2020));
  EXPECT_THAT(Ticks(1, 1000, true, 5), ElementsAre(1, 2, 5, 10, 20, 50, 100, 200, 500, 1000));
  EXPECT_THAT(Ticks(1, 1e9, true, 3), ElementsAre(1, 1000, 1e6, 1e9));
}

TEST(Plot, WithNothingToShowHasItsAxesAndItsLimit) {
  Document document = Long(1);
  Plot plot;
  plot.x = {"seconds", true};
  plot.y = {"megohms", true};
  plot.series.emplace_back();
  plot.series.back().label = "read";
  plot.series.back().points = {{0, 5}, {-1, 5}, {10, 0}};
  plot.limits = {{"least: 5 megohms", 5}};
  document.blocks.push_back({"Run", plot, false});
  const std::string text = PdfText(Made(document));
  EXPECT_THAT(text, HasSubstr("seconds"));
  EXPECT_THAT(text, HasSubstr("least: 5 megohms"));
}

TEST(Plot, MarksSeriesApartAndNamesThem) {
  Document document = Long(1);
  Plot plot;
  for (const Plot::Mark mark : {Plot::Mark::kDot, Plot::Mark::kRing, Plot::Mark::kCross, Plot::Mark::kNone}) {
    Plot::Series series;
    series.label = absl::StrCat("series ", static_cast<int>(mark));
    series.mark = mark;
    series.line = false;
    series.points = {{1, 5}, {2, 6}};
    plot.series.push_back(series);
  }
  document.blocks.push_back({"", plot, false});
  const std::string svg = Made(document, Format::kSvg);
  for (const Plot::Series& series : plot.series) EXPECT_THAT(svg, HasSubstr(series.label));
  std::set<std::string> drawn;
  for (Plot::Series& series : plot.series) {
    Document alone = Long(1);
    Plot one;
    one.series = {series};
    one.series[0].label.clear();
    alone.blocks.push_back({"", one, false});
    drawn.insert(Made(alone, Format::kSvg));
  }
  EXPECT_EQ(drawn.size(), 4u);
}

TEST(Plot, TellsItsTicksApart) {
  Document document = Long(1);
  Plot plot;
  plot.series.emplace_back();
  plot.series.back().points = {{2026.05, 62}, {2026.9, 1850}};
  document.blocks.push_back({"", plot, false});
  EXPECT_THAT(PdfText(Made(document)), HasSubstr("2026.2"));
}

}  // namespace
}  // namespace coilwright::sheet
