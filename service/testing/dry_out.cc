#include "testing/dry_out.h"

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {

DryOut DryOutFor(const ProgrammeCase& c) {
  DryOut dry_out;
  const bool rotor_in = RotorIn(c),
             complete = rotor_in || c.stage == Stage::kAsReceived || c.stage == Stage::kInService;
  const auto fitted = [&](bool is, std::string what) {
    if (is) dry_out.limited_by.push_back(std::move(what));
  };
  fitted(rotor_in && c.permanent_magnet, "magnets");
  fitted(rotor_in, "bearing grease");
  fitted(c.fitted.feedback != Feedback::kNone && complete, std::string(FeedbackName(c.fitted.feedback)));
  fitted(c.fitted.brake && complete, "brake");
  fitted(!SensorsByKind(c.fitted).empty(), "thermal sensor");
  fitted(c.fitted.surge_parts, "surge parts");
  fitted(c.potted, "potting");
  dry_out.most_celsius = Setting(dry_out.limited_by.empty() ? "dry_out_winding_only" : "dry_out_with_fitted_parts");
  dry_out.rule = rules::shop_programme_dry_out;
  return dry_out;
}

std::string DryOutText(const DryOut& dry_out) {
  return absl::StrCat("at most ", standards::WithUnit(dry_out.most_celsius, "C"),
                      dry_out.limited_by.empty()
                          ? " on the winding alone"
                          : absl::StrCat(" with ", absl::StrJoin(dry_out.limited_by, ", "), " fitted"),
                      ", less where the leads, the plate or any part asks less; never a burn-out oven with magnets, "
                      "glued, potted or segmented cores");
}

}  // namespace coilwright::testing
