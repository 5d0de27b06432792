#include "testing/back_emf.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "electric/resistance.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"

namespace coilwright::testing {
namespace {

using standards::Band;

absl::Status Check(const BackEmfCase& c, const BackEmfReading& r) {
  standards::RangeCheck check;
  constexpr const char* kFields[] = {"u_v_volts_rms", "v_w_volts_rms", "w_u_volts_rms"};
  bool any = false;
  for (size_t i = 0; i < 3; ++i) {
    if (r.volts_rms[i]) check.Within(kFields[i], *r.volts_rms[i], 0, 50000, "V");
    any = any || r.volts_rms[i];
  }
  if (!any) check.Refuse(kFields[0], "nothing", "one to three readings, line to line, rms");
  if (r.speed_rpm) check.Within("speed_rpm", *r.speed_rpm, 1, 100000, "rpm");
  if (r.frequency_hz) check.Within("frequency_hz", *r.frequency_hz, 0.01, 10000, "Hz");
  if (r.magnet_celsius) check.Within("magnet_temperature", *r.magnet_celsius, -60, 200, "C");
  check.Within("instrument.uncertainty_ratio", r.uncertainty_ratio, 0, 0.5, "");
  if (c.poles && (*c.poles < 2 || *c.poles > 200 || *c.poles % 2 != 0))
    check.Refuse("poles", absl::StrCat(*c.poles), "an even number, 2 to 200");
  if (c.percent_per_kelvin) check.Within("magnet_percent_per_kelvin", *c.percent_per_kelvin, -0.35, 0, "%/K");
  if (const auto& band = c.expected_volts_per_krpm) {
    if (check.Above("expected_ke_volts_per_krpm.low", band->low, 0, 1e6, "V"))
      check.Within("expected_ke_volts_per_krpm.high", band->high, band->low, 1e6, "V");
  }
  check.Within("shop_margin_ratio", c.shop_margin_ratio, 0, 0.5, "");
  return check.status();
}

// Percent per kelvin, least to greatest; of every material where it is not known.
Band Coefficient(const BackEmfCase& c) {
  if (c.percent_per_kelvin) return Band::Exactly(*c.percent_per_kelvin);
  static const standards::Table* const table = new standards::Table(standards::EmbeddedTable("magnets"));
  Band band{0, 0, -1e9};
  for (int row = 0; row < table->rows(); ++row) {
    if (c.magnets && row != static_cast<int>(*c.magnets)) continue;
    band.low = std::min(band.low, *table->Number(row, "least_percent_per_kelvin"));
    band.high = std::max(band.high, *table->Number(row, "greatest_percent_per_kelvin"));
  }
  band.nominal = (band.low + band.high) / 2;
  return band;
}

// Factor from a reading at magnet temperature to 20 C.
Band To20(const BackEmfCase& c, const BackEmfReading& r) {
  const double kelvin = r.magnet_celsius.value_or(20) - 20;
  const Band a = Coefficient(c);
  const auto factor = [kelvin](double percent) { return 1 / (1 + percent / 100 * kelvin); };
  const double first = factor(a.low), second = factor(a.high);
  return {std::min(first, second), factor(a.nominal), std::max(first, second)};
}

// Speed in rpm, or why there is none.
std::optional<double> Speed(const BackEmfCase& c, const BackEmfReading& r, std::string& why_not) {
  std::optional<double> from_frequency;
  if (r.frequency_hz && c.poles) from_frequency = 120 * *r.frequency_hz / *c.poles;
  if (!r.speed_rpm && !from_frequency) {
    why_not = r.frequency_hz ? "the frequency needs the number of poles to give the speed"
                             : "neither speed nor frequency was read";
    return std::nullopt;
  }
  if (r.speed_rpm && from_frequency && std::abs(*from_frequency / *r.speed_rpm - 1) > Setting("speed_agreement")) {
    why_not = absl::StrFormat("%g Hz with %d poles is %.0f rpm, not %.0f rpm: poles, speed or frequency is wrong",
                              *r.frequency_hz, *c.poles, *from_frequency, *r.speed_rpm);
    return std::nullopt;
  }
  return r.speed_rpm ? r.speed_rpm : from_frequency;
}

void JudgeBalance(const BackEmfCase& c, const BackEmfReading& r, const std::array<double, 3>& constants, BackEmf& out) {
  JudgedTest& test = out.balance;
  out.unbalance_percent = electric::UnbalancePercent(constants);
  test.as_read = out.unbalance_percent;
  test.rules.push_back(rules::electric_unbalance);
  Decide(*out.unbalance_percent, {100 * r.uncertainty_ratio * std::sqrt(2.0 / 3.0), c.shop_margin_ratio}, test);
  test.reason = test.verdict == Verdict::kPass ? "the three pairs are alike" : "the three pairs are not alike";
}

// V per 1000 rpm up to which the pairs show pick-up of the meter and nothing else.
double NoVoltage(const BackEmfCase& c) {
  return c.expected_volts_per_krpm ? Setting("back_emf_nothing_share") * c.expected_volts_per_krpm->high : 0;
}

// No fault of a winding silences all three pairs but two open phases, and those the resistances show.
void NothingRead(int read, BackEmf& out) {
  JudgedTest& test = out.balance;
  test.suspect = Suspect::kReading;
  test.reason = absl::StrCat("no voltage at ", read == 3 ? "any pair" : "the pairs read",
                             ": turn the shaft, look at the coupling and the magnets");
  test.points_to = {"turn the shaft at the speed stated and read again", "coupling, then magnets",
                    "where the resistances are not read yet: read them, open phases would do the same"};
}

void JudgeExpected(const BackEmfCase& c, BackEmf& out) {
  if (!c.expected_volts_per_krpm || !out.mean_volts_per_krpm_20c) return;
  const Band& given = *c.expected_volts_per_krpm;
  const double middle =
      given.nominal >= given.low && given.nominal <= given.high ? given.nominal : (given.low + given.high) / 2;
  const double value = out.mean_volts_per_krpm_20c->nominal;
  const double uncertainty = (out.mean_volts_per_krpm_20c->high - out.mean_volts_per_krpm_20c->low) / 2;
  JudgedTest test;
  test.kind = TestKind::kBackEmf;
  test.title = "Back-EMF, against the expected value";
  test.unit = "V per 1000 rpm";
  test.corrected_to = "20 C magnet temperature";
  test.corrected = value;
  test.rules = {rules::practice_back_emf, rules::magnet_temperature_coefficient, rules::testing_back_emf_causes};
  const bool single = given.high - given.low <= 1e-9 * given.high;
  const double watch = Setting("back_emf_watch") / 100, act = Setting("back_emf_act") / 100;
  const absl::string_view rule = single ? rules::shop_judgement_back_emf : rules::practice_back_emf;
  test.limit = single ? Within(middle * (1 - watch), middle * (1 + watch), test.unit,
                               absl::StrFormat("within %g %% of the plate, beyond %g %% a fault: shop's levels, no "
                                               "standard sets any",
                                               100 * watch, 100 * act),
                               rule)
                      : Within(given.low, given.high, test.unit, "line to line rms, magnets at 20 C", rule);
  test.limit.corrected = true;
  test.limit.corrected_to = test.corrected_to;
  // Beyond the watch level of a single value lies its act level as a guard band of its own.
  Decide(value, {uncertainty, c.shop_margin_ratio}, test);
  if (single && test.verdict == Verdict::kFail && std::abs(value / middle - 1) <= act)
    test.verdict = Verdict::kMarginal;
  test.reason = absl::StrFormat("%+.2f %% from the expected value", 100 * (value / middle - 1));
  out.expected = std::move(test);
}

void Explain(const BackEmfCase& c, const std::array<double, 3>& constants, BackEmf& out) {
  const bool bad_value = out.expected && out.expected->verdict != Verdict::kPass;
  const bool bad_balance = out.balance.verdict != Verdict::kPass;
  if (!bad_value && !bad_balance) return;
  double middle = 0;
  if (const auto& given = c.expected_volts_per_krpm) {
    middle =
        given->nominal >= given->low && given->nominal <= given->high ? given->nominal : (given->low + given->high) / 2;
  } else {
    middle = (constants[0] + constants[1] + constants[2]) / 3;
  }
  if (!(middle > 0)) return;
  std::array<double, 3> pairs = constants;
  for (double& pair : pairs) pair /= middle;
  out.explanations = ExplainBackEmf(pairs, c.expected_volts_per_krpm.has_value(), c.resistance_ratio);
  JudgedTest& test = bad_balance ? out.balance : *out.expected;
  const double mean = (pairs[0] + pairs[1] + pairs[2]) / 3;
  for (const BackEmfExplanation& explanation : out.explanations) {
    test.points_to.push_back(explanation.text);
    if (test.suspect != Suspect::kNothing) continue;
    switch (explanation.cause) {
      case BackEmfCause::kWeakMagnets:
        test.suspect = mean < 1 ? Suspect::kWeakMagnets : Suspect::kReading;  // magnets do not grow
        break;
      case BackEmfCause::kWrongTurns:
        test.suspect = Suspect::kWrongTurns;
        break;
      case BackEmfCause::kPhaseTurns:
        test.suspect = Suspect::kShortedTurns;
        break;
      default:
        test.suspect = Suspect::kWrongConnection;
    }
  }
  if (out.explanations.empty()) {
    test.suspect = Suspect::kReading;
    test.points_to.push_back("nothing simple explains it: read volts, speed and resistance again");
  }
  if (bad_value && !bad_balance) {
    for (std::string& slip : BackEmfSlips(mean)) test.points_to.push_back(std::move(slip));
  }
  // A factor that star and delta share with a wrong speed or a phase value condemns nothing before the resistance is
  // read.
  if (bad_value && !bad_balance && !c.resistance_ratio && test.suspect == Suspect::kWrongConnection)
    test.suspect = Suspect::kReading;
  // Magnets and turns cannot be told apart without the resistance.
  if (out.explanations.size() > 1 && !c.resistance_ratio && c.expected_volts_per_krpm)
    test.points_to.push_back("the resistance against its expected value tells these apart");
}

}  // namespace

absl::StatusOr<BackEmf> JudgeBackEmf(const BackEmfCase& c, const BackEmfReading& r) {
  if (absl::Status status = Check(c, r); !status.ok()) return status;
  BackEmf out;
  JudgedTest& balance = out.balance;
  balance.kind = TestKind::kBackEmf;
  balance.title = "Back-EMF, balance";
  balance.unit = "percent";
  balance.limit = AtMost(Setting("back_emf_unbalance_most"), "percent",
                         "largest deviation from the mean of the three pairs; the shop's, no standard sets one",
                         rules::shop_judgement_back_emf);
  balance.rules = {rules::shop_judgement_back_emf, rules::practice_back_emf};
  std::string why_not;
  out.speed_rpm = Speed(c, r, why_not);
  if (!out.speed_rpm) {
    balance.reason = why_not;
    balance.suspect = Suspect::kReading;
    return out;
  }
  const Band to_20 = To20(c, r);
  std::array<double, 3> constants{};
  double sum = 0;
  int read = 0;
  for (size_t i = 0; i < 3; ++i) {
    if (!r.volts_rms[i]) continue;
    const double as_read = *r.volts_rms[i] / (*out.speed_rpm / 1000);
    constants[i] = as_read * to_20.nominal;
    out.volts_per_krpm_20c[i] = constants[i];
    sum += as_read;
    ++read;
  }
  const double mean = sum / read;
  out.mean_volts_per_krpm_20c = Band{mean * to_20.low * (1 - r.uncertainty_ratio), mean * to_20.nominal,
                                     mean * to_20.high * (1 + r.uncertainty_ratio)};
  if (r.magnet_celsius) balance.rules.push_back(rules::magnet_temperature_coefficient);
  if (mean <= NoVoltage(c)) {
    NothingRead(read, out);
    return out;
  }
  JudgeExpected(c, out);
  if (read < 3) {
    balance.reason = absl::StrCat("the balance needs all three readings, ", read, " given");
    return out;
  }
  JudgeBalance(c, r, constants, out);
  Explain(c, constants, out);
  return out;
}

}  // namespace coilwright::testing
