#include "absl/strings/str_cat.h"
#include "electric/resistance.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"
#include "testing/programme_steps.h"
#include "testing/temperature_rise.h"

namespace coilwright::testing {
namespace {

using standards::WithUnit;

// A measurement at the low voltage of its instrument.
Step Measurement(TestKind kind, std::string title, std::string reason, std::vector<TestKind> after, const Bench& b) {
  Step step;
  step.kind = kind;
  step.title = std::move(title);
  step.reason = std::move(reason);
  step.after = std::move(after);
  step.discharge_seconds = Shop(b.c.shop.least_discharge_seconds, "discharge_least");
  return step;
}

Limit Comparison(LimitKind kind, std::string text, absl::string_view rule) {
  Limit limit;
  limit.kind = kind;
  limit.text = std::move(text);
  limit.rule = rule;
  return limit;
}

// The ends of an expectation that are known decide the kind; both absent is a comparison in words.
Limit Expected(std::optional<double> low, std::optional<double> high, std::string unit, std::string corrected_to,
               std::string text, absl::string_view rule) {
  Limit limit = Comparison(LimitKind::kNone, std::move(text), rule);
  if (low && high) limit.kind = LimitKind::kWithin;
  if (low && !high) limit.kind = LimitKind::kAtLeast;
  if (!low && high) limit.kind = LimitKind::kAtMost;
  limit.low = low;
  limit.high = high;
  if (limit.kind == LimitKind::kNone) return limit;
  limit.unit = std::move(unit);
  limit.corrected = true;
  limit.corrected_to = std::move(corrected_to);
  return limit;
}

std::vector<Terminal> LinePairs(const Bench& b) {
  return WithFittedParts(
      {{b.star_open ? "U1-U2, V1-V2 and W1-W2 in turn" : "U-V, V-W and W-U in turn", Potential::kEnergised},
       {b.star_open ? "the other phases" : "the third lead", Potential::kFloating},
       {"frame and core", Potential::kEarthed}},
      b);
}

}  // namespace

Step VisualStep(const Bench& b) {
  Step step;
  step.kind = TestKind::kVisual;
  step.title = "Look, smell, feel";
  step.reason = "what the eye finds needs no voltage";
  step.prepare = {"supply isolated and locked off; leads earthed before they are touched"};
  if (b.c.stage == Stage::kAsReceived) {
    step.prepare.push_back("take down plate, connection, lead colours and terminal order before anything comes off");
    if (b.c.fitted.feedback != Feedback::kNone) {
      step.prepare.push_back(absl::StrCat("record the alignment of the ", FeedbackName(b.c.fitted.feedback),
                                          " before it comes off: coupling mark, offset, current and its direction"));
    }
  }
  if (b.rotor_in) step.prepare.push_back("leads insulated or earthed before the shaft is turned by hand");
  if (b.rotor_in && b.c.fitted.brake) step.prepare.push_back("release the brake before the shaft is turned");
  step.terminals = WithFittedParts({{"U, V, W", Potential::kEarthed}, {"frame and core", Potential::kEarthed}}, b);
  step.limit = Comparison(LimitKind::kNone,
                          b.rotor_in ? "no burnt, loose, bruised or wet part; the shaft turns freely"
                                     : "no burnt, loose, bruised or wet part",
                          "");
  step.cautions = {"a winding or capacitor may hold charge: earth it first"};
  if (b.rotor_in && b.c.permanent_magnet) step.cautions.push_back("a magnet rotor makes the leads live when it turns");
  return step;
}

std::vector<Step> ResistanceSteps(const Bench& b) {
  Step balance = Measurement(TestKind::kWindingResistance, "Winding resistance, balance",
                             "finds open joints, wrong turns and wrong connections", {TestKind::kVisual}, b);
  balance.prepare = {"winding at rest until its temperature is even; write the temperature down",
                     "four-wire, current small and short enough not to warm the wire; wait until it stands still"};
  if (b.rotor_in) balance.prepare.push_back("rotor held still");
  balance.terminals = LinePairs(b);
  balance.limit.kind = LimitKind::kAtMost;
  balance.limit.high = b.c.resistance_unbalance_percent;
  balance.limit.unit = "percent";
  balance.limit.text =
      absl::StrCat("largest deviation from the mean at most ", WithUnit(b.c.resistance_unbalance_percent, "%"),
                   " (ANSI/EASA AR100-2020: ", WithUnit(Setting("unbalance_random_wound"), "%"), " random wound, ",
                   WithUnit(Setting("unbalance_form_wound"), "%"), " form wound; concentric windings may exceed it)");
  balance.limit.rule = rules::ar100_resistance_unbalance;
  balance.cautions = {"a winding kicks when its current is broken: let the current fall before the clips come off"};
  balance.rules = {rules::ar100_resistance_unbalance, rules::practice_turn_test_needed};
  if (b.c.expected_line_to_line_ohms_low.has_value() || b.c.expected_line_to_line_ohms_high.has_value()) {
    Step expected = balance;
    expected.title =
        b.star_open ? "Phase resistance, against the expected value" : "Winding resistance, against the expected value";
    expected.reason = "turns, wire and connection together; the same readings as the balance";
    const auto connection = b.c.delta ? electric::Connection::kDelta : electric::Connection::kStar;
    const auto ohms = [&](std::optional<double> line) {
      return line && b.star_open ? std::optional(electric::PhaseFromLineToLine(connection, *line)) : line;
    };
    expected.limit =
        Expected(ohms(b.c.expected_line_to_line_ohms_low), ohms(b.c.expected_line_to_line_ohms_high), "ohms", "20 C",
                 !b.star_open ? "line to line, corrected to 20 C"
                 : b.c.delta ? "each phase by itself, corrected to 20 C: one and a half times line to line of the delta"
                             : "each phase by itself, corrected to 20 C: half of line to line of the star",
                 rules::practice_turn_test_needed);
    return {balance, expected};
  }
  return {balance};
}

Step PolarityStep(const Bench& b) {
  Step step = Measurement(TestKind::kPolarity, "Polarity of coils and groups",
                          "a reversed coil or group passes resistance, megohms and withstand; before resin it can "
                          "still be put right",
                          {TestKind::kVisual, TestKind::kMegohms, TestKind::kWindingResistance}, b);
  step.prepare = {
      "low direct voltage on one phase and a compass round the bore, or low three-phase voltage and the "
      "line currents compared"};
  step.terminals = WithFittedParts(
      {{b.star_open ? "each phase in turn, low voltage" : "U, V, W, low voltage", Potential::kEnergised},
       {"frame and core", Potential::kEarthed}},
      b);
  step.limit = Comparison(LimitKind::kNone,
                          "north and south alternate and their count is the number of poles in every phase (consequent "
                          "poles: all alike); balanced currents at low voltage",
                          rules::practice_polarity);
  step.abort_when = {"a coil warms, or one current is far from the others"};
  step.cautions = {"low voltage and little current only: no rotor limits the current",
                   "a winding kicks when its current is broken"};
  step.rules = {rules::practice_polarity};
  return step;
}

Step InductanceStep(const Bench& b) {
  Step step = Measurement(TestKind::kInductance, "Line-to-line inductance",
                          "goes with turns squared and needs no strip; the next winder has it to compare with",
                          {TestKind::kVisual, TestKind::kWindingResistance}, b);
  step.prepare = {b.rotor_in ? "rotor in: least and greatest over one pole pitch, write down that it was in"
                             : "rotor out: write that down with the frequency"};
  step.terminals = LinePairs(b);
  step.limit = Comparison(LimitKind::kNoLimitInStandard,
                          "the three pairs alike at the same rotor position; compare with the reading before",
                          rules::practice_inductance);
  step.cautions = {"earth the leads before the meter goes on: a charge would hurt it and you"};
  if (b.rotor_in && b.c.permanent_magnet) step.cautions.push_back("turn the magnet rotor slowly: the leads are live");
  step.rules = {rules::practice_inductance};
  return step;
}

Step BackEmfStep(const Bench& b) {
  Step step = Measurement(TestKind::kBackEmf, "Back-EMF at known speed",
                          "proves magnets and turns together; resistance and megohms see neither",
                          {TestKind::kVisual, TestKind::kMegohms, TestKind::kWindingResistance}, b);
  step.prepare = PrepareFittedParts(b);
  if (b.c.fitted.brake) step.prepare.push_back("release the brake before the shaft is driven");
  step.prepare.push_back("drive the shaft at a steady known speed, leads open, guard round the coupling");
  step.terminals = WithFittedParts(
      {{"U, V, W open, live while the shaft turns", Potential::kEnergised}, {"frame and core", Potential::kEarthed}},
      b);
  step.limit = Expected(b.c.expected_ke_low, b.c.expected_ke_high, "V per 1000 rpm", "20 C magnet temperature",
                        "line-to-line rms volts per 1000 rpm against the plate or the plan, the three pairs alike",
                        rules::practice_back_emf);
  step.abort_when = {"the winding warms or the shaft drags: a turn may be shorted"};
  step.cautions = {"the turning magnet rotor makes the leads live", "guard the coupling and the free shaft end",
                   std::string(QualifiedPersonCaution())};
  step.rules = {rules::practice_back_emf};
  return step;
}

Step CoreLossStep(const Bench& b) {
  Step step =
      Measurement(TestKind::kCoreLoss, "Ring-flux test of the core",
                  "a burnt core spoils any rewind; compare with the reading before stripping", {TestKind::kVisual}, b);
  step.prepare = {"magnets and rotor well away", "loop cable through the bore, clear of both end rings",
                  "core earthed at one point; nothing else closes a loop round it", "one search turn beside the cable"};
  step.terminals = {{"loop cable through the bore", Potential::kEnergised},
                    {"frame and core", Potential::kEarthed},
                    {"search turn to the meter", Potential::kFloating}};
  step.hold_seconds = 60 * Setting("core_test_minutes");
  step.limit.kind = LimitKind::kAtMost;
  step.limit.high = Setting("core_loss_increase_most");
  step.limit.unit = "percent";
  step.limit.text = absl::StrCat("watts not more than ", WithUnit(*step.limit.high, "%"),
                                 " above the reading before stripping; hot spot less than ",
                                 WithUnit(Setting("core_hot_spot_most"), "K"), " above the core at the start (",
                                 WithUnit(Setting("core_hot_spot_ieee1068"), "K"), " by IEEE 1068)");
  step.limit.rule = rules::practice_core_test;
  step.level_note = b.c.segmented_core
                        ? "segmented core: the joints decide the current, so none is forecast; same cable, turns and "
                          "volts before and after"
                        : absl::StrCat("usual density ", WithUnit(Setting("core_test_teslas"), "T"),
                                       " peak in the back iron; the search turn proves it");
  step.abort_when = {"a spot heats faster than the rest", "smoke, or the current runs away"};
  step.cautions = {"the bore and any closed metal loop are live and heat up: no rings, no tools in the bore",
                   "guarded area while the loop is energised", std::string(QualifiedPersonCaution())};
  step.rules = {rules::practice_core_test};
  return step;
}

Step TemperatureRiseStep(const Bench& b) {
  Step step = Measurement(TestKind::kTemperatureRise, "Temperature rise by resistance",
                          "shows cooling, load and copper together, under the load the machine has",
                          {TestKind::kVisual, TestKind::kMegohms, TestKind::kWindingResistance}, b);
  step.prepare = {"one pair of leads read cold, with the temperature of the winding, before the run",
                  "rated load until the winding warms no more; coolant read at the end",
                  absl::StrCat("supply off and locked, shaft at rest, then the same pair at once: up to 50 kW within ",
                               WithUnit(Setting("rise_delay_to_50_kw"), "s"), ", or several readings carried back")};
  step.terminals = LinePairs(b);
  step.limit =
      Comparison(LimitKind::kNone, "against the limit of the thermal class, which is not given: plate or record",
                 rules::iec60034_1_rise_by_resistance);
  if (b.c.thermal_class_celsius) {
    const auto limit = RiseLimitOf(*b.c.thermal_class_celsius, b.c.rated_kw, b.c.potted);
    if (limit.ok() && limit->kelvin) {
      step.limit = Comparison(LimitKind::kAtMost, limit->text, limit->rule);
      step.limit.high = limit->kelvin;
      step.limit.unit = "K";
    }
  }
  step.abort_when = {"the current leaves its rated value", "smell or smoke, or a sensor trips"};
  step.cautions = {std::string(QualifiedPersonCaution()),
                   "a drive's bus stays charged after the supply is off: measure before a meter is clipped on",
                   "frame and shaft are hot and turning: guards on, no meter on the leads before the shaft rests"};
  if (b.c.permanent_magnet) step.cautions.push_back("a magnet rotor that coasts keeps the leads live");
  step.rules = {rules::iec60034_1_rise_by_resistance, rules::iec60034_1_rise_delay};
  return step;
}

}  // namespace coilwright::testing
