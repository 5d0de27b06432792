#include "testing/programme_steps.h"

#include "absl/strings/str_cat.h"
#include "standards/range_check.h"
#include "standards/rules.h"

namespace coilwright::testing {
namespace {

using standards::WithUnit;

absl::string_view Title(TestKind kind) {
  switch (kind) {
    case TestKind::kVisual:
      return "Look, smell, feel";
    case TestKind::kWindingResistance:
      return "Winding resistance";
    case TestKind::kMegohms:
      return "Insulation resistance to frame";
    case TestKind::kPhaseMegohms:
      return "Insulation resistance, phase to phase";
    case TestKind::kPolarizationIndex:
      return "Polarization index";
    case TestKind::kAbsorptionRatio:
      return "Absorption ratio";
    case TestKind::kPolarity:
      return "Polarity of coils and groups";
    case TestKind::kSurge:
      return "Surge comparison of the turn insulation";
    case TestKind::kWithstandAc:
      return "AC withstand";
    case TestKind::kWithstandDc:
      return "DC withstand";
    case TestKind::kInductance:
      return "Line-to-line inductance";
    case TestKind::kBackEmf:
      return "Back-EMF at known speed";
    case TestKind::kCoreLoss:
      return "Ring-flux test of the core";
    case TestKind::kSensor:
      return "Winding sensor";
    case TestKind::kBrake:
      return "Brake coil and release";
    case TestKind::kTemperatureRise:
      return "Temperature rise by resistance";
    case TestKind::kHeater:
      return "Space heater";
    case TestKind::kFeedback:
      return "Feedback device";
    case TestKind::kSurgeParts:
      return "Varistors and capacitors";
    case TestKind::kRectifier:
      return "Brake rectifier";
  }
  return "";
}

std::string WhyNoWithstand(const Bench& b) {
  if (b.c.stage == Stage::kAsReceived) {
    return "no withstand voltage on a winding of unknown state: it can end a winding that drying would have saved, and "
           "the megohms decide here";
  }
  if (b.c.stage == Stage::kInService) {
    return "no withstand test on a winding in service unless shop and owner decide so; the notes name the level";
  }
  return b.withstand.ok() ? "" : std::string(b.withstand.status().message());
}

std::string WhyNoDcWithstand(const Bench& b) {
  if (std::string reason = WhyNoWithstand(b); !reason.empty()) return reason;
  const Level& dc = b.withstand->dc;
  if (!dc.applicable) return dc.reason;
  if (DcStandsInForAc(b)) return "";
  return absl::StrCat("one withstand test is enough; in place of the AC test: ",
                      WithUnit(b.withstand_share * dc.volts, "V"), " dc, ", dc.reason);
}

std::string WhyNoPolarizationIndex(const Bench& b) {
  if (b.c.stage == Stage::kWoundStarOpen || b.c.stage == Stage::kWoundBeforeTreatment) {
    return "dry tape before the resin has little absorption: judged after treatment";
  }
  const auto kind = b.c.form_wound ? insulation::WindingKind::kFormWound : insulation::WindingKind::kRandomWound;
  const auto ratio = insulation::PolarizationIndex(
      {kind, b.c.thermal_class_celsius.value_or(kUsualClassCelsius), b.c.rated_kw, {}, {}, {}, {}});
  return ratio.applies ? "" : ratio.reason;
}

Step Build(TestKind kind, const Bench& b) {
  switch (kind) {
    case TestKind::kMegohms:
      return MegohmStep(b);
    case TestKind::kPhaseMegohms:
      return PhaseMegohmStep(b);
    case TestKind::kPolarizationIndex:
      return PolarizationStep(b);
    case TestKind::kAbsorptionRatio:
      return AbsorptionStep(b);
    case TestKind::kPolarity:
      return PolarityStep(b);
    case TestKind::kSurge:
      return SurgeStep(b);
    case TestKind::kWithstandAc:
      return WithstandStep(b, false);
    case TestKind::kWithstandDc:
      return WithstandStep(b, true);
    case TestKind::kInductance:
      return InductanceStep(b);
    case TestKind::kBackEmf:
      return BackEmfStep(b);
    case TestKind::kCoreLoss:
      return CoreLossStep(b);
    case TestKind::kTemperatureRise:
      return TemperatureRiseStep(b);
    case TestKind::kBrake:
      return BrakeStep(b);
    case TestKind::kRectifier:
      return RectifierStep(b);
    case TestKind::kFeedback:
      return FeedbackStep(b);
    case TestKind::kSurgeParts:
      return SurgePartsStep(b);
    case TestKind::kVisual:
    case TestKind::kWindingResistance:  // these three: more than one step
    case TestKind::kSensor:
    case TestKind::kHeater:
      break;
  }
  return VisualStep(b);
}

std::string WhyNoFeedbackCheck(const Bench& b) {
  const Feedback feedback = b.c.fitted.feedback;
  if (feedback == Feedback::kNone) return "no feedback device";
  if (RotorOutStage(b.c.stage)) return absl::StrCat("the ", FeedbackName(feedback), " is off at this stage");
  if (!IsElectronic(feedback)) return "";
  return absl::StrCat("electronics (", FeedbackName(feedback),
                      "): no meter and no test voltage on its pins; it is judged at its own supply, on its drive or on "
                      "a tester made for it");
}

std::string WhyNoHeatRun(const Bench& b) {
  if (b.c.stage == Stage::kInService) return "";
  if (!b.rotor_in) return "the rotor is out: nothing loads the winding";
  if (b.c.stage == Stage::kAsReceived) return "no load on a winding of unknown state; the resistances are read cold";
  return "needs rated load until the winding warms no more: on a load bench where the shop has one, else in service";
}

constexpr char kNoThreePhases[] =
    "compares three phases, which a winding for direct current or a single phase has not: bar to bar, pole against "
    "pole or against the reading before, judged by hand";

std::string WhyNotAtThisStage(TestKind kind, const Bench& b) {
  const Stage stage = b.c.stage;
  if (stage == Stage::kStrippedCore && kind != TestKind::kVisual && kind != TestKind::kCoreLoss) {
    return "there is no winding in the core";
  }
  if (!b.c.three_phase && ComparesThreePhases(kind)) return kNoThreePhases;
  switch (kind) {
    case TestKind::kCoreLoss:
      return stage == Stage::kStrippedCore
                 ? ""
                 : "needs the rotor out: first with the old winding in before stripping, then "
                   "on the bare core";
    case TestKind::kPhaseMegohms:
      if (b.star_open) return "";
      return b.c.delta ? "needs the delta opened: joined phases are one conductor"
                       : "needs the star open: joined phases are one conductor";
    case TestKind::kPolarizationIndex:
      return WhyNoPolarizationIndex(b);
    case TestKind::kPolarity:
      return stage == Stage::kWoundStarOpen || stage == Stage::kWoundBeforeTreatment
                 ? ""
                 : "belongs before the resin, where a reversed coil can still be put right";
    case TestKind::kInductance:
      return stage == Stage::kWoundStarOpen ? "line to line needs the phases joined" : "";
    case TestKind::kBackEmf:
      if (!b.c.permanent_magnet) return "no magnets: nothing to measure without excitation";
      return b.rotor_in ? "" : "the rotor is out";
    case TestKind::kTemperatureRise:
      return WhyNoHeatRun(b);
    case TestKind::kSensor:
      return SensorsByKind(b.c.fitted).empty() ? "no thermal sensor" : "";
    case TestKind::kHeater:
      return b.c.fitted.heater ? "" : "no space heater";
    case TestKind::kBrake:
      if (!b.c.fitted.brake) return "no brake";
      return b.worked_on && !b.released ? "the brake is not mounted at this stage" : "";
    case TestKind::kRectifier:
      if (!b.c.fitted.brake || !b.c.fitted.brake->rectifier) return "no rectifier";
      return b.worked_on && !b.released ? "the brake is not mounted at this stage" : "";
    case TestKind::kFeedback:
      return WhyNoFeedbackCheck(b);
    case TestKind::kSurgeParts:
      if (!b.c.fitted.surge_parts) return "no varistors or capacitors";
      return RotorOutStage(stage) ? "they are off at this stage" : "";
    case TestKind::kSurge:
      return b.surge.ok() ? "" : std::string(b.surge.status().message());
    case TestKind::kWithstandAc:
      return WhyNoWithstand(b);
    case TestKind::kWithstandDc:
      return WhyNoDcWithstand(b);
    case TestKind::kVisual:
    case TestKind::kWindingResistance:
    case TestKind::kMegohms:
    case TestKind::kAbsorptionRatio:
      break;
  }
  return "";
}

}  // namespace

std::string WhyLeftOut(TestKind kind, const Bench& b) {
  std::string reason = WhyNotAtThisStage(kind, b);
  return reason.empty() ? WhyBenchCannot(kind, b) : reason;
}

Step LeftOut(TestKind kind, absl::string_view title, std::string reason) {
  Step step;
  step.kind = kind;
  step.title = std::string(title);
  step.left_out = true;
  step.reason = std::move(reason);
  step.limit.kind = LimitKind::kNotApplicable;
  return step;
}

std::vector<Step> StepsOf(TestKind kind, const Bench& b) {
  if (std::string reason = WhyLeftOut(kind, b); !reason.empty()) {
    Step step = LeftOut(kind, Title(kind), std::move(reason));
    if (!WhyBenchCannot(kind, b).empty()) step.rules.push_back(rules::shop_programme_bench);
    return {step};
  }
  if (kind == TestKind::kWindingResistance) return ResistanceSteps(b);
  if (kind == TestKind::kSensor) return SensorSteps(b);
  if (kind == TestKind::kHeater) return HeaterSteps(b);
  return {Build(kind, b)};
}

std::vector<Terminal> WholeWinding(const Bench& b) {
  return WithFittedParts(
      {{b.star_open ? "all six ends of U V W tied together" : "U V W tied together", Potential::kEnergised},
       {"frame and core", Potential::kEarthed}},
      b);
}

std::vector<Terminal> PhaseByPhase(const Bench& b) {
  return WithFittedParts({{"phase under test, both ends tied", Potential::kEnergised},
                          {"other phases", Potential::kEarthed},
                          {"frame and core", Potential::kEarthed}},
                         b);
}

std::vector<std::string> HighVoltageCautions(const Bench& b, bool dc) {
  std::vector<std::string> cautions = {
      std::string(QualifiedPersonCaution()), "guarded area; nobody touches the motor until it is earthed",
      dc ? "earth the winding at least four times as long as the voltage was on, and until no charge is left"
         : "lower to zero, switch off, then earth the winding before it is touched"};
  if (b.c.fitted.feedback != Feedback::kNone) {
    cautions.push_back(absl::StrCat("the ", FeedbackName(b.c.fitted.feedback), " stays disconnected"));
  }
  if (b.rotor_in && b.c.permanent_magnet) cautions.push_back("lock the magnet rotor: turning it makes the leads live");
  return cautions;
}

bool ComparesThreePhases(TestKind kind) {
  switch (kind) {
    case TestKind::kWindingResistance:
    case TestKind::kPhaseMegohms:
    case TestKind::kPolarity:
    case TestKind::kSurge:
    case TestKind::kInductance:
    case TestKind::kBackEmf:
      return true;
    default:
      return false;
  }
}

}  // namespace coilwright::testing
