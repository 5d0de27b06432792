#include "testing/withstand_reading.h"

#include <algorithm>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "testing/level_tables.h"

namespace coilwright::testing {
namespace {

absl::Status Check(const WithstandAsked& asked, const WithstandReading& r) {
  standards::RangeCheck check;
  check.Within("test_volts", r.test_volts, 1, 500000, "V");
  check.Within("hold_seconds", r.hold_seconds, 0, 36000, "s");
  if (r.leakage_milliamps.size() > 10000)
    check.Refuse("leakage_milliamps", absl::StrCat(r.leakage_milliamps.size(), " readings"), "at most 10000");
  for (size_t i = 0; i < std::min<size_t>(r.leakage_milliamps.size(), 10000); ++i)
    check.Within(absl::StrCat("leakage_milliamps[", i, "]"), r.leakage_milliamps[i], 0, 1e6, "mA");
  if (r.trip_milliamps) check.Above("trip_milliamps", *r.trip_milliamps, 0, 1e6, "mA");
  if (asked.shop_leakage_milliamps) check.Above("most_leakage_milliamps", *asked.shop_leakage_milliamps, 0, 1e6, "mA");
  check.Within("instrument.uncertainty_ratio", r.uncertainty_ratio, 0, 0.5, "");
  return check.status();
}

// Why the test proves nothing; empty where it does.
std::string WhyNotValid(const WithstandAsked& asked, const WithstandReading& r) {
  if (!asked.test_volts) {
    return absl::StrFormat("held %.4g V, but this stage has no such test, so it counts for nothing%s%s", r.test_volts,
                           asked.left_out_because.empty() ? "" : ": ", asked.left_out_because);
  }
  const double least = 1 - Setting("level_tolerance");
  if (asked.one_second_volts && r.hold_seconds >= 1 && r.test_volts >= least * *asked.one_second_volts) return "";
  if (r.test_volts < least * *asked.test_volts)
    return absl::StrFormat("%.4g V is below the %.4g V of this stage: it proves nothing at that level", r.test_volts,
                           *asked.test_volts);
  if (asked.hold_seconds && r.hold_seconds < least * *asked.hold_seconds)
    return absl::StrFormat("held %.3g s, asked for %.3g s", r.hold_seconds, *asked.hold_seconds);
  return "";
}

// What had to be held: "no breakdown at 1800 V ac rms for 60 s".
std::string HeldLimit(const WithstandAsked& asked, bool dc) {
  if (!asked.test_volts) return "no breakdown for the whole time";
  std::string text = absl::StrFormat("no breakdown at %.6g V %s", *asked.test_volts, dc ? "dc" : "ac rms");
  if (asked.hold_seconds) absl::StrAppendFormat(&text, " for %.6g s", *asked.hold_seconds);
  if (asked.one_second_volts) absl::StrAppendFormat(&text, ", or at %.6g V for 1 s", *asked.one_second_volts);
  return text;
}

void JudgeLeakage(const WithstandAsked& asked, const WithstandReading& r, JudgedTest& test) {
  if (r.leakage_milliamps.empty()) return;
  const double most = *std::max_element(r.leakage_milliamps.begin(), r.leakage_milliamps.end());
  test.as_read = most;
  test.unit = "mA";
  if (asked.shop_leakage_milliamps) {
    test.limit =
        AtMost(*asked.shop_leakage_milliamps, "mA",
               absl::StrCat(HeldLimit(asked, r.dc), ", and the shop's leakage limit"), rules::shop_judgement_leakage);
    Decide(most, {most * r.uncertainty_ratio, 0}, test);
    if (test.verdict != Verdict::kPass) {
      test.suspect = Suspect::kMoisture;
      test.reason = test.verdict == Verdict::kFail ? "held, but leaks more than the shop allows"
                                                   : "held; leakage within its uncertainty of the shop's limit";
      test.points_to = {"moisture, dirt at the leads, or insulation near its end: megohms once more"};
    }
  }
  const double first = r.leakage_milliamps.front(), last = r.leakage_milliamps.back();
  test.rules.push_back(rules::shop_judgement_leakage);
  if (r.leakage_milliamps.size() > 1 && last > first * (1 + Setting("leakage_rise_most")) + 1e-12) {
    if (test.verdict == Verdict::kPass) test.verdict = Verdict::kMarginal;
    test.suspect = Suspect::kMoisture;
    test.reason = absl::StrFormat("the current climbed from %.3g to %.3g mA while the voltage was held", first, last);
    test.points_to.push_back("insulation warming at a weak place: do not repeat the test; megohms, dry out, look");
  }
}

// A level above the one asked for proves no more and takes life; far above, the winding may be weaker than it was.
void JudgeStress(const WithstandAsked& asked, const WithstandReading& r, JudgedTest& test) {
  const bool short_hold = asked.one_second_volts && asked.hold_seconds && r.hold_seconds < *asked.hold_seconds;
  const double level = short_hold ? std::max(*asked.one_second_volts, *asked.test_volts) : *asked.test_volts;
  if (r.test_volts <= (1 + Setting("level_tolerance")) * level) return;
  if (r.test_volts <= (1 + Setting("level_over_most")) * level) {
    test.points_to.push_back(
        absl::StrFormat("%.4g V is above the %.4g V asked for and ages the winding for nothing", r.test_volts, level));
    return;
  }
  if (test.verdict == Verdict::kPass) test.verdict = Verdict::kMarginal;
  absl::StrAppend(&test.reason,
                  absl::StrFormat("; over-stressed, %.3g times the %.4g V asked for", r.test_volts / level, level));
  test.points_to.push_back(
      "no second withstand test: megohms and surge comparison again, against those before, and the "
      "voltage written on its paper");
}

}  // namespace

absl::StatusOr<JudgedTest> JudgeWithstand(const WithstandAsked& asked, const WithstandReading& r) {
  if (absl::Status status = Check(asked, r); !status.ok()) return status;
  JudgedTest test;
  test.kind = r.dc ? TestKind::kWithstandDc : TestKind::kWithstandAc;
  test.title = r.dc ? "DC withstand" : "AC withstand";
  test.limit.kind = LimitKind::kNoLimitInStandard;
  test.limit.text = absl::StrCat(HeldLimit(asked, r.dc), "; no standard here sets a leakage current");
  test.limit.rule = asked.rule;
  test.rules = {rules::shop_judgement_level};
  if (!asked.rule.empty()) test.rules.push_back(asked.rule);
  if (r.broke_down) {
    test.verdict = Verdict::kFail;
    test.suspect = Suspect::kBreakdown;
    test.reason = absl::StrFormat("broke down at %.4g V", r.test_volts);
    test.points_to = {"insulation to frame or between phases: no second test; find the place"};
    return test;
  }
  if (r.trip_milliamps && !r.leakage_milliamps.empty() &&
      *std::max_element(r.leakage_milliamps.begin(), r.leakage_milliamps.end()) >= *r.trip_milliamps) {
    test.verdict = Verdict::kFail;
    test.suspect = Suspect::kBreakdown;
    test.reason = absl::StrFormat("leakage reached the trip of %.3g mA", *r.trip_milliamps);
    test.points_to = {"a breakdown, or a trip set too low for the capacitance of the winding"};
    return test;
  }
  if (const std::string why = WhyNotValid(asked, r); !why.empty()) {
    test.reason = why;
    test.suspect = Suspect::kReading;
    return test;
  }
  test.verdict = Verdict::kPass;
  test.reason = absl::StrFormat("held %.4g V for %.3g s", r.test_volts, r.hold_seconds);
  JudgeLeakage(asked, r, test);
  JudgeStress(asked, r, test);
  if (!asked.megohms_passed) {
    if (test.verdict == Verdict::kPass) test.verdict = Verdict::kMarginal;
    absl::StrAppend(&test.reason, "; megohms come first: none had passed before this test");
    test.points_to.push_back("megohms now, before any other voltage");
  }
  return test;
}

}  // namespace coilwright::testing
