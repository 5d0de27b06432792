#include <algorithm>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

// A measured constant carries 2 %, so does the measurement at release, and the magnets are not at exactly 20 C: 5 % is
// what a bench can hold (shop setting, no standard sets it).
constexpr double kAcceptedKeShare = 0.05;

void NameAcceptance(testing::Programme& programme) {
  for (testing::Step& step : programme.steps) {
    if (step.left_out || !step.limit.low) continue;
    if (step.kind == testing::TestKind::kBackEmf) step.rules.push_back(rules::plan_accept_voltage_constant);
    if (step.kind == testing::TestKind::kWindingResistance) step.rules.push_back(rules::plan_terminal_resistance);
  }
}

// Compared, not judged: it moves with frequency, current and rotor, and no standard limits it.
void ExpectInductance(const MeasuredInductance& before, double line_turns_ratio, testing::Programme& programme) {
  const double ratio = line_turns_ratio * line_turns_ratio;
  std::vector<std::string> values;
  if (before.least_mh) values.push_back(absl::StrFormat("least about %.3g mH", *before.least_mh * ratio));
  if (before.greatest_mh) values.push_back(absl::StrFormat("greatest about %.3g mH", *before.greatest_mh * ratio));
  if (values.empty()) return;
  for (testing::Step& step : programme.steps) {
    if (step.kind != testing::TestKind::kInductance || step.left_out) continue;
    absl::StrAppend(
        &step.limit.text, "; ", absl::StrJoin(values, ", "), " as read before times the square of the turns, ",
        before.frequency_hz ? absl::StrFormat("at %g Hz", *before.frequency_hz) : "at the frequency of that reading",
        !before.rotor_in   ? " and with the rotor as it was then"
        : *before.rotor_in ? " and with the rotor in"
                           : " and with the rotor out");
    step.rules.push_back(rules::plan_inductance);
  }
}

}  // namespace

absl::StatusOr<std::vector<testing::Programme>> Programmes(const Record& record, const TurnsPlan& original,
                                                           const TurnsPlan& turns, const TestChoice& tests,
                                                           const std::optional<standards::Band>& accepted_ohms_20c,
                                                           const std::optional<MachineConstants>& constants) {
  testing::ProgrammeCase c;
  c.family = tests.family;
  c.condition = tests.condition;
  c.rated_volts = turns.rated_volts;
  c.permanent_magnet = record.kind == MachineKind::kPermanentMagnet;
  c.induction = record.kind == MachineKind::kInduction;
  c.segmented_core = record.construction == Construction::kSegmented;
  c.potted = record.potted;
  if (record.plate.thermal_class) c.thermal_class_celsius = record.plate.thermal_class->celsius;
  c.delta = turns.connection == electric::Connection::kDelta;
  c.megohm_edition = tests.megohm_edition;
  if (tests.insulation_family_given) c.insulation_family = tests.insulation_family;
  c.form_wound_surge = tests.form_wound_surge;
  c.built_year = record.plate.built_year;
  c.shop_expectation_megohms = tests.shop_expectation_megohms;
  c.resistance_unbalance_percent = tests.resistance_unbalance_percent;
  c.before_treatment_share = tests.before_treatment_share;
  c.fitted = record.devices;
  c.shop = tests.run;
  c.bench = tests.bench;
  c.drive_fed = record.plate.drive_fed;
  c.drive_mains_volts = record.plate.drive_mains_volts;
  c.dc_bus_volts = record.plate.dc_bus_volts;

  std::vector<testing::Programme> programmes;
  for (const testing::Stage stage :
       {testing::Stage::kAsReceived, testing::Stage::kStrippedCore, testing::Stage::kWoundStarOpen,
        testing::Stage::kWoundBeforeTreatment, testing::Stage::kTreated, testing::Stage::kAssembled}) {
    c.stage = stage;
    c.rotor_fitted = stage == testing::Stage::kAsReceived || stage == testing::Stage::kAssembled;
    const bool rewound = stage != testing::Stage::kAsReceived && stage != testing::Stage::kStrippedCore;
    c.star_open = stage == testing::Stage::kWoundStarOpen || record.winding.star_open;
    c.three_leads = !record.winding.star_open;
    if (rewound && accepted_ohms_20c) {
      c.expected_line_to_line_ohms_low = accepted_ohms_20c->low;
      c.expected_line_to_line_ohms_high = accepted_ohms_20c->high;
    }
    if (rewound && constants) {
      const standards::Band& ke = constants->ke_ll_rms_v_per_krpm;
      c.expected_ke_low = std::min(ke.low, ke.nominal * (1 - kAcceptedKeShare));
      c.expected_ke_high = std::max(ke.high, ke.nominal * (1 + kAcceptedKeShare));
    }
    // Before it is rewound the machine keeps the voltage on its plate.
    c.rated_volts = rewound ? turns.rated_volts : record.plate.rated_volts;
    c.rated_kw = rewound ? turns.rated_kw : RatedKw(record.plate);
    absl::StatusOr<testing::Programme> programme = testing::TestProgramme(c);
    if (!programme.ok()) return programme.status();
    NameAcceptance(*programme);
    if (rewound && record.inductance) ExpectInductance(*record.inductance, LineTurnsRatio(original, turns), *programme);
    programmes.push_back(*std::move(programme));
  }
  return programmes;
}

}  // namespace coilwright::plan
