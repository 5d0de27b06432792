#include "testing/readings.h"

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "standards/errors.h"
#include "testing/contradictions.h"
#include "testing/judge_reading.h"
#include "testing/programme_steps.h"
#include "testing/winding_verdict.h"

namespace coilwright::testing {
namespace {

using standards::Band;

constexpr size_t kMostReadings = 200;

std::optional<Band> Expected(const std::optional<double>& low, const std::optional<double>& high) {
  if (!low || !high) return std::nullopt;
  return Band{*low, (*low + *high) / 2, *high};
}

// What the resistances say about turns, for the back-EMF.
void TakeResistance(const JudgedReading& judged, ReadingContext& x) {
  const auto* resistance = std::get_if<PhaseResistance>(&judged.detail);
  if (resistance == nullptr || !resistance->expected || !resistance->mean_line_to_line_ohms_20c) return;
  const double ohms = *resistance->mean_line_to_line_ohms_20c;
  x.resistance_ratio = Band{ohms / x.expected_ohms->high, ohms / x.expected_ohms->nominal, ohms / x.expected_ohms->low};
}

// Three pairs read on a winding that has not three phases prove nothing, alike or not.
void LeaveOutThreePhases(const ReadingContext& x, JudgedReading& judged) {
  if (x.c.programme.three_phase) return;
  for (JudgedTest& test : judged.tests) {
    if (!ComparesThreePhases(test.kind)) continue;
    test = NotJudged(test.kind, test.title, x.WhyLeftOut(test.kind));
    judged.detail = std::monostate();
  }
}

TestKind KindOf(const Reading& reading) {
  constexpr TestKind kKinds[] = {
      TestKind::kWindingResistance, TestKind::kMegohms,         TestKind::kWithstandAc, TestKind::kSurge,
      TestKind::kBackEmf,           TestKind::kTemperatureRise, TestKind::kVisual};
  return kKinds[reading.index()];
}

// Where the fields of a reading stand in the words of the contract.
std::string PathOf(size_t i, const Reading& reading) {
  constexpr const char* kFields[] = {"resistance.line_to_line", "megohms",    "withstand", "surge", "back_emf",
                                     "temperature_rise",        "observation"};
  return absl::StrCat("readings[", i, "].", kFields[reading.index()]);
}

}  // namespace

JudgedTest NotJudged(TestKind kind, absl::string_view title, absl::string_view why) {
  JudgedTest test;
  test.kind = kind;
  test.title = std::string(title);
  test.reason = std::string(why);
  test.suspect = Suspect::kReading;
  return test;
}

absl::StatusOr<WindingJudgement> JudgeReadings(const JudgeCase& c, const std::vector<Reading>& readings) {
  if (readings.empty() || readings.size() > kMostReadings)
    return standards::InvalidField("readings", absl::StrCat(readings.size(), " readings"), "1 to 200 readings");
  const auto programme = TestProgramme(c.programme);
  if (!programme.ok()) return programme.status();
  ReadingContext x{c, *programme, standards::ConductorPreset::kIec60034, {}, {}, {}, false};
  if (c.programme.family != Family::kIec60034) x.preset = standards::ConductorPreset::kIeee112;
  x.expected_ohms = Expected(c.programme.expected_line_to_line_ohms_low, c.programme.expected_line_to_line_ohms_high);
  x.expected_volts_per_krpm = Expected(c.programme.expected_ke_low, c.programme.expected_ke_high);
  if (!x.expected_volts_per_krpm && c.plate_volts_per_krpm)
    x.expected_volts_per_krpm = Band::Exactly(*c.plate_volts_per_krpm);

  WindingJudgement out;
  out.readings.resize(readings.size());
  std::vector<standards::FieldError> errors;
  const auto judge = [&](size_t i) {
    auto judged = std::visit([&x](const auto& reading) { return Judge(x, reading); }, readings[i]);
    if (judged.ok()) {
      out.readings[i] = *std::move(judged);
      LeaveOutThreePhases(x, out.readings[i]);
      TakeResistance(out.readings[i], x);
      for (const JudgedTest& test : out.readings[i].tests) {
        const bool megohms = test.kind == TestKind::kMegohms || test.kind == TestKind::kPhaseMegohms;
        x.megohms_passed = x.megohms_passed || (megohms && test.verdict == Verdict::kPass);
      }
      return;
    }
    std::vector<standards::FieldError> wrong = standards::FieldErrorsOf(judged.status());
    for (standards::FieldError& error : wrong) {
      // What is expected stands beside the readings, not in one of them.
      if (!absl::StartsWith(error.field, "expected_"))
        error.field = absl::StrCat(PathOf(i, readings[i]), ".", error.field);
      errors.push_back(std::move(error));
    }
    // A rule that does not reach: the reading keeps its place.
    if (wrong.empty())
      out.readings[i].tests.push_back(NotJudged(KindOf(readings[i]), "Not judged", judged.status().message()));
  };
  // Resistances first: the back-EMF is read beside them.
  for (size_t i = 0; i < readings.size(); ++i) {
    if (std::holds_alternative<LineResistances>(readings[i])) judge(i);
  }
  for (size_t i = 0; i < readings.size(); ++i) {
    if (!std::holds_alternative<LineResistances>(readings[i])) judge(i);
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  SetAgainstEachOther(out);
  DecideWinding(c, *programme, out);
  return out;
}

}  // namespace coilwright::testing
