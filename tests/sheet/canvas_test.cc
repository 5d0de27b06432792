// Documents as other programs read them, and what a canvas refuses.
#include "sheet/canvas.h"

#include <dlfcn.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <functional>
#include <limits>
#include <thread>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "sheet/load_canvas.h"
#include "sheet/read_back.h"
#include "sheet/sample.h"

namespace coilwright::sheet {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::SizeIs;

constexpr char kSampleProgram[] = COILWRIGHT_BINARY_DIR "/tests/draw_sample";

std::string Draw(Format format) {
  const auto files = DrawSample(format);
  EXPECT_TRUE(files.ok()) << files.status();
  return files.ok() ? absl::StrJoin(*files, "") : "";
}

// A library that any C++ program has loaded, by its whole path.
std::string ForeignLibrary() {
  Dl_info found{};
  EXPECT_NE(dladdr(reinterpret_cast<void*>(&std::atoi), &found), 0);
  return found.dli_fname;
}

TEST(Canvas, ThePdfHasItsTextFontsTitleAndNoDate) {
  const std::string pdf = Draw(Format::kPdf);
  EXPECT_THAT(PdfText(pdf), AllOf(HasSubstr("a <b> & \"c\" 'd'"), HasSubstr("0.7690 \u03A9 at 20 \u00B0C"),
                                  HasSubstr("Slots 1 to 36")));
  EXPECT_THAT(PdfInfo(pdf), AllOf(HasSubstr("Sample <of> everything & \u00DCber"), HasSubstr("Pages:           2"),
                                  HasSubstr("(A4)"), Not(HasSubstr("CreationDate")), Not(HasSubstr("ModDate"))));
  const std::vector<std::string> fonts = absl::StrSplit(PdfFonts(pdf), '\n', absl::SkipEmpty());
  ASSERT_GE(fonts.size(), 4u);
  for (size_t i = 2; i < fonts.size(); ++i) {
    // Name, type, encoding, and whether it is embedded, in part, and can be turned back into text.
    EXPECT_THAT(fonts[i], AllOf(HasSubstr("+DejaVuSans"), HasSubstr(" yes yes yes "))) << fonts[i];
  }
}

TEST(Canvas, TheSvgIsXmlWithItsTextAndItsFont) {
  const auto pages = DrawSample(Format::kSvg);
  ASSERT_TRUE(pages.ok()) << pages.status();
  ASSERT_THAT(*pages, SizeIs(2));
  const std::string text = SvgText(pages->at(0));
  EXPECT_THAT(text, AllOf(HasSubstr("a <b> & \"c\" 'd' ]]> <!--"), HasSubstr("nul\uFFFDx"),
                          HasSubstr("tab\uFFFDline\uFFFDfeed\uFFFDbell\uFFFD")));
  EXPECT_THAT(SvgText(pages->at(1)), HasSubstr("Slots 1 to 36"));
  EXPECT_THAT(pages->at(1), AllOf(HasSubstr("width=\"279.4mm\" height=\"215.9mm\" viewBox=\"0 0 279.4 215.9\""),
                                  HasSubstr("font-weight:bold;src:url(data:font/ttf;base64,AAEAAAA"),
                                  HasSubstr("<title>Sample &lt;of&gt; everything &amp; \u00DCber</title>")));
}

TEST(Canvas, PatternsAreLinesAndNoPictures) {
  EXPECT_THAT(Draw(Format::kPdf), Not(HasSubstr("/Image")));
  EXPECT_THAT(Draw(Format::kSvg), Not(HasSubstr("<image")));
}

// Neither the addresses of a process nor its locale are in a document.
TEST(Canvas, EveryProcessDrawsTheSameBytes) {
  for (const bool svg : {false, true}) {
    const std::string ours = Draw(svg ? Format::kSvg : Format::kPdf);
    for (const std::string before : {"", "LC_ALL=C ", "LC_ALL=C.UTF-8 LANG=ar_EG "}) {
      EXPECT_TRUE(Printed(absl::StrCat(before, kSampleProgram, svg ? " svg" : " pdf")) == ours) << before << svg;
    }
  }
}

TEST(Canvas, ManyThreadsDrawTheSameBytes) {
  std::vector<std::thread> threads;
  std::vector<std::string> drawn(16);
  for (size_t i = 0; i < drawn.size(); ++i) {
    threads.emplace_back([&drawn, i] { drawn[i] = Draw(i % 2 == 0 ? Format::kPdf : Format::kSvg); });
  }
  for (std::thread& thread : threads) thread.join();
  for (size_t i = 2; i < drawn.size(); ++i) EXPECT_TRUE(drawn[i] == drawn[i % 2]) << i;
}

TEST(Canvas, OddTextIsMeasuredAndDrawnByItselfInBothFormats) {
  for (const Format format : {Format::kPdf, Format::kSvg}) {
    for (const std::string& text : OddTexts()) {
      auto canvas = NewCanvas(format, text);
      ASSERT_TRUE(canvas.ok()) << canvas.status();
      const double width_mm = (*canvas)->WidthMm(text, {});
      EXPECT_TRUE(std::isfinite(width_mm) && width_mm >= 0) << text;
      (*canvas)->BeginPage(SizeOf(Paper::kA4, true));
      (*canvas)->Text({20, 20}, text, {});
      const auto files = (*canvas)->Finish();
      ASSERT_TRUE(files.ok()) << text << files.status();
      format == Format::kPdf ? PdfText(files->at(0)) : SvgText(files->at(0));
    }
  }
}

TEST(Canvas, WhatNoPageHoldsIsCutOff) {
  auto canvas = NewCanvas(Format::kSvg, "");
  ASSERT_TRUE(canvas.ok());
  const std::string longest(1000, 'x');
  (*canvas)->BeginPage(SizeOf(Paper::kA4, true));
  (*canvas)->Text({20, 20}, longest, {});
  (*canvas)->Text({20, 30}, std::string(1 << 20, 'x'), {});
  EXPECT_EQ(SvgText(*(*canvas)->Finish()->begin()), absl::StrCat(longest, "\n", longest, "\u2026\n"));
}

// Advances of DejaVu Sans 2.37 in units of 1/2048 of its size: H 1540, a 1255, m 1995, in bold H 1714.
TEST(Canvas, WidthsAreThoseOfTheFont) {
  for (const Format format : {Format::kPdf, Format::kSvg}) {
    auto canvas = NewCanvas(format, "");
    ASSERT_TRUE(canvas.ok());
    for (const double size_mm : {1.8, 3.0, 12.0}) {
      const double unit = size_mm / 2048;
      EXPECT_NEAR((*canvas)->WidthMm("Ham", {size_mm}), (1540 + 1255 + 1995) * unit, 2e-3 * size_mm);
      EXPECT_NEAR((*canvas)->WidthMm("H", {size_mm, true}), 1714 * unit, 2e-3 * size_mm);
    }
    EXPECT_EQ((*canvas)->WidthMm("", {}), 0);
  }
}

// What would make a file that no viewer reads is told by Finish, whichever call it came by.
TEST(Canvas, NumbersThatAreNoneAreRefused) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double endless = std::numeric_limits<double>::infinity();
  for (const Format format : {Format::kPdf, Format::kSvg}) {
    for (const double bad : {nan, endless, -endless, 1e5}) {
      const Stroke line, wide{bad, {}, 1}, dashed{0.2, {1, bad}, 1}, dark{0.2, {}, bad};
      const std::vector<std::function<void(Canvas&)>> calls = {
          [&](Canvas& page) {
            page.BeginPage({bad, 100});
          },
          [&](Canvas& page) {
            page.Draw(Polyline({{1, 1}, {bad, 2}}), &line, Fill::kNone);
          },
          [&](Canvas& page) {
            page.Draw(Path().Move({0, 0}).Curve({1, bad}, {2, 2}, {3, 3}), &line, Fill::kNone);
          },
          [&](Canvas& page) {
            page.Draw(Circle({bad, 1}, 2), nullptr, Fill::kHatched);
          },
          [&](Canvas& page) {
            page.Draw(Circle({1, 1}, bad), nullptr, Fill::kDotted);
          },
          [&](Canvas& page) {
            page.Draw(Circle({1, 1}, 1), &wide, Fill::kNone);
          },
          [&](Canvas& page) {
            page.Draw(Circle({1, 1}, 1), &dashed, Fill::kNone);
          },
          [&](Canvas& page) {
            page.Draw(Circle({1, 1}, 1), &dark, Fill::kNone);
          },
          [&](Canvas& page) {
            page.Text({1, bad}, "x", {});
          },
          [&](Canvas& page) {
            page.Text({1, 1}, "x", {bad});
          },
          [&](Canvas& page) {
            page.Text({1, 1}, "x", {3, false, Anchor::kStart, 0, bad});
          },
      };
      for (size_t i = 0; i < calls.size(); ++i) {
        auto canvas = NewCanvas(format, "");
        ASSERT_TRUE(canvas.ok());
        (*canvas)->BeginPage(SizeOf(Paper::kA4, false));
        calls[i](**canvas);
        EXPECT_EQ((*canvas)->Finish().status().code(), absl::StatusCode::kInvalidArgument) << bad << " in call " << i;
      }
      auto canvas = NewCanvas(format, "");
      EXPECT_EQ((*canvas)->WidthMm("x", {bad}), 0);
    }
  }
}

TEST(Canvas, AnArcOfNoAngleIsRefusedToo) {
  auto canvas = NewCanvas(Format::kPdf, "");
  ASSERT_TRUE(canvas.ok());
  const Stroke line;
  (*canvas)->BeginPage(SizeOf(Paper::kA4, false));
  (*canvas)->Draw(Path().Arc({10, 10}, 5, 0, std::nan("")), &line, Fill::kNone);
  EXPECT_FALSE((*canvas)->Finish().ok());
}

TEST(Canvas, NoPageAndASecondEndAreRefused) {
  auto canvas = NewCanvas(Format::kSvg, "");
  ASSERT_TRUE(canvas.ok());
  (*canvas)->Text({1, 1}, "x", {});
  (*canvas)->BeginPage(SizeOf(Paper::kA4, false));
  EXPECT_EQ((*canvas)->Finish().status().code(), absl::StatusCode::kFailedPrecondition);
  canvas = NewCanvas(Format::kPdf, "");
  EXPECT_EQ((*canvas)->Finish().status().code(), absl::StatusCode::kFailedPrecondition);
  canvas = NewCanvas(Format::kPdf, "");
  (*canvas)->BeginPage(SizeOf(Paper::kA4, false));
  EXPECT_TRUE((*canvas)->Finish().ok());
  EXPECT_EQ((*canvas)->Finish().status().code(), absl::StatusCode::kFailedPrecondition);
}

TEST(Canvas, AMissingLibrarySaysWhatToInstall) {
  const auto loaded = LoadCanvas("libcoilwright_nowhere.so");
  EXPECT_EQ(loaded.status().code(), absl::StatusCode::kUnavailable);
  EXPECT_THAT(std::string(loaded.status().message()),
              AllOf(HasSubstr(COILWRIGHT_BINARY_DIR "/lib/coilwright/libcoilwright_nowhere.so"),
                    HasSubstr("libpangocairo-1.0-0 and libharfbuzz-subset0"), HasSubstr("cannot open shared object")));
  // One that is there and is not ours.
  EXPECT_THAT(std::string(LoadCanvas(ForeignLibrary().c_str()).status().message()), HasSubstr("undefined symbol"));
}

TEST(Canvas, AMissingFontSaysWhatToInstall) {
  const std::string settings = ::testing::TempDir() + "no_fonts.conf";
  Printed(absl::StrCat("echo '<fontconfig/>' > ", settings));
  EXPECT_THAT(Printed(absl::StrCat("FONTCONFIG_FILE=", settings, " ", kSampleProgram, " pdf 2>&1 || true")),
              AllOf(HasSubstr("UNAVAILABLE"), HasSubstr("install Debian's package fonts-dejavu-core")));
}

TEST(Canvas, PapersHaveTheirSizes) {
  EXPECT_EQ(SizeOf(Paper::kA4, false).width_mm, 210);
  EXPECT_EQ(SizeOf(Paper::kA4, true).width_mm, 297);
  EXPECT_EQ(SizeOf(Paper::kLetter, false).height_mm, 279.4);  // 11 in
  EXPECT_EQ(SizeOf(Paper::kLetter, true).height_mm, 215.9);   // 8.5 in
}

// An arc of four curves is nowhere off its circle by more than 0.03 % of the radius.
TEST(Path, AnArcIsRound) {
  const Path arc = Path().Arc({10, 20}, 100, -30, 300);
  Point from = arc.parts[0].to;
  for (const Path::Part& part : arc.parts) {
    for (double t = 0; part.step == Path::Step::kCurve && t <= 1; t += 0.125) {
      const double a = (1 - t) * (1 - t) * (1 - t), b = 3 * t * (1 - t) * (1 - t), c = 3 * t * t * (1 - t),
                   d = t * t * t;
      const double x = a * from.x_mm + b * part.first_control.x_mm + c * part.second_control.x_mm + d * part.to.x_mm;
      const double y = a * from.y_mm + b * part.first_control.y_mm + c * part.second_control.y_mm + d * part.to.y_mm;
      EXPECT_NEAR(std::hypot(x - 10, y - 20), 100, 0.03);
    }
    from = part.to;
  }
  EXPECT_NEAR(from.x_mm, 10 + 50, 1e-9);
  EXPECT_NEAR(from.y_mm, 20 - 86.60254, 1e-5);
}

}  // namespace
}  // namespace coilwright::sheet
