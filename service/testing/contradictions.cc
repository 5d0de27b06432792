#include "testing/contradictions.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "testing/three_leads.h"

namespace coilwright::testing {
namespace {

// The pair farthest from the mean of the other two.
const char* OddPair(const std::array<std::optional<double>, 3>& values) {
  size_t odd = 0;
  double farthest = 0;
  for (size_t i = 0; i < 3; ++i) {
    const double others = (values[(i + 1) % 3].value_or(0) + values[(i + 2) % 3].value_or(0)) / 2;
    const double apart = std::abs(values[i].value_or(0) - others);
    if (apart > farthest) {
      odd = i;
      farthest = apart;
    }
  }
  return kPairs[odd];
}

// Of all readings of one kind: whether one counts and none speaks against it.
struct Said {
  bool passed = false, failed = false;
  bool for_sure() const { return passed && !failed; }
};

void Doubt(JudgedTest& test, const std::string& why, const std::string& read_again) {
  test.suspect = Suspect::kReading;
  absl::StrAppend(&test.reason, "; contradicted by ", why);
  test.points_to.insert(test.points_to.begin(), read_again);
}

}  // namespace

void SetAgainstEachOther(WindingJudgement& judgement) {
  Said surge, balance;
  const auto hear = [](Verdict verdict, bool counts, Said& said) {
    said.passed = said.passed || (verdict == Verdict::kPass && counts);
    said.failed = said.failed || verdict == Verdict::kFail || verdict == Verdict::kMarginal;
  };
  for (const JudgedReading& reading : judgement.readings) {
    if (const auto* waves = std::get_if<SurgeComparison>(&reading.detail)) {
      // Waves that lie on each other do so above the level too.
      const bool over = waves->test.verdict == Verdict::kMarginal && waves->test.suspect == Suspect::kNothing;
      hear(over ? Verdict::kPass : waves->test.verdict, waves->turn_insulation_tested, surge);
    }
    if (const auto* ohms = std::get_if<PhaseResistance>(&reading.detail)) hear(ohms->balance.verdict, true, balance);
  }
  for (JudgedReading& reading : judgement.readings) {
    if (reading.tests.empty() || reading.tests[0].verdict == Verdict::kPass) continue;
    JudgedTest& test = reading.tests[0];
    if (const auto* ohms = std::get_if<PhaseResistance>(&reading.detail)) {
      if (test.suspect == Suspect::kShortedTurns && surge.for_sure()) {
        Doubt(test, "the surge waves, which lie on each other",
              absl::StrCat("read ", OddPair(ohms->line_to_line_ohms_20c), " again, four-wire, on clean leads"));
      }
    } else if (const auto* emf = std::get_if<BackEmf>(&reading.detail)) {
      const auto phase = std::find_if(emf->explanations.begin(), emf->explanations.end(),
                                      [](const BackEmfExplanation& e) { return e.cause == BackEmfCause::kPhaseTurns; });
      if (test.suspect != Suspect::kShortedTurns || phase == emf->explanations.end()) continue;
      const bool too_many = phase->turns_ratio.value_or(1) > 1;
      if (balance.for_sure() && !surge.failed && (surge.passed || too_many)) {
        Doubt(test,
              absl::StrCat("the resistances, which balance", surge.passed ? ", and the surge waves, which lie on each "
                                                                            "other"
                                                                          : ""),
              absl::StrCat("read ", OddPair(emf->volts_per_krpm_20c), " again, on clean leads at the same speed"));
      }
    }
  }
}

}  // namespace coilwright::testing
