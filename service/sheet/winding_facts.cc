#include <algorithm>
#include <set>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "sheet/winding_views.h"

namespace coilwright::sheet {
namespace {

std::string FormInWords(std::optional<winding::CoilForm> form) {
  constexpr const char* kForms[] = {"lap coils", "concentric coils", "chain coils", "tooth coils"};
  return form ? kForms[static_cast<size_t>(*form)] : "coils as traced";
}

// "1\u20139, 8 slots spanned"; each throw once, the longest first.
std::string ThrowsInWords(const winding::Layout& layout) {
  std::set<int, std::greater<>> spans;
  for (const winding::Coil& coil : layout.coils) spans.insert(SpanOf(layout, coil));
  std::vector<std::string> throws;
  for (const int span : spans) throws.push_back(absl::StrCat("1\u2013", span + 1));
  constexpr size_t kMost = 5;
  const bool more = throws.size() > kMost;
  if (more) throws.resize(kMost);
  return absl::StrCat(absl::StrJoin(throws, ", "), more ? " and shorter" : "", " (", absl::StrJoin(spans, ", "),
                      spans == std::set<int, std::greater<>>{1} ? " slot spanned)" : " slots spanned)");
}

std::string ConnectionInWords(const winding::ConnectionList& list) {
  constexpr const char* kEnds[] = {"star", "delta", "open, six leads"};
  return absl::StrCat(kEnds[static_cast<size_t>(list.ends)], ", ", list.circuits,
                      list.circuits == 1 ? " circuit a phase" : " parallel circuits a phase");
}

std::string AxisInWords(const WindingDrawing& drawing) {
  const bool delta = drawing.connections.ends == winding::PhaseEnds::kDelta;
  const double electrical =
      delta ? drawing.field.delta_axis_electrical_degrees[0] : drawing.field.axis_electrical_degrees[0];
  const int pairs = drawing.layout.poles / 2;
  const double mechanical = delta ? electrical / pairs : drawing.field.axis_mechanical_degrees[0];
  return absl::StrFormat("%.2f\u00B0 from slot 1%s, %.2f\u00B0 electrical", mechanical,
                         pairs > 1 ? absl::StrCat(" (the first of ", pairs, ")") : "", electrical);
}

std::vector<std::pair<std::string, std::string>> FactsOf(const WindingDrawing& drawing) {
  const winding::Layout& layout = drawing.layout;
  const bool two = std::any_of(layout.coils.begin(), layout.coils.end(), [&](const winding::Coil&) {
    return 2 * layout.coils.size() > static_cast<size_t>(layout.slots);
  });
  const std::string lead = LeadName(drawing.connections, 0);
  const std::string q = drawing.slots_per_pole_phase_den == 1
                            ? absl::StrCat(drawing.slots_per_pole_phase_num)
                            : absl::StrCat(drawing.slots_per_pole_phase_num, "/", drawing.slots_per_pole_phase_den);
  const bool clockwise = drawing.field.clockwise_from_connection_end;
  return {
      {"Slots, poles",
       absl::StrCat(layout.slots, " slots, ", layout.poles, " poles, ", q, " slots per pole and phase")},
      {"Winding", absl::StrCat(two ? "two layers, " : "one layer, ", FormInWords(drawing.form), ", ",
                               layout.coils.size(), " coils in ", drawing.connections.groups.size(), " groups")},
      {"Throw", ThrowsInWords(layout)},
      {"Connection", ConnectionInWords(drawing.connections)},
      {"Connection end", layout.connection_end == winding::MachineEnd::kDrive ? "the shaft end" : "opposite the shaft"},
      {absl::StrCat("Axis of lead ", lead), AxisInWords(drawing)},
      {"Rotation",
       absl::StrCat("U-V-W turns ", clockwise ? "clockwise" : "counter-clockwise", " seen from the connection end, ",
                    drawing.field.clockwise_from_drive_end ? "clockwise" : "counter-clockwise",
                    " facing the shaft end")},
  };
}

}  // namespace

void DrawWindingFacts(const WindingDrawing& drawing, const Frame& frame, Canvas& canvas) {
  constexpr double kSize = 2.6, kLabelMm = 25;
  double y_mm = frame.top_mm + 3;
  for (const auto& [label, fact] : FactsOf(drawing)) {
    canvas.Text({frame.left_mm, y_mm}, label, {kSize, true});
    y_mm = Paragraph(canvas, {frame.left_mm + kLabelMm, y_mm}, fact, kSize, frame.width_mm() - kLabelMm, 2) + 0.6;
  }
  y_mm += 2;
  // One sample of each phase: line, fill and letter; then the marks of the current.
  const double third = frame.width_mm() / 3;
  for (int phase = 0; phase < 3; ++phase) {
    const double x_mm = frame.left_mm + phase * third;
    const Stroke line = PhaseStroke(phase, 0.3);
    canvas.Draw(Rectangle({x_mm, y_mm - 3}, 5, 4), &kThin, PhaseFill(phase));
    const std::string name = absl::StrCat("phase ", std::string(1, PhaseLetter(phase)));
    const double to_mm = x_mm + third - canvas.WidthMm(name, {kSize}) - 3;
    canvas.Draw(Polyline({{x_mm + 6, y_mm - 1}, {to_mm - 1, y_mm - 1}}), &line, Fill::kNone);
    canvas.Text({to_mm, y_mm}, name, {kSize});
  }
  y_mm += 5.5;
  CurrentMark(canvas, {frame.left_mm + 1.4, y_mm - 0.9}, 2.8, true);
  canvas.Text({frame.left_mm + 4, y_mm}, "positive current away", {kSize});
  CurrentMark(canvas, {frame.left_mm + 43.4, y_mm - 0.9}, 2.8, false);
  canvas.Text({frame.left_mm + 46, y_mm}, "towards the connection end", {kSize});
  y_mm += 4.6;
  canvas.Draw(Circle({frame.left_mm + 1.8, y_mm - 0.9}, 1.8), &kThin, Fill::kWhite);
  CentredText(canvas, {frame.left_mm + 1.8, y_mm - 0.9}, "1", 2.2);
  canvas.Text({frame.left_mm + 4.6, y_mm}, "number of a group of coils, in order round the bore", {kSize});
  y_mm += 4.6;
  const Stroke chain{0.3, {3, 0.8, 0.5, 0.8}, 1};
  canvas.Draw(Polyline({{frame.left_mm, y_mm - 0.9}, {frame.left_mm + 6, y_mm - 0.9}}), &chain, Fill::kNone);
  ArrowHead(canvas, {frame.left_mm + 7.6, y_mm - 0.9}, 0, 2.2);
  canvas.Text({frame.left_mm + 9.2, y_mm},
              absl::StrCat("axis of lead ", LeadName(drawing.connections, 0), "; round arrow: the way U-V-W turns"),
              {kSize});
}

}  // namespace coilwright::sheet
