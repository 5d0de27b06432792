#include "electric/coil_heads.h"

#include <cmath>

#include "standards/rules.h"
#include "standards/tables.h"
#include "standards/units.h"

namespace coilwright::electric {
namespace {

using standards::kPi;

constexpr double kFlankSine = 0.5;

double FlankCosine() { return std::sqrt(1 - kFlankSine * kFlankSine); }

struct LimitedForm {
  HeadForm form;
  double least_pole_pitch_mm;
};

const std::vector<LimitedForm>& AllForms() {
  static const auto& forms = *new std::vector<LimitedForm>([] {
    const standards::Table table(standards::EmbeddedTable("mean_turn_forms"));
    std::vector<LimitedForm> loaded;
    for (int row = 0; row < table.rows(); ++row) {
      const auto number = [&](absl::string_view column) { return table.Number(row, column).value_or(0); };
      const absl::string_view span = table.Text(row, "span");
      HeadForm form;
      form.rule = standards::FindRule(table.Text(row, "rule"))->id;
      form.poles = static_cast<int>(number("poles"));
      form.heads = number("heads");
      form.span = span == "bore"       ? &CoilSpans::bore_mm
                  : span == "mid slot" ? &CoilSpans::mid_slot_mm
                                       : &CoilSpans::pole_pitch_mm;
      form.factor = number("factor");
      form.addend_mm = 1000 * number("addend_m");
      loaded.push_back({form, number("least_pole_pitch_mm")});
    }
    return loaded;
  }());
  return forms;
}

}  // namespace

double ToothTurnMm(ToothHead head, double core_mm, double extension_mm, double tooth_mm, double side_mm) {
  const double sides = 2 * (core_mm + 2 * extension_mm);
  switch (head) {
    case ToothHead::kRoundedCorners:
      return sides + 2 * tooth_mm + kPi * side_mm;
    case ToothHead::kSharpCorners:
      return sides + 2 * tooth_mm + 4 * side_mm;
    case ToothHead::kSemicircle:
      break;
  }
  return sides + kPi * (tooth_mm + side_mm);
}

double DiamondTurnMm(double core_mm, double span_mm, double slot_depth_mm, double extension_mm) {
  return 2 * (core_mm + span_mm / FlankCosine() + kPi * slot_depth_mm / 4 + 2 * extension_mm);
}

double DiamondRiseMm(double span_mm) { return span_mm / 2 * kFlankSine / FlankCosine(); }

double TriangleMm(double span_mm, double rise_mm) { return std::hypot(span_mm, 2 * rise_mm); }

double HalfEllipseMm(double span_mm, double rise_mm) {
  const double a = span_mm / 2, b = rise_mm;
  return kPi / 2 * (3 * (a + b) - std::sqrt((3 * a + b) * (a + 3 * b)));
}

std::vector<HeadForm> HeadFormsFor(int poles, const CoilSpans& spans) {
  std::vector<HeadForm> valid;
  for (const LimitedForm& limited : AllForms()) {
    if (limited.form.poles != 0 && limited.form.poles != poles) continue;
    if (spans.pole_pitch_mm < limited.least_pole_pitch_mm) continue;
    if (FormTurnMm(limited.form, 0, spans) > 2 * spans.mid_slot_mm) valid.push_back(limited.form);
  }
  return valid;
}

double FormTurnMm(const HeadForm& form, double core_mm, const CoilSpans& spans) {
  return 2 * core_mm + form.heads * (form.factor * spans.*form.span + form.addend_mm);
}

}  // namespace coilwright::electric
