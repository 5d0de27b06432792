#include "plot.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>

#include "absl/strings/match.h"
#include "absl/strings/str_join.h"
#include "progress.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using testing::HasSubstr;
using testing::Not;

// Row (from the top) and column of a mark.
std::pair<size_t, size_t> Place(const std::vector<std::string>& lines, char mark) {
  for (size_t row = 0; row < lines.size(); ++row) {
    const size_t column = lines[row].find(mark);
    if (column != std::string::npos) return {row, column};
  }
  return {lines.size(), 0};
}

// Equal ratios are equal heights, and equal years equal widths: closed form of a logarithmic scale.
TEST(LogPlot, PutsPointsWhereTheyBelong) {
  LogPlot plot;
  plot.points = {{2010, 1000, 'a'}, {2015, 100, 'b'}, {2020, 10, 'c'}};
  const auto lines = DrawPlot(plot, 80, 21);
  ASSERT_EQ(lines.size(), 23u);
  const auto a = Place(lines, 'a'), b = Place(lines, 'b'), c = Place(lines, 'c');
  EXPECT_EQ(a.first, 0u);
  EXPECT_EQ(b.first, 10u);
  EXPECT_EQ(c.first, 20u);
  EXPECT_NEAR(static_cast<double>(b.second - a.second), static_cast<double>(c.second - b.second), 1);
  EXPECT_TRUE(absl::StartsWith(lines[0], "1000 +"));
  EXPECT_TRUE(absl::StartsWith(lines[10], " 100 +"));
  EXPECT_THAT(lines.back(), HasSubstr("2016"));
  // The year stands below its mark of the axis, and that below the point.
  EXPECT_NEAR(static_cast<double>(lines.back().find("2010") + 2), static_cast<double>(a.second), 1);
  for (const std::string& line : lines) EXPECT_LE(Width(line), 80) << line;
}

TEST(LogPlot, DrawsLevelAndLine) {
  LogPlot plot;
  plot.points = {{2010, 1000, 'o'}, {2020, 100, 'o'}};
  plot.level = 5;
  plot.line_x = 2020;
  plot.line_y = 100;
  plot.line_ratio = std::pow(0.1, 0.1);
  plot.last_x = 2030;
  const auto lines = DrawPlot(plot, 100, 24);
  // The level has a row of its own off the axis, at 5 between 1000 and 2; the line ends at 10 in 2030, above it.
  const auto level = static_cast<size_t>(std::lround(23 * std::log(1000.0 / 5) / std::log(1000.0 / 2)));
  EXPECT_GT(std::count(lines[level].begin(), lines[level].end(), '-'), 80);
  EXPECT_THAT(lines[level], HasSubstr("5 +"));
  size_t dots = 0;
  for (size_t row = 0; row < 24; ++row)
    dots += static_cast<size_t>(std::count(lines[row].begin(), lines[row].end(), '.'));
  EXPECT_GT(dots, 80u);
  EXPECT_THAT(lines[level], Not(HasSubstr(".")));
}

TEST(LogPlot, SurvivesWhateverItIsGiven) {
  EXPECT_TRUE(DrawPlot({}, 80, 15).empty());
  LogPlot one;
  one.points = {{2026.9, 850, 'o'}};
  auto lines = DrawPlot(one, 60, 15);
  EXPECT_LT(Place(lines, 'o').first, 15u);
  // A short axis is told in months.
  EXPECT_THAT(lines.back(), HasSubstr("2026-"));
  for (double y : {1e-6, 1.0, 2.0, 5.0, 9.99, 10.0, 1e9}) {
    LogPlot flat;
    flat.points = {{2000, y, 'o'}, {2100, y, 'o'}};
    flat.level = y;
    flat.line_x = 2000;
    flat.line_y = y;
    flat.line_ratio = 1e300;
    lines = DrawPlot(flat, 60, 15);
    EXPECT_LT(Place(lines, 'o').first, 15u) << y << "\n" << absl::StrJoin(lines, "\n");
    for (const std::string& line : lines) EXPECT_LE(Width(line), 60) << line;
  }
}

TEST(ProgressLine, ShowsHowFarItIs) {
  EXPECT_EQ(ProgressLine("export", 0.5, 5000, 10, 0), "export   50 %  5000 entries  500 a second  10 s left");
  EXPECT_EQ(ProgressLine("import", -1, 5000, 10, 0), "import  5000 entries  500 a second");
  const std::string bar = ProgressLine("export", 0.5, 5000, 10, 100);
  EXPECT_THAT(bar, HasSubstr("[" + std::string(20, '#') + std::string(20, '.') + "]   50 %"));
  EXPECT_EQ(bar.size(), 99u);
  for (int columns : {1, 20, 40, 60}) {
    EXPECT_EQ(ProgressLine("export", 0.5, 5000, 10, columns).size(), static_cast<size_t>(columns - 1));
  }
}

}  // namespace
}  // namespace coilwright::cli
