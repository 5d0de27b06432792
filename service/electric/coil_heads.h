#pragma once

#include <vector>

#include "absl/strings/string_view.h"

namespace coilwright::electric {

// Lengths of one whole turn, two slot parts and two heads, by the shape of the head. All in mm.

// Tooth coils: `tooth_mm` the tooth, `side_mm` the width of a coil side, so the mean path lies half of it off the
// tooth.
enum class ToothHead {
  kRoundedCorners,  // four quarter circles: the tautest path
  kSharpCorners,    // a rectangle
  kSemicircle,
};
double ToothTurnMm(ToothHead head, double core_mm, double extension_mm, double tooth_mm, double side_mm);

// Spans of a distributed coil along the circumference.
struct CoilSpans {
  double bore_mm = 0;
  double mid_slot_mm = 0;
  double pole_pitch_mm = 0;  // at the bore
};

// A diamond: two straight flanks at 30 degrees (coil sides fill half the slot pitch in the head), a knuckle of half a
// circle over half the slot depth, a straight part of `extension_mm` at each end of the core.
double DiamondTurnMm(double core_mm, double span_mm, double slot_depth_mm, double extension_mm);
// How far the flanks of that diamond rise off the core.
double DiamondRiseMm(double span_mm);

// Length of one head over `span_mm` that rises by `rise_mm`: two straight flanks, or half an ellipse (Ramanujan's first
// approximation, better than 0.05 % for the ratios of a coil head).
double TriangleMm(double span_mm, double rise_mm);
double HalfEllipseMm(double span_mm, double rise_mm);

// A printed form: each of `heads` adds factor x span + addend to twice the core. `poles` 0 holds for any.
struct HeadForm {
  absl::string_view rule;
  int poles = 0;
  double heads = 1;
  double CoilSpans::*span = nullptr;
  double factor = 0;
  double addend_mm = 0;
};

// The printed forms that hold at this pole number and pole pitch, the one made for this pole number first. A form that
// gives a head shorter than its span has left its range and is not among them.
std::vector<HeadForm> HeadFormsFor(int poles, const CoilSpans& spans);
double FormTurnMm(const HeadForm& form, double core_mm, const CoilSpans& spans);

}  // namespace coilwright::electric
