#include "insulation/judgement.h"

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "insulation/constants.h"
#include "insulation/input_ranges.h"
#include "insulation/run_settings.h"
#include "standards/range_check.h"
#include "standards/rules.h"

namespace coilwright::insulation {
namespace {

void Decide(const MegohmLimits& limits, const MegohmReading& reading, JudgedReading& judged) {
  judged.rules.push_back(rules::shop_megohm_guard_band);
  const double value = *judged.megohms_40c;
  const double guard = reading.uncertainty_ratio * value;
  judged.margin_ratio = value / limits.minimum_megohms;
  judged.meets_shop_expectation = value >= limits.shop_expectation_megohms;
  if (judged.at_least && value < limits.minimum_megohms) {
    judged.verdict = Verdict::kNotValid;
    judged.reason = "only a lower bound, and it lies below the minimum: read again on a higher range";
  } else if (value - guard >= limits.minimum_megohms || (judged.at_least && value >= limits.minimum_megohms)) {
    judged.verdict = Verdict::kPass;
    judged.reason = judged.meets_shop_expectation ? "above the minimum and what the shop expects of a new winding"
                                                  : "above the minimum, below what the shop expects of a new winding";
  } else if (value + guard >= limits.minimum_megohms) {
    judged.verdict = Verdict::kMarginal;
    judged.reason =
        "within the uncertainty of the minimum (guard band): repeat with a better instrument or dry out; no withstand "
        "test before it passes";
  } else {
    judged.verdict = Verdict::kFail;
    judged.reason =
        "below the minimum: clean and dry out, read again; if it stays, rewind. No withstand test before it passes";
  }
}

JudgedReading JudgeOne(const JudgementCase& c, const MegohmLimits& limits, std::optional<double> dew_point_celsius,
                       const MegohmReading& reading) {
  JudgedReading judged;
  judged.at_least = reading.over_range;
  judged.discharge_seconds = DischargeSeconds(reading.megohms_600s ? 600.0 : 60.0);
  judged.rules = {limits.minimum_rule, rules::ieee43_discharge};
  // What a meter shows on a winding that touches the frame; no correction makes more of it.
  if (reading.megohms_60s == 0 && !reading.over_range) {
    judged.verdict = Verdict::kFail;
    judged.reason = "earth fault: the winding is connected to the frame. No withstand test; find the place or rewind";
    judged.megohms_40c = 0;
    judged.margin_ratio = 0;
    return judged;
  }
  RatioCase ratios;
  ratios.kind = c.megohm.kind;
  ratios.thermal_class_celsius = c.thermal_class_celsius;
  ratios.rated_kw = c.megohm.rated_kw;
  ratios.megohms_30s = reading.megohms_30s;
  // A lower bound is no term of a ratio.
  if (!reading.over_range) ratios.megohms_60s = reading.megohms_60s;
  ratios.megohms_600s = reading.megohms_600s;

  const absl::StatusOr<Corrected> corrected = To40Celsius(reading.megohms_60s, reading.winding_celsius, c.family);
  if (corrected.ok()) {
    judged.factor = corrected->factor;
    judged.megohms_40c = WholeWindingMegohms(corrected->megohms_40c, reading.others);
    judged.rules.push_back(corrected->rule);
    if (reading.others != OtherPhases::kTogether) judged.rules.push_back(rules::ieee43_phase_reading);
    ratios.megohms_60s_at_40c = judged.megohms_40c;
  }
  judged.polarization_index = PolarizationIndex(ratios);
  judged.absorption_ratio = AbsorptionRatio(ratios);
  if (dew_point_celsius) judged.rules.push_back(rules::meteorology_dew_point);
  if (reading.test_volts_dc) judged.rules.push_back(limits.test_voltage_rule);

  const double slack = Settings().test_voltage_slack;
  if (!corrected.ok()) {
    judged.reason = std::string(corrected.status().message());
  } else if (dew_point_celsius && reading.winding_celsius <= *dew_point_celsius) {
    judged.reason = absl::StrFormat(
        "the winding at %.1f C is not above the dew point of %.1f C: a film of water decides the reading",
        reading.winding_celsius, *dew_point_celsius);
  } else if (reading.test_volts_dc && (*reading.test_volts_dc > limits.test_volts_dc_high * (1 + slack) ||
                                       *reading.test_volts_dc < limits.test_volts_dc_low * (1 - slack))) {
    judged.rules.push_back(rules::shop_megohm_settings);
    judged.reason = absl::StrFormat("read at %g V; the rule asks for %s", *reading.test_volts_dc,
                                    TestVoltsText(limits.test_volts_dc_low, limits.test_volts_dc_high));
  } else {
    Decide(limits, reading, judged);
  }
  return judged;
}

absl::Status CheckReadings(const std::vector<MegohmReading>& readings) {
  standards::RangeCheck check;
  for (size_t i = 0; i < readings.size(); ++i) {
    const std::string path = absl::StrCat("readings[", i, "].");
    check.Within(path + "insulation_megohms", readings[i].megohms_60s, 0, kMostMegohms, "megohms");
    check.Within(path + "winding_temperature", readings[i].winding_celsius, -273.15, 1000, "C");
    check.Within(path + "instrument.uncertainty_ratio", readings[i].uncertainty_ratio, 0, 0.5, "");
    if (readings[i].test_volts_dc) check.Above(path + "test_volts_dc", *readings[i].test_volts_dc, 0, 50000, "V");
  }
  return check.status();
}

}  // namespace

absl::StatusOr<Judgement> Judge(const JudgementCase& c, const std::vector<MegohmReading>& readings) {
  Judgement judgement;
  const absl::StatusOr<MegohmLimits> limits = Limits(c.megohm);
  if (!limits.ok()) return limits.status();
  judgement.limits = *limits;
  if (absl::Status status = CheckReadings(readings); !status.ok()) return status;
  if (c.air_celsius && c.relative_humidity_percent) {
    const absl::StatusOr<double> dew_point = DewPointCelsius(*c.air_celsius, *c.relative_humidity_percent);
    if (!dew_point.ok()) return dew_point.status();
    judgement.dew_point_celsius = *dew_point;
  }
  const double dew_margin = Settings().dew_margin_kelvin;
  bool near_dew_point = false;
  for (const MegohmReading& reading : readings) {
    judgement.readings.push_back(JudgeOne(c, judgement.limits, judgement.dew_point_celsius, reading));
    near_dew_point = near_dew_point || (judgement.dew_point_celsius &&
                                        reading.winding_celsius < *judgement.dew_point_celsius + dew_margin);
  }
  if (near_dew_point) {
    judgement.notes.push_back(absl::StrFormat(
        "A winding less than %.0f K above the dew point may be damp on its surface (shop margin).", dew_margin));
  }
  if (judgement.limits.outside_scope) {
    judgement.notes.push_back(
        "Below 750 W the megohm standard does not formally apply: its figures are used here as a shop convention.");
  }
  judgement.notes.push_back(c.family == InsulationFamily::kThermosetting
                                ? "Corrected as a thermosetting winding; a thermoplastic one (asphalt, shellac, before "
                                  "about 1970) differs by a "
                                  "factor of 3 at 20 C."
                                : "Corrected as a thermoplastic winding; a thermosetting one (epoxy, polyester) "
                                  "differs by a factor of 3 at 20 C.");
  judgement.notes.push_back(
      "Megohms see neither a shorted turn nor a reversed coil: a good reading alone does not make a winding sound.");
  return judgement;
}

}  // namespace coilwright::insulation
