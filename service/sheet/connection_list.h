#pragma once

#include "sheet/document.h"
#include "sheet/winding_drawing.h"

namespace coilwright::sheet {

// The joints of a winding in a table, a column a phase, to be ticked off beside the stator: its lead, the jumpers from
// group to group along its circuits, the star point or the second lead. An end is "4 finish (10)": of group 4, out of
// slot 10. Joints within a group are left out.
Table ConnectionTable(const WindingDrawing& drawing);

// How the table is read.
std::string ConnectionLegend(const WindingDrawing& drawing);

}  // namespace coilwright::sheet
