#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "insulation/constants.h"
#include "standards/errors.h"
#include "standards/rules.h"
#include "standards/tables.h"
#include "testing/core_figures.h"
#include "testing/level_tables.h"
#include "testing/programme.h"
#include "testing/ring_flux.h"

namespace coilwright::testing {

using standards::Table;
using standards::WithUnit;

double CoreFigure(absl::string_view name) {
  static const Table& table = *new Table(standards::EmbeddedTable("core_test"));
  return insulation::NamedNumber(table, name);
}

std::string HighFrequencyNote(std::optional<double> designed_for_hz, std::optional<double> lamination_mm) {
  const bool fast = designed_for_hz && *designed_for_hz > CoreFigure("designed_above_hz");
  const bool thin = lamination_mm && *lamination_mm < CoreFigure("thin_lamination_mm");
  if (!fast && !thin) return "";
  return absl::StrCat("laminations ",
                      fast ? absl::StrCat("made for ", WithUnit(*designed_for_hz, "Hz"))
                           : absl::StrCat("of ", WithUnit(*lamination_mm, "mm")),
                      ": 1.32 T and the limits per mass are for 50 and 60 Hz designs, so only the two runs compare");
}

absl::Status MagnetsFirst() {
  return absl::FailedPreconditionError(
      "magnets are in the core: no ring-flux test before magnets and rotor are out; the loop would move, heat and "
      "demagnetize them");
}

absl::Status Together(const standards::RangeCheck& checks, const absl::Status& status) {
  std::vector<standards::FieldError> errors = standards::FieldErrorsOf(checks.status());
  for (standards::FieldError& error : standards::FieldErrorsOf(status)) errors.push_back(std::move(error));
  return standards::InvalidFields(errors);
}

std::vector<std::string> OvenCautions(const OvenLimit& oven) {
  if (!oven.part_celsius) {
    return {
        std::string(QualifiedPersonCaution()),
        "the winding comes out cold: one coil head sawn or milled off clear of the core, the sides pressed or pulled "
        "out of the slots one by one, no lever against teeth or magnets",
        "resin that holds: a solvent or a stripper only where its data sheet and the maker of the core allow it "
        "for bond, potting and magnets; in a fume hood, with gloves, away from flame",
        "where it does not come out cold, the maker of the core decides, or the part is replaced: no torch, no "
        "induction heater and no boiler in place of the oven"};
  }
  return {std::string(QualifiedPersonCaution()),
          "magnets, brake, feedback and sensors out, potting and leads with PVC or PTFE off first: their smoke poisons",
          "a sensor on the part decides, with a water spray or a fuel limit that acts on it; parts not stacked",
          "core test before and after: an oven that ran away shows there"};
}

OvenLimit OvenLimitFor(const CoreMake& make) {
  std::vector<absl::string_view> never;
  if (make.magnets_fitted) never.push_back("magnets lose their magnetization, NdFeB from 80 to 200 C by grade");
  if (make.glued) never.push_back("the bond of glued laminations burns out");
  if (make.potted) never.push_back("potting cracks or burns on to the core");
  if (make.build != CoreBuild::kRing) never.push_back("a segmented core comes apart at its joints");
  if (make.aluminium_frame) never.push_back("an aluminium frame distorts and lets go of the core");
  if (!never.empty()) return {std::nullopt, absl::StrJoin(never, "; "), rules::practice_no_oven};

  static const Table& table = *new Table(standards::EmbeddedTable("core_oven"));
  const bool inorganic = make.core_plate == CorePlate::kInorganic;
  const int row = RowOf(table, "core_plate", inorganic ? "inorganic" : "organic");
  return {table.Number(row, "celsius"),
          absl::StrCat(make.core_plate ? "" : "core plate unknown, taken as organic; ",
                       "measured on the part, not in the air of the oven; printed as ",
                       WithUnit(*table.Number(row, "fahrenheit"), "F")),
          table.Text(row, "rule")};
}

}  // namespace coilwright::testing
