#pragma once

#include <string>
#include <vector>

#include "sheet/canvas.h"
#include "sheet/draw.h"
#include "sheet/winding_drawing.h"

// The views of a winding drawing, each within a frame. What is not legible there is named in `left_out`.
namespace coilwright::sheet {

using LeftOut = std::vector<std::string>;

// Clockwise from the point of y = 0, as on a clock: slot 1 stands at twelve.
double SlotDegrees(const winding::Layout& layout, double slot);
// Slots from go to return slot, towards rising numbers.
int SpanOf(const winding::Layout& layout, const winding::Coil& coil);
int GreatestSpan(const winding::Layout& layout);
// Where the coils of a group have their middle, in slots from 0 on.
double MiddleSlotOf(const winding::Layout& layout, const winding::Group& group);
// The slot that an end of a coil comes out of.
int SlotOf(const winding::Layout& layout, const winding::CoilEnd& end);
// "U"; of six leads "U1", "U2".
std::string LeadName(const winding::ConnectionList& list, int phase, bool second = false);

void DrawStator(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas, LeftOut* left_out);
void DrawStarOfSlots(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas, LeftOut* left_out);
// What the pages say in words and how their lines and marks are read.
void DrawWindingFacts(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas);

// Height that a view wants, and the least it can be drawn in.
struct HeightWanted {
  double best_mm = 0, least_mm = 0;
};

// Slots `first` to `last` of the bore unrolled.
HeightWanted DevelopedHeight(const WindingDrawing& drawing, int slots, double width_mm);
void DrawDeveloped(const WindingDrawing& drawing, int first, int last, const Frame& frame, Canvas& canvas,
                   LeftOut* left_out);

HeightWanted ConnectionHeight(const WindingDrawing& drawing);
void DrawConnections(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas, LeftOut* left_out);

}  // namespace coilwright::sheet
