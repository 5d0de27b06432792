#include "testing/phase_resistance.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"
#include "testing/resistance_faults.h"
#include "testing/three_leads.h"

namespace coilwright::testing {
namespace {

using electric::Connection;

absl::Status Check(const ResistanceCase& c, const LineResistances& r) {
  standards::RangeCheck check;
  constexpr const char* kFields[] = {"u_v_ohms", "v_w_ohms", "w_u_ohms"};
  bool any = false;
  for (int i = 0; i < 3; ++i) {
    if (r.ohms[i]) check.Within(kFields[i], *r.ohms[i], 1e-6, 1e6, "ohms");
    any = any || r.ohms[i] || r.open[i];
  }
  if (!any) check.Refuse(kFields[0], "nothing", "one to three readings between the leads");
  check.Within("winding_temperature", r.winding_celsius, -60, 300, "C");
  check.Within("celsius_uncertainty", r.celsius_uncertainty, 0, 50, "K");
  check.Within("instrument.uncertainty_ratio", r.uncertainty_ratio, 0, 0.2, "");
  check.Above("unbalance_percent", c.unbalance_percent, 0, 100, "%");
  check.Within("shop_margin_ratio", c.shop_margin_ratio, 0, 0.5, "");
  if (c.parallel_circuits) check.Within("parallel_circuits", *c.parallel_circuits, 1, 100, "");
  if (c.coils_per_phase) check.Within("coils_per_phase", *c.coils_per_phase, 1, 1000, "");
  if (c.turns_per_coil) check.Above("turns_per_coil", *c.turns_per_coil, 0, 1e5, "");
  if (const auto& band = c.expected_line_to_line_ohms_20c) {
    if (check.Above("expected_line_to_line_ohms.low", band->low, 0, 1e6, "ohms"))
      check.Within("expected_line_to_line_ohms.high", band->high, band->low, 1e6, "ohms");
  }
  return check.status();
}

// Readings of fewer than three closed pairs, or an open one among them: what follows without phase values.
void JudgeOpenOrMissing(const ResistanceCase& c, const LineResistances& r, PhaseResistance& out) {
  JudgedTest& test = out.balance;
  const auto open = static_cast<int>(std::count(r.open.begin(), r.open.end(), true));
  int closed = 0;
  for (int i = 0; i < 3; ++i) closed += r.ohms[i].has_value() && !r.open[i];
  if (open == 0) {
    test.reason = absl::StrCat("the unbalance needs all three readings, ", closed, " given");
    return;
  }
  if (open == 1 && closed == 2) {
    const int pair = static_cast<int>(std::find(r.open.begin(), r.open.end(), true) - r.open.begin());
    test.reason = absl::StrCat("impossible: ", kPairs[pair],
                               " open while the other two pairs conduct; a bad contact or a wrong pair of leads");
    test.suspect = Suspect::kReading;
    return;
  }
  test.verdict = Verdict::kFail;
  test.suspect = Suspect::kOpenJoint;
  test.rules.push_back(rules::testing_resistance_faults);
  out.faults = OpenFaults(c.connection, r.open, closed);
  test.reason = absl::StrCat("open between ",
                             open == 1   ? "one pair"
                             : open == 2 ? "two pairs"
                                         : "all pairs",
                             " of leads");
  for (const ResistanceFault& fault : out.faults) test.points_to.push_back(fault.text);
}

// One reading as large as the other two together, or larger. True where it was judged here.
bool JudgeEdge(const ResistanceCase& c, const std::array<double, 3>& ohms, double uncertainty_ratio,
               PhaseResistance& out) {
  const int pair = static_cast<int>(std::max_element(ohms.begin(), ohms.end()) - ohms.begin());
  const double others = ohms[(pair + 1) % 3] + ohms[(pair + 2) % 3];
  const double tolerance = std::max(2 * uncertainty_ratio, Setting("resistance_edge_share")) * ohms[pair];
  JudgedTest& test = out.balance;
  if (ohms[pair] > others + tolerance) {
    test.suspect = Suspect::kReading;
    test.reason = absl::StrFormat(
        "impossible: %s %.4g ohm is more than the other two together, %.4g ohm; a bad contact on that pair or a wrong "
        "pair of leads",
        kPairs[pair], ohms[pair], others);
    test.rules.push_back(electric::kPhaseValuesRule);
    return true;
  }
  if (ohms[pair] < others - tolerance) return false;
  test.verdict = Verdict::kFail;
  test.rules.push_back(rules::testing_resistance_faults);
  out.faults = EdgeFaults(c.connection, pair);
  test.suspect = c.connection == Connection::kDelta ? Suspect::kOpenJoint : Suspect::kShortedTurns;
  test.reason = absl::StrFormat("%s reads as much as the other two pairs together", kPairs[pair]);
  for (const ResistanceFault& fault : out.faults) test.points_to.push_back(fault.text);
  return true;
}

// Of the meter, or an assumed one.
double UncertaintyOf(const LineResistances& r) {
  return r.uncertainty_ratio > 0 ? r.uncertainty_ratio : Setting("resistance_uncertainty_assumed");
}

// "1.96 % of at most 2 %, readings within 0.2 % (assumed)"
std::string BalanceText(const ResistanceCase& c, const LineResistances& r, double unbalance) {
  return absl::StrFormat("%.3g %% where %g %% is allowed, readings within %.2g %%%s", unbalance, c.unbalance_percent,
                         100 * UncertaintyOf(r), r.uncertainty_ratio > 0 ? "" : " (assumed)");
}

// One pair above two equal ones is as well a contact in that reading alone; "" otherwise.
std::string ContactText(const std::array<double, 3>& ohms, double uncertainty_ratio) {
  const auto high = static_cast<size_t>(std::max_element(ohms.begin(), ohms.end()) - ohms.begin());
  const double a = ohms[(high + 1) % 3], b = ohms[(high + 2) % 3];
  const double added = ohms[high] - (a + b) / 2;
  if (!(added > 0) || std::abs(a - b) > std::max(added / 2, uncertainty_ratio * ohms[high])) return "";
  return absl::StrFormat("as well a contact of about %.2g ohm at the clips when %s was read: read that pair again",
                         added, kPairs[high]);
}

void JudgeBalance(const ResistanceCase& c, const LineResistances& r, const std::array<double, 3>& ohms,
                  PhaseResistance& out) {
  const double uncertainty_ratio = UncertaintyOf(r);
  JudgedTest& test = out.balance;
  const double unbalance = *out.unbalance_percent;
  // Deviation from the mean of three: two thirds of the variance of one reading.
  Decide(unbalance, {100 * uncertainty_ratio * std::sqrt(2.0 / 3.0), c.shop_margin_ratio}, test);
  test.as_read = unbalance;
  if (test.verdict == Verdict::kPass) {
    test.reason = absl::StrCat("unbalance ", BalanceText(c, r, unbalance));
    if (unbalance <= c.unbalance_percent / 2) return;
    if (const auto farthest = FarthestPhase(c, ohms, uncertainty_ratio))
      test.points_to.push_back(absl::StrCat("would be explained by ", farthest->text));
    return;
  }
  const double concentric_limit = c.unbalance_percent * Setting("unbalance_concentric_share");
  if (c.concentric && unbalance <= concentric_limit) {
    test.verdict = Verdict::kMarginal;
    test.rules.push_back(rules::shop_judgement_concentric);
    test.reason = absl::StrFormat(
        "over the limit, but phases of concentric coils differ in length: compare with the winding when it was good "
        "(shop rule: up to %g %%)",
        concentric_limit);
  } else {
    test.reason = absl::StrCat(
        test.verdict == Verdict::kMarginal
            ? "within the guard band of the limit: repeat four-wire on clean leads, winding at one temperature; "
            : "the phases differ; ",
        "unbalance ", BalanceText(c, r, unbalance));
  }
  test.suspect = Suspect::kReading;
  for (const ResistanceFault& fault : out.faults) test.points_to.push_back(fault.text);
  if (const std::string contact = ContactText(ohms, uncertainty_ratio); !contact.empty())
    test.points_to.push_back(contact);
  if (out.faults.empty()) {
    test.points_to.push_back("more than one phase differs: read again, winding soaked to one temperature");
    if (const auto farthest = FarthestPhase(c, ohms, uncertainty_ratio))
      test.points_to.push_back(absl::StrCat("farthest from the others, ", farthest->text));
    return;
  }
  const bool shorted = out.faults[0].kind == ResistanceFaultKind::kShortedTurns;
  test.suspect = shorted ? Suspect::kShortedTurns : Suspect::kOpenJoint;
}

// The ratio of one whole winding to another that is connected otherwise.
void PointToConnection(double ratio, JudgedTest& test) {
  struct Other {
    double ratio;
    const char* text;
  };
  static constexpr Other kOthers[] = {{1.0 / 3.0, "delta where the expectation is of a star"},
                                      {3.0, "star where the expectation is of a delta"},
                                      {0.25, "twice the parallel circuits"},
                                      {4.0, "half the parallel circuits"}};
  for (const Other& other : kOthers) {
    if (std::abs(ratio / other.ratio - 1) < Setting("connection_ratio_share")) {
      test.suspect = Suspect::kWrongConnection;
      test.points_to.push_back(absl::StrFormat("%.3g times the expected value: %s", ratio, other.text));
    }
  }
}

// Turns do not change by themselves: what differs from the winding's own record is first the reading or the machine.
void PointFromTheRecord(double ratio, JudgedTest& test) {
  test.reason = absl::StrFormat("%.3g times what was recorded of this winding", ratio);
  test.suspect = Suspect::kReading;
  PointToConnection(ratio, test);
  test.points_to.push_back(ratio < 1
                               ? "a winding colder than stated, turns shorted alike, or another machine or winding "
                                 "than the one that was recorded"
                               : "a winding warmer than stated, a joint or contact, an open circuit, or another "
                                 "machine or winding than the one that was recorded");
}

// Share of the value: of instrument and temperature, k = 2.
double ShareOf(const LineResistances& r, double zero_kelvin) {
  return std::hypot(UncertaintyOf(r), r.celsius_uncertainty / (zero_kelvin + r.winding_celsius));
}

void JudgeExpected(const ResistanceCase& c, const LineResistances& r, double zero_kelvin, PhaseResistance& out) {
  if (!c.expected_line_to_line_ohms_20c || !out.mean_line_to_line_ohms_20c) return;
  const standards::Band& band = *c.expected_line_to_line_ohms_20c;
  const double value = *out.mean_line_to_line_ohms_20c;
  JudgedTest test;
  test.kind = TestKind::kWindingResistance;
  test.title = "Winding resistance, against the expected value";
  test.unit = "ohms";
  test.corrected_to = "20 C";
  test.corrected = value;
  const absl::string_view rule =
      c.expected_as_measured ? rules::testing_resistance_as_recorded : rules::electric_resistance;
  test.limit = Within(band.low, band.high, "ohms", "mean line to line at 20 C", rule);
  test.limit.corrected = true;
  test.limit.corrected_to = "20 C";
  test.rules = {standards::Constants(c.preset, c.metal).rule, rule};
  Decide(value, {value * ShareOf(r, zero_kelvin), c.shop_margin_ratio}, test);
  const double middle = band.nominal >= band.low && band.nominal > 0 ? band.nominal : (band.low + band.high) / 2;
  if (test.verdict == Verdict::kPass) {
    test.reason = c.expected_as_measured ? "as it was recorded" : "turns, wire and connection give the expected value";
  } else if (c.expected_as_measured) {
    PointFromTheRecord(value / middle, test);
  } else {
    test.reason = absl::StrFormat("%+.1f %% from the middle of the band", 100 * (value / middle - 1));
    test.suspect = Suspect::kWrongTurns;
    PointToConnection(value / middle, test);
    test.points_to.push_back(value < middle ? "fewer turns, thicker or more wires, or a winding colder than stated"
                                            : "more turns, thinner or fewer wires, a joint, or a winding warmer than "
                                              "stated");
  }
  out.expected = std::move(test);
}

}  // namespace

std::optional<standards::Band> ExpectedAsMeasured(const LineResistances& measured,
                                                  const std::vector<LineResistances>& again, bool same_machine,
                                                  standards::Metal metal, standards::ConductorPreset preset) {
  double sum = 0;
  int read = 0;
  for (size_t i = 0; i < 3; ++i) {
    if (measured.open[i]) return std::nullopt;
    sum += measured.ohms[i].value_or(0.0);
    read += measured.ohms[i].has_value();
  }
  const auto to_20 = standards::ResistanceRatio(preset, metal, measured.winding_celsius, 20);
  if (read == 0 || !to_20.ok()) return std::nullopt;
  const double zero_kelvin = standards::Constants(preset, metal).zero_resistance_kelvin;
  double of_reading = 0;
  for (const LineResistances& r : again) of_reading = std::max(of_reading, ShareOf(r, zero_kelvin));
  const double share = std::hypot(ShareOf(measured, zero_kelvin), of_reading) + of_reading +
                       (same_machine ? 0 : Setting("recorded_resistance_of_another"));
  const double ohms = sum / read * *to_20;
  return standards::Band{ohms * std::max(1 - share, 0.01), ohms, ohms * (1 + share)};
}

absl::StatusOr<PhaseResistance> JudgeResistance(const ResistanceCase& c, const LineResistances& r) {
  if (absl::Status status = Check(c, r); !status.ok()) return status;
  const auto to_20 = standards::ResistanceRatio(c.preset, c.metal, r.winding_celsius, 20);
  if (!to_20.ok()) return to_20.status();
  const auto to_25 = standards::ResistanceRatio(c.preset, c.metal, r.winding_celsius, 25);
  if (!to_25.ok()) return to_25.status();

  PhaseResistance out;
  out.balance.kind = TestKind::kWindingResistance;
  out.balance.title = "Winding resistance, balance";
  out.balance.unit = "percent";
  out.balance.limit = AtMost(c.unbalance_percent, "percent", "largest deviation from the mean of the three readings",
                             rules::ar100_resistance_unbalance);
  out.balance.rules = {rules::ar100_resistance_unbalance};
  std::array<double, 3> ohms{};
  double sum = 0;
  int closed = 0;
  for (size_t i = 0; i < 3; ++i) {
    if (!r.ohms[i] || r.open[i]) continue;
    ohms[i] = *r.ohms[i];
    out.line_to_line_ohms_20c[i] = ohms[i] * *to_20;
    sum += ohms[i] * *to_20;
    ++closed;
  }
  if (closed > 0) out.mean_line_to_line_ohms_20c = sum / closed;
  const auto constants = standards::Constants(c.preset, c.metal);
  out.balance.rules.push_back(constants.rule);
  if (closed == 3) {
    out.unbalance_percent = electric::UnbalancePercent(ohms);
    out.balance.rules.push_back(rules::electric_unbalance);
  }
  if (closed < 3) {
    JudgeOpenOrMissing(c, r, out);
  } else if (!JudgeEdge(c, ohms, UncertaintyOf(r), out)) {
    const auto phases = electric::PhaseValues(c.connection, ohms);
    if (!phases.ok()) return phases.status();
    out.balance.rules.push_back(electric::kPhaseValuesRule);
    out.phase_ohms_20c = *phases;
    for (double& ohm : *out.phase_ohms_20c) ohm *= *to_20;
    out.phase_ohms_25c = *phases;
    for (double& ohm : *out.phase_ohms_25c) ohm *= *to_25;
    const double u = r.uncertainty_ratio > 0 ? r.uncertainty_ratio : Setting("resistance_uncertainty_assumed");
    FaultModel model = ExplainTriple(c, ohms, u);
    for (ResistanceFault& fault : model.faults) {
      if (fault.added_ohms) *fault.added_ohms *= *to_20;
    }
    out.faults = std::move(model.faults);
    out.least_share_seen = model.least_share_seen;
    out.least_turns_seen = model.least_turns_seen;
    out.balance.rules.push_back(rules::testing_resistance_faults);
    JudgeBalance(c, r, ohms, out);
  }
  // A triple that no winding can give has no mean worth judging.
  if (out.balance.suspect != Suspect::kReading || out.phase_ohms_20c)
    JudgeExpected(c, r, constants.zero_resistance_kelvin, out);
  return out;
}

}  // namespace coilwright::testing
