#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "insulation/constants.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {
namespace {

using standards::WithUnit;

// A check of one device by a meter of its own, the winding earthed. `energised` are its leads.
Step DeviceStep(TestKind kind, std::string title, std::string reason, absl::string_view energised, const Bench& b) {
  Step step;
  step.kind = kind;
  step.title = std::move(title);
  step.reason = std::move(reason);
  step.after = {TestKind::kVisual};
  step.discharge_seconds = Shop(b.c.shop.least_discharge_seconds, "discharge_least");
  step.terminals =
      WithFittedParts({{"U V W tied together", Potential::kEarthed}, {"frame and core", Potential::kEarthed}}, b);
  for (Terminal& terminal : step.terminals) {
    if (terminal.name == energised) terminal.potential = Potential::kEnergised;
  }
  step.limit.kind = LimitKind::kNone;
  return step;
}

std::string AsRecorded(const WindingSensor& sensor) {
  if (!sensor.ohms) return "";
  return absl::StrCat("; recorded ", absl::StrFormat("%.4g ohms", *sensor.ohms),
                      sensor.at_celsius ? absl::StrFormat(" at %.3g C", *sensor.at_celsius) : "");
}

void ExpectPlatinum(const WindingSensor& sensor, Step& step) {
  const auto at = [](double nominal, double celsius) {
    return absl::StrFormat("%.6g", PlatinumOhms(nominal, celsius));
  };
  step.limit.text = absl::StrCat("its value at the temperature of the winding: an element of 100 ohms reads ",
                                 at(100, 20), " at 20 C, ", at(100, 25), " at 25 C, ", at(100, 40),
                                 " at 40 C, one of 1000 ohms ten times that; two leads come on top");
  step.limit.rule = rules::iec60751_platinum;
  step.rules.push_back(rules::iec60751_platinum);
  const auto nominal = PlatinumNominal(sensor);
  if (!nominal) return;
  constexpr double kReferenceCelsius = 20;
  const double kelvin = Setting("platinum_class_b") + Setting("platinum_class_b_slope") * kReferenceCelsius;
  step.limit.kind = LimitKind::kWithin;
  step.limit.low = PlatinumOhms(*nominal, kReferenceCelsius - kelvin);
  step.limit.high = PlatinumOhms(*nominal, kReferenceCelsius + kelvin);
  step.limit.unit = "ohms";
  step.limit.corrected = true;
  step.limit.corrected_to = "20 C";
}

Step SensorCheck(const WindingSensor& sensor, const Bench& b) {
  const std::string name(SensorName(sensor.kind));
  Step step =
      DeviceStep(TestKind::kSensor, absl::StrCat("Winding sensor: ", name),
                 "the drive trusts it, and it cannot be changed after the resin", SensorTerminal(b.c.fitted), b);
  step.after.push_back(TestKind::kMegohms);
  const double most = Setting("sensor_most_volts");
  step.prepare = {"sensor leads off frame and relay for this reading; winding temperature even and written down",
                  absl::StrCat("meter with at most ", WithUnit(most, "V"), " across the sensor")};
  step.level_note = absl::StrCat("measuring voltage at most ", WithUnit(most, "V"),
                                 "; no withstand test here: the 500 V and the 1500 V in circulation for IEC 60034-1 "
                                 "are unverified and neither is offered");
  step.limit.rule = rules::shop_programme_sensor;
  step.rules = {rules::shop_programme_sensor};
  switch (sensor.kind) {
    case SensorKind::kPtcThermistor:
      step.limit.kind = LimitKind::kAtMost;
      step.limit.high = 3 * Setting("ptc_most_ohms");
      step.limit.unit = "ohms";
      step.limit.text = absl::StrCat("cold winding: one alone at most ", WithUnit(Setting("ptc_most_ohms"), "ohms"),
                                     ", three in series at most ", WithUnit(*step.limit.high, "ohms"),
                                     "; more than its leads' own resistance");
      step.limit.rule = rules::din44081_ptc;
      step.rules.push_back(rules::din44081_ptc);
      break;
    case SensorKind::kThermostat:
      step.limit.text =
          "continuity at rest, a few tenths of an ohm beside its leads; one marked as closing is open at rest";
      break;
    case SensorKind::kPlatinumRtd:
      ExpectPlatinum(sensor, step);
      break;
    case SensorKind::kSilicon:
      step.prepare.push_back("mind its polarity: turned round it reads wrong");
      step.limit.text = "the value of its sheet at the temperature of the winding, marked lead to plus";
      break;
    case SensorKind::kNtcThermistor:
      step.limit.text = "the value of its sheet at the temperature of the winding; it falls as the winding warms";
      break;
    case SensorKind::kNone:
    case SensorKind::kUnknown:
      step.limit.text =
          "kind unknown: write the value down with the temperature and read it again a few kelvin warmer; up is PTC, "
          "RTD or silicon, down is NTC, none is a thermostat";
      break;
  }
  step.limit.text += AsRecorded(sensor);
  step.abort_when = {"the reading drifts while the meter is on: it warms the sensor"};
  step.cautions = {"never a megohm meter or a withstand set between the two leads of a sensor"};
  return step;
}

}  // namespace

std::string SensorTerminal(const FittedDevices& fitted) {
  std::vector<std::string> kinds;
  for (const WindingSensor& sensor : SensorsByKind(fitted)) kinds.emplace_back(SensorName(sensor.kind));
  return absl::StrCat("thermal sensor leads (", absl::StrJoin(kinds, ", "), ")");
}

std::vector<Step> SensorSteps(const Bench& b) {
  std::vector<Step> steps;
  for (const WindingSensor& sensor : SensorsByKind(b.c.fitted)) steps.push_back(SensorCheck(sensor, b));
  return steps;
}

std::vector<Step> HeaterSteps(const Bench& b) {
  Step ohms = DeviceStep(TestKind::kHeater, "Space heater, resistance",
                         "an open or shorted heater leaves the winding wet", kHeaterTerminal, b);
  ohms.prepare = {"heater off its supply, locked off; ohmmeter between its two leads"};
  const FittedHeater& heater = *b.c.fitted.heater;
  ohms.limit.text = heater.volts && heater.watts
                        ? absl::StrCat("about ", absl::StrFormat("%.3g", *heater.volts * *heater.volts / *heater.watts),
                                       " ohms by its plate, ", WithUnit(*heater.volts, "V"), " squared over ",
                                       WithUnit(*heater.watts, "W"), "; less when cold")
                        : "volts squared over watts of its plate; less when cold";
  ohms.limit.rule = rules::shop_programme_heater;
  ohms.cautions = {"a heater under voltage is hot and live while the motor stands: supply off and locked"};
  ohms.rules = {rules::shop_programme_heater};

  Step insulation = ohms;
  insulation.title = "Space heater, insulation to frame";
  insulation.reason = "its insulation lies against the coil heads";
  const double volts = Setting("heater_test_volts");
  if (std::string why = WhyNoMegohmsAt(volts, volts, b); !why.empty()) {
    return {ohms, LeftOut(TestKind::kHeater, insulation.title, std::move(why))};
  }
  insulation.after.push_back(TestKind::kMegohms);
  insulation.prepare = PrepareFittedParts(b);
  insulation.prepare.push_back("heater leads off the frame and tied together, U V W tied to the frame");
  insulation.volts = volts;
  insulation.volts_shape = "dc";
  insulation.level_note = "its own insulation, the winding earthed";
  insulation.ramp_seconds = Shop(b.c.shop.megohm_ramp_seconds, "megohm_ramp");
  insulation.hold_seconds = 60;
  insulation.discharge_seconds = std::max(Shop(b.c.shop.least_discharge_seconds, "discharge_least"),
                                          insulation::DischargeSeconds(60 + *insulation.ramp_seconds));
  insulation.trip_milliamps = Shop(b.c.shop.trip_megohms_milliamps, "trip_megohms");
  insulation.limit.kind = LimitKind::kAtLeast;
  insulation.limit.low = Setting("heater_least_megohms");
  insulation.limit.unit = "megohms";
  insulation.limit.text =
      absl::StrCat("at least ", WithUnit(*insulation.limit.low, "megohms"), ", common practice: no standard sets it");
  insulation.abort_when = {"the reading falls while the voltage is held", "crackling, smoke or smell"};
  insulation.cautions = HighVoltageCautions(b, true);
  insulation.rules.push_back(rules::ieee43_discharge);
  return {ohms, insulation};
}

Step BrakeStep(const Bench& b) {
  Step step = DeviceStep(TestKind::kBrake, "Brake coil and release", "a dragging brake looks like a bad winding",
                         kBrakeTerminal, b);
  const FittedBrake& brake = *b.c.fitted.brake;
  step.prepare = {
      "coil resistance first, its rectifier off",
      absl::StrCat("then ", brake.rated_volts_dc ? WithUnit(*brake.rated_volts_dc, "V dc") : "the plate's volts",
                   " at the plate's polarity: it must release and hold; off, it must close"),
      "shaft and load secured"};
  step.limit.text =
      absl::StrCat("resistance as on the plate",
                   brake.coil_ohms ? absl::StrCat(", ", WithUnit(*brake.coil_ohms, "ohms"), " recorded") : "",
                   "; released with the plate's volts and polarity, closed without");
  step.limit.rule = rules::shop_programme_settings;
  step.abort_when = {"the coil warms without releasing"};
  step.cautions = {"the coil kicks when it is switched off: keep its varistor or diode across it here",
                   "the shaft is free while the brake is released: a hanging load falls"};
  step.rules = {rules::shop_programme_settings};
  return step;
}

Step RectifierStep(const Bench& b) {
  Step step = DeviceStep(TestKind::kRectifier, "Brake rectifier, off its coil",
                         "a brake on half its voltage drags and burns", kRectifierTerminal, b);
  step.prepare = {"rectifier off mains and coil, its capacitor discharged"};
  step.limit.text = "diode range of a meter: conducts one way, blocks the other";
  step.limit.rule = rules::shop_programme_rectifier;
  step.cautions = {"electronics: never a megohm meter or a withstand set",
                   "its mains side is live with the motor at rest"};
  step.rules = {rules::shop_programme_rectifier};
  return step;
}

Step FeedbackStep(const Bench& b) {
  const bool resolver = b.c.fitted.feedback == Feedback::kResolver;
  const std::string terminal = FeedbackTerminal(b.c.fitted);
  Step step = DeviceStep(TestKind::kFeedback, resolver ? "Resolver, on its own leads" : "Tachometer, on its own leads",
                         "after bearings the likeliest fault of a motor that comes in", terminal, b);
  step.prepare = {"unplugged from the drive; its alignment is recorded before it is touched"};
  if (resolver) {
    step.prepare.push_back("ohmmeter on exciter, sine and cosine windings in turn, the drive's end open");
    step.limit.text = "sine and cosine alike, all as on its sheet, none joined to another or to its housing";
  } else {
    step.prepare.push_back("brushes free and long enough, commutator clean of carbon; ohmmeter turned slowly round");
    step.limit.text = "no open bar in one turn; volts per 1000 rpm as on its plate, the same both ways";
  }
  step.limit.rule = rules::shop_programme_feedback;
  step.cautions = {"never a megohm meter or a withstand set while it is joined to a drive or an evaluation board"};
  if (!resolver) {
    step.cautions.push_back(
        "its magnets make its leads live when the shaft turns; opened without a keeper they weaken");
  }
  step.rules = {rules::shop_programme_feedback};
  return step;
}

Step SurgePartsStep(const Bench& b) {
  Step step = DeviceStep(TestKind::kSurgeParts, "Varistors and capacitors, off the machine",
                         "a shorted one looks like a winding to frame, a dead one leaves the winding without it",
                         kSurgePartsTerminal, b);
  step.prepare = {"capacitors discharged over a resistor before they are touched; off the terminals"};
  step.limit.text = "no crack, burn or bulge; varistor open by ohmmeter; capacitance as marked";
  step.limit.rule = rules::shop_programme_surge_parts;
  step.cautions = {"a capacitor holds its charge after the supply is off: discharge it, then short it"};
  step.rules = {rules::shop_programme_surge_parts};
  return step;
}

std::vector<Terminal> WithFittedParts(std::vector<Terminal> winding, const Bench& b) {
  const FittedDevices& fitted = b.c.fitted;
  if (!SensorsByKind(fitted).empty()) winding.push_back({SensorTerminal(fitted), Potential::kEarthed});
  if (fitted.heater) winding.push_back({kHeaterTerminal, Potential::kEarthed});
  if (fitted.brake) winding.push_back({kBrakeTerminal, Potential::kEarthed});
  if (fitted.brake && fitted.brake->rectifier) winding.push_back({kRectifierTerminal, Potential::kDisconnected});
  if (fitted.feedback != Feedback::kNone) winding.push_back({FeedbackTerminal(fitted), Potential::kDisconnected});
  if (fitted.surge_parts) winding.push_back({kSurgePartsTerminal, Potential::kDisconnected});
  return winding;
}

std::string FeedbackTerminal(const FittedDevices& fitted) {
  return absl::StrCat("feedback: ", FeedbackName(fitted.feedback));
}

std::vector<std::string> PrepareFittedParts(const Bench& b) {
  const FittedDevices& fitted = b.c.fitted;
  std::vector<std::string> prepare = {
      "supply isolated and locked off; drive, filters and motor cable off the leads; winding discharged to the frame"};
  switch (fitted.feedback) {
    case Feedback::kNone:
      break;
    case Feedback::kResolver:
      prepare.push_back("unplug the feedback (resolver): a transformer without electronics, and it comes off too");
      break;
    case Feedback::kIncrementalEncoder:
      prepare.push_back("unplug the feedback (incremental encoder), plug capped, nothing joined to its pins");
      break;
    case Feedback::kAbsoluteEncoder:
      prepare.push_back(
          "unplug the feedback (absolute encoder), plug capped, nothing joined to its pins; write its position down, a "
          "battery in the drive keeps it no longer");
      break;
    case Feedback::kTachometer:
      prepare.push_back("tachometer leads off and apart: brushes and carbon dust are a path to frame of their own");
      break;
    case Feedback::kHallBoard:
      prepare.push_back("unplug the feedback (Hall board), supply and signals; in the coil heads it comes out first");
      break;
  }
  if (!SensorsByKind(fitted).empty()) prepare.push_back("sensor leads off their relay, tied together and to the frame");
  if (fitted.heater) prepare.push_back("space heater off its supply, leads tied together and to the frame");
  if (fitted.brake) prepare.push_back("brake off its supply and rectifier, coil leads tied together and to the frame");
  if (fitted.surge_parts) prepare.push_back("varistors and capacitors off the terminals, capacitors discharged");
  return prepare;
}

}  // namespace coilwright::testing
