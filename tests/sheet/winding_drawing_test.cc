// Winding drawings of every kind of layout: legible, complete, and the same as the layout they are of.
#include "sheet/winding_drawing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>
#include <set>

#include "absl/strings/str_cat.h"
#include "sheet/noting_canvas.h"
#include "sheet/read_back.h"
#include "winding/winding.h"

namespace coilwright::sheet {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using winding::CoilForm;
using winding::Layers;
using winding::PhaseEnds;

struct Case {
  winding::Pattern pattern;
  PhaseEnds ends;
  int circuits;
};

// Slots from 3 to the most that are drawn, every form, layers and connection.
const std::vector<Case>& Cases() {
  static const auto& cases = *new std::vector<Case>{
      {{3, 2, 1, Layers::kDouble, CoilForm::kToothCoil}, PhaseEnds::kStar, 1},
      {{6, 2, 3, Layers::kSingle, CoilForm::kLap}, PhaseEnds::kDelta, 1},
      {{12, 10, 1, Layers::kDouble, CoilForm::kToothCoil}, PhaseEnds::kDelta, 1},
      {{12, 10, 1, Layers::kSingle, CoilForm::kToothCoil}, PhaseEnds::kOpen, 1},
      {{12, 2, 5, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 2},
      {{12, 4, 3, Layers::kSingle, CoilForm::kLap}, PhaseEnds::kStar, 2},
      {{24, 4, 6, Layers::kSingle, CoilForm::kConcentric}, PhaseEnds::kStar, 1},
      {{24, 2, 11, Layers::kDouble, CoilForm::kConcentric}, PhaseEnds::kDelta, 2},
      {{24, 4, 5, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kOpen, 4},
      {{27, 6, 4, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 3},
      {{36, 4, 8, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 2},
      {{36, 6, 5, Layers::kDouble, CoilForm::kConcentric}, PhaseEnds::kStar, 3},
      {{36, 4, 8, Layers::kSingle, CoilForm::kChain}, PhaseEnds::kDelta, 1},
      {{48, 4, 11, Layers::kSingle, CoilForm::kChain}, PhaseEnds::kStar, 2},
      {{48, 8, 5, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 8},
      {{54, 6, 8, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kDelta, 6},
      {{72, 2, 30, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 2},
      {{72, 4, 15, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kOpen, 4},
      {{72, 12, 6, Layers::kSingle, CoilForm::kConcentric}, PhaseEnds::kDelta, 6},
      {{72, 12, 5, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 12},
      {{72, 60, 1, Layers::kDouble, CoilForm::kToothCoil}, PhaseEnds::kStar, 12},
      {{72, 60, 1, Layers::kDouble, CoilForm::kToothCoil}, PhaseEnds::kDelta, 1},
      {{96, 8, 10, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 8},
      {{144, 8, 15, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kDelta, 8},
      {{144, 120, 1, Layers::kDouble, CoilForm::kToothCoil}, PhaseEnds::kOpen, 24},
  };
  return cases;
}

absl::StatusOr<WindingDrawing> DrawingOf(const Case& one) {
  winding::Placement placement;
  placement.pattern = one.pattern;
  absl::StatusOr<winding::Layout> layout = winding::LaidOut(placement);
  if (!layout.ok()) return layout.status();
  absl::StatusOr<winding::ConnectionList> list = winding::Connect(placement, *layout, one.ends, one.circuits);
  if (!list.ok()) return list.status();
  const absl::StatusOr<winding::Symmetry> symmetry = winding::CheckSymmetry(one.pattern);
  if (!symmetry.ok()) return symmetry.status();
  return WindingDrawing{"Harbour Lane cannery, line 2, seamer head drive",
                        *layout,
                        *list,
                        winding::FieldOf(*layout),
                        one.pattern.form,
                        symmetry->slots_per_pole_phase_num,
                        symmetry->slots_per_pole_phase_den,
                        "0123456789abcdef"};
}

class Drawings : public ::testing::TestWithParam<Case> {
 protected:
  // Draws and holds that all of it can be read.
  void Draw(Paper paper) {
    const absl::StatusOr<WindingDrawing> drawing = DrawingOf(GetParam());
    ASSERT_TRUE(drawing.ok()) << drawing.status();
    drawing_ = *drawing;
    auto canvas = NewCanvas(Format::kPdf, drawing_.title);
    ASSERT_TRUE(canvas.ok()) << canvas.status();
    canvas_ = std::make_unique<NotingCanvas>(*std::move(canvas));
    const auto left_out = DrawWinding(drawing_, paper, *canvas_);
    ASSERT_TRUE(left_out.ok()) << left_out.status();
    left_out_ = *left_out;
    EXPECT_THAT(Illegible(*canvas_), IsEmpty());
    const auto files = canvas_->Finish();
    ASSERT_TRUE(files.ok()) << files.status();
    pdf_ = files->front();
  }

  // Coil sides of a phase, each with its letter in the strip under the developed view.
  int CountSides(int phase) const {
    return 2 * static_cast<int>(std::count_if(drawing_.layout.coils.begin(), drawing_.layout.coils.end(),
                                              [&](const winding::Coil& coil) { return coil.phase == phase; }));
  }

  WindingDrawing drawing_;
  std::unique_ptr<NotingCanvas> canvas_;
  std::vector<std::string> left_out_;
  std::string pdf_;
};

TEST_P(Drawings, AreLegibleOnA4AndLetter) {
  for (const Paper paper : {Paper::kA4, Paper::kLetter}) {
    Draw(paper);
    const int slots = GetParam().pattern.slots;
    // Up to 72 slots it is two pages with everything on them, unless the circuits want one of their own.
    if (slots <= 72 && GetParam().circuits <= 4) {
      EXPECT_EQ(canvas_->pages().size(), 2u);
      EXPECT_THAT(left_out_, IsEmpty());
    }
  }
}

TEST_P(Drawings, NumberEverySlotGroupAndLead) {
  Draw(Paper::kA4);
  if (!left_out_.empty()) return;
  const int slots = GetParam().pattern.slots;
  const int groups = static_cast<int>(drawing_.connections.groups.size());
  for (int number = 1; number <= std::max(slots, groups); ++number) {
    // Round the stator and at a group; then in the developed view, at a group there, in its box.
    const int least = (number <= slots ? 1 : 0) + (number <= groups ? 1 : 0);
    EXPECT_GE(canvas_->Count(1, absl::StrCat(number)), least) << number;
    EXPECT_GE(canvas_->Count(2, absl::StrCat(number)) + canvas_->Count(3, absl::StrCat(number)),
              least + (number <= groups ? 1 : 0))
        << number;
  }
  // In the developed view a lead is named at every end on it, in the connections once.
  const bool open = GetParam().ends == PhaseEnds::kOpen;
  const int ends = GetParam().circuits * (GetParam().ends == PhaseEnds::kDelta ? 2 : 1);
  for (const std::string phase : {"U", "V", "W"}) {
    for (const std::string& lead : open ? std::vector<std::string>{phase + "1", phase + "2"} : std::vector{phase}) {
      const int letters = open ? 0 : CountSides(phase[0] - 'U');
      EXPECT_EQ(canvas_->Count(2, lead) + canvas_->Count(3, lead), ends + 1 + letters) << lead;
    }
  }
}

// The text of the PDF is what a program or a person searches for.
TEST_P(Drawings, SayTheLayoutInWords) {
  Draw(Paper::kA4);
  const std::string text = PdfText(pdf_);
  EXPECT_THAT(text, HasSubstr(absl::StrCat(GetParam().pattern.slots, " slots, ", GetParam().pattern.poles, " poles")));
  EXPECT_THAT(text, HasSubstr("Harbour Lane cannery"));
  EXPECT_THAT(text, HasSubstr("data revision 0123456789abcdef"));
  EXPECT_THAT(text, HasSubstr(absl::StrCat(drawing_.layout.coils.size(), " coils in ",
                                           drawing_.connections.groups.size(), " groups")));
}

std::string NameOf(const ::testing::TestParamInfo<Case>& info) {
  constexpr const char* kForms[] = {"Lap", "Concentric", "Chain", "Tooth"};
  constexpr const char* kEnds[] = {"Star", "Delta", "Open"};
  const Case& one = info.param;
  return absl::StrCat(
      "Slots", one.pattern.slots, "Poles", one.pattern.poles, kForms[static_cast<int>(one.pattern.form)],
      one.pattern.layers == Layers::kSingle ? "Single" : "Double", kEnds[static_cast<int>(one.ends)], one.circuits);
}

INSTANTIATE_TEST_SUITE_P(Layouts, Drawings, ::testing::ValuesIn(Cases()), NameOf);

// A drawing that could not be told from another machine's is worth nothing: every layout gives other bytes.
TEST(WindingDrawing, TheSameLayoutGivesTheSameBytesAndAnotherGivesOthers) {
  std::set<std::string> drawn;
  for (const int circuits : {1, 2, 4, 1}) {
    auto drawing = DrawingOf({{36, 4, 8, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, circuits});
    ASSERT_TRUE(drawing.ok());
    auto canvas = NewCanvas(Format::kSvg, drawing->title);
    ASSERT_TRUE(canvas.ok());
    ASSERT_TRUE(DrawWinding(*drawing, Paper::kA4, **canvas).ok());
    const auto files = (*canvas)->Finish();
    ASSERT_TRUE(files.ok());
    drawn.insert(absl::StrCat(files->at(0), files->at(1)));
  }
  EXPECT_EQ(drawn.size(), 3u);
}

TEST(WindingDrawing, MoreSlotsThanStayLegibleAreRefused) {
  auto drawing = DrawingOf({{162, 6, 24, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 1});
  ASSERT_TRUE(drawing.ok()) << drawing.status();
  auto canvas = NewCanvas(Format::kPdf, "");
  ASSERT_TRUE(canvas.ok());
  const absl::Status status = DrawWinding(*drawing, Paper::kA4, **canvas).status();
  EXPECT_EQ(status.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(status.message()),
              HasSubstr("up to 144 slots, which stay legible on a page; this one has 162"));
}

// A very long title and one of odd letters stay on their line.
TEST(WindingDrawing, TitlesAreCutToTheirLine) {
  auto drawing = DrawingOf({{12, 2, 5, Layers::kDouble, CoilForm::kLap}, PhaseEnds::kStar, 1});
  ASSERT_TRUE(drawing.ok());
  for (const std::string& title : {std::string(500, 'W'), std::string(5000, '\xFF'), std::string("\u00DC\n\u05D0")}) {
    drawing->title = title;
    auto canvas = NewCanvas(Format::kPdf, title);
    ASSERT_TRUE(canvas.ok());
    NotingCanvas noting(*std::move(canvas));
    ASSERT_TRUE(DrawWinding(*drawing, Paper::kLetter, noting).ok());
    EXPECT_THAT(Illegible(noting), IsEmpty());
    EXPECT_TRUE(noting.Finish().ok());
  }
}

}  // namespace
}  // namespace coilwright::sheet
