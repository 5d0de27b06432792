// Slot drawings: every wire at its size to the scale that the page states, or none and a word why.
#include "sheet/slot_drawing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <memory>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "sheet/noting_canvas.h"
#include "sheet/read_back.h"

namespace coilwright::sheet {
namespace {

using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

SlotDrawing DrawingOf(const slot::Shape& shape, double fullness, bool two_layers, bool side_by_side = false) {
  SlotDrawing drawing{"Harbour Lane cannery, line 2, seamer head drive",
                      shape,
                      {0.25, 0.3, 1.2, 0.1, two_layers},
                      {},
                      {},
                      side_by_side,
                      {{0.8, 0.881, 2}, {0.5, 0.566, 1}},
                      {"2 x 0.80 mm grade 2", "1 x 0.50 mm grade 2"},
                      {},
                      {"The wedge was taken to be 1.2 mm."},
                      "0123456789abcdef"};
  drawing.area = *slot::NetArea(shape, drawing.insulation);
  const int turns = static_cast<int>(fullness * drawing.area.net_mm2 / (2 * 0.881 * 0.881 + 0.566 * 0.566));
  drawing.turns = two_layers ? std::vector<int>{turns / 2, turns / 2} : std::vector<int>{turns};
  drawing.fill = *slot::SlotFill(drawing.area, drawing.bundle, turns);
  return drawing;
}

struct Drawn {
  std::unique_ptr<NotingCanvas> canvas;
  std::vector<std::string> left_out;
  std::string text;
  double scale = 0;
};

Drawn Draw(const SlotDrawing& drawing, Paper paper) {
  Drawn drawn;
  auto canvas = NewCanvas(Format::kPdf, drawing.title);
  EXPECT_TRUE(canvas.ok()) << canvas.status();
  drawn.canvas = std::make_unique<NotingCanvas>(*std::move(canvas));
  const auto left_out = DrawSlot(drawing, paper, *drawn.canvas);
  EXPECT_TRUE(left_out.ok()) << left_out.status();
  if (left_out.ok()) drawn.left_out = *left_out;
  EXPECT_THAT(Illegible(*drawn.canvas), IsEmpty());
  const auto files = drawn.canvas->Finish();
  EXPECT_TRUE(files.ok()) << files.status();
  drawn.text = PdfText(files->front());
  const size_t at = drawn.text.find("Scale ");
  double paper_mm = 0, slot_mm = 0;
  EXPECT_EQ(std::sscanf(drawn.text.c_str() + at, "Scale %lf:%lf", &paper_mm, &slot_mm), 2);
  drawn.scale = paper_mm / slot_mm;
  return drawn;
}

const std::vector<slot::Shape>& DrawnShapes() {
  static const auto& shapes = *new std::vector<slot::Shape>{
      slot::ParallelSided{8, 25, 2.5, 0.8},
      slot::ParallelSided{8, 25, 8, 0},
      slot::ParallelTooth{80, 12, 9, 18, 3, 1},
      slot::ParallelTooth{100, 36, 4, 16, 2.2, 0.7},
      slot::RoundBottomed{6, 9, 22, 2.8, 0.9},
      slot::Round{16, 2},
      slot::MeasuredArea{150},
      slot::ParallelSided{40, 150, 10, 4},
      slot::ParallelTooth{700, 12, 90, 120, 12, 6},
  };
  return shapes;
}

TEST(SlotDrawing, EveryWireIsDrawnAtItsSize) {
  for (const slot::Shape& shape : DrawnShapes()) {
    for (const bool two_layers : {false, true}) {
      for (const bool side_by_side : {false, true}) {
        const SlotDrawing drawing = DrawingOf(shape, 0.6, two_layers, side_by_side);
        const Drawn drawn = Draw(drawing, side_by_side ? Paper::kLetter : Paper::kA4);
        int turns = 0;
        for (const int layer : drawing.turns) turns += layer;
        if (3 * drawing.turns[0] > 4000) continue;  // too many to be drawn
        ASSERT_THAT(drawn.left_out, IsEmpty()) << shape.index();
        EXPECT_EQ(drawn.canvas->CirclesOf(0.881 * drawn.scale), 2 * turns) << shape.index();
        EXPECT_EQ(drawn.canvas->CirclesOf(0.566 * drawn.scale), turns) << shape.index();
        // The bare wire is drawn twice: filled, and its edge.
        EXPECT_EQ(drawn.canvas->CirclesOf(0.8 * drawn.scale), 4 * turns) << shape.index();
        EXPECT_THAT(drawn.text, AllOf(HasSubstr("2 x 0.80 mm grade 2 + 1 x 0.50 mm grade 2"),
                                      HasSubstr("liner, 0.25 mm"), HasSubstr("The wedge was taken to be 1.2 mm."),
                                      HasSubstr(absl::StrCat(3 * drawing.turns[0], " wires"))));
      }
    }
  }
}

TEST(SlotDrawing, WiresThatDoNotFitAreNotDrawnInPart) {
  const Drawn drawn = Draw(DrawingOf(slot::ParallelSided{8, 25, 2.5, 0.8}, 1.4, true), Paper::kA4);
  EXPECT_THAT(drawn.left_out, ElementsAre(HasSubstr("the wires of the top layer"), HasSubstr("the bottom layer")));
  EXPECT_EQ(drawn.canvas->CirclesOf(0.881 * drawn.scale), 0);
  EXPECT_THAT(drawn.text, HasSubstr("not drawn: do not fit"));
}

TEST(SlotDrawing, WiresTooManyOrTooThinAreNotDrawn) {
  SlotDrawing drawing = DrawingOf(slot::ParallelSided{8, 25, 2.5, 0.8}, 0.5, false);
  drawing.turns = {100000};
  EXPECT_THAT(Draw(drawing, Paper::kA4).left_out, ElementsAre(HasSubstr("300000 wires too many to be drawn")));
  drawing.turns = {10};
  drawing.bundle = {{0.02, 0.03, 1}};
  EXPECT_THAT(Draw(drawing, Paper::kA4).left_out, ElementsAre(HasSubstr("too thin to be drawn at this scale")));
}

TEST(SlotDrawing, ASlotOfNoScaleIsRefused) {
  for (const double side : {0.02, 5000.0}) {
    SlotDrawing drawing = DrawingOf(slot::ParallelSided{8, 25, 2.5, 0.8}, 0.5, false);
    drawing.shape = slot::ParallelSided{side, side, side / 2, side / 10};
    drawing.insulation = {};
    auto canvas = NewCanvas(Format::kPdf, "");
    ASSERT_TRUE(canvas.ok());
    EXPECT_EQ(DrawSlot(drawing, Paper::kA4, **canvas).status().code(), absl::StatusCode::kFailedPrecondition) << side;
  }
}

}  // namespace
}  // namespace coilwright::sheet
