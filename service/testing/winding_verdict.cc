#include "testing/winding_verdict.h"

#include <algorithm>
#include <set>
#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "standards/rules.h"
#include "testing/dry_out.h"

namespace coilwright::testing {
namespace {

using Tests = std::vector<const JudgedTest*>;

bool AtIntake(Stage stage) { return stage == Stage::kAsReceived || stage == Stage::kInService; }

Tests AllTests(const WindingJudgement& judgement) {
  Tests tests;
  for (const JudgedReading& reading : judgement.readings) {
    for (const JudgedTest& test : reading.tests) tests.push_back(&test);
  }
  return tests;
}

// Which kinds of test of the programme a reading answers.
std::set<TestKind> Answered(const JudgedTest& test, const Programme& programme) {
  std::set<TestKind> kinds = {test.kind};
  // With the star open the winding is read phase by phase.
  if (test.kind == TestKind::kPhaseMegohms && programme.stage == Stage::kWoundStarOpen)
    kinds.insert(TestKind::kMegohms);
  if (test.kind == TestKind::kWithstandDc) kinds.insert(TestKind::kWithstandAc);
  return kinds;
}

bool Decides(TestKind kind, Stage stage) {
  switch (kind) {
    case TestKind::kMegohms:
    case TestKind::kWindingResistance:
      return true;
    case TestKind::kPhaseMegohms:
    case TestKind::kPolarity:
    case TestKind::kWithstandAc:
      return !AtIntake(stage);
    case TestKind::kBackEmf:
      return stage == Stage::kAssembled;
    default:
      return false;
  }
}

// Tests of the programme that no reading answers, or only one that is not valid.
struct Gaps {
  std::vector<MissingTest> missing;
  std::vector<const JudgedTest*> not_valid;  // of tests that decide
};

Gaps FindGaps(const Programme& programme, const Tests& tests) {
  std::set<TestKind> read, valid, asked;
  for (const Step& step : programme.steps) {
    if (!step.left_out) asked.insert(step.kind);
  }
  for (const JudgedTest* test : tests) {
    for (const TestKind kind : Answered(*test, programme)) {
      read.insert(kind);
      if (test->verdict != Verdict::kNotValid) valid.insert(kind);
    }
  }
  Gaps gaps;
  std::set<TestKind> named;
  for (const Step& step : programme.steps) {
    if (step.left_out || read.count(step.kind) > 0 || !named.insert(step.kind).second) continue;
    gaps.missing.push_back({step.kind, step.title, Decides(step.kind, programme.stage)});
  }
  for (const JudgedTest* test : tests) {
    if (test->verdict != Verdict::kNotValid) continue;
    for (const TestKind kind : Answered(*test, programme)) {
      if (!Decides(kind, programme.stage) || valid.count(kind) > 0 || asked.count(kind) == 0) continue;
      gaps.not_valid.push_back(test);
      break;
    }
  }
  return gaps;
}

bool TurnsTested(const WindingJudgement& judgement) {
  return std::any_of(judgement.readings.begin(), judgement.readings.end(), [](const JudgedReading& reading) {
    const auto* surge = std::get_if<SurgeComparison>(&reading.detail);
    return surge != nullptr && surge->turn_insulation_tested && surge->test.verdict == Verdict::kPass;
  });
}

std::string TitleAndReason(const JudgedTest& test) { return absl::StrCat(test.title, ": ", test.reason); }

// Failed tests that point to one of these.
Tests Failed(const Tests& tests, std::initializer_list<Suspect> suspects) {
  Tests found;
  for (const JudgedTest* test : tests) {
    if (test->verdict == Verdict::kFail && std::find(suspects.begin(), suspects.end(), test->suspect) != suspects.end())
      found.push_back(test);
  }
  return found;
}

void Conclude(WindingVerdict verdict, std::string summary, const Tests& because, WindingJudgement& out) {
  out.verdict = verdict;
  out.summary = std::move(summary);
  for (const JudgedTest* test : because) out.reasons.push_back(TitleAndReason(*test));
}

void Rewind(const Tests& because, bool intake, WindingJudgement& out) {
  Conclude(WindingVerdict::kRewind,
           intake ? "Rewind: the winding is at fault" : "The new winding is at fault: not to the next stage", because,
           out);
  if (intake) {
    out.next_steps = {"read the failed test once more on the bare leads, every joint and terminal cleaned",
                      "take the record down whole before anything is cut: the winding is its own only drawing",
                      "then strip, with the core test before and after"};
  } else {
    out.next_steps = {"find the place while it can be reached, put it right, and run the whole stage again"};
  }
}

void Repair(const Tests& because, WindingJudgement& out) {
  Conclude(WindingVerdict::kRepairConnection, "Repair the connection: open, badly joined or wrongly connected", because,
           out);
  out.next_steps = {"terminals, lead joints and star point first, each four-wire with the lead moved",
                    "compare the connection with the record and the plate",
                    "what lies inside a coil means a rewind; run the whole stage again after the repair"};
}

void DryOutWinding(const JudgeCase& c, const Tests& because, WindingJudgement& out) {
  const DryOut dry_out = DryOutFor(c.programme);
  Conclude(WindingVerdict::kDryOut, absl::StrCat("Clean and dry out, ", DryOutText(dry_out)), because, out);
  out.dry_out_most_celsius = dry_out.most_celsius;
  out.dry_out_limited_by = dry_out.limited_by;
  out.rules.push_back(dry_out.rule);
  out.next_steps = {"no withstand and no surge voltage before the megohms pass",
                    "clean the leads and coil heads; take off what cannot stand the heat; raise the temperature slowly "
                    "and read the megohms as it dries",
                    "read again once cooled; if it stays low, the insulation is at its end: rewind"};
}

void Undecided(const Gaps& gaps, const Tests& because, WindingJudgement& out) {
  std::vector<std::string> missing;
  for (const MissingTest& test : gaps.missing) {
    if (test.decides) missing.push_back(test.title);
  }
  Conclude(WindingVerdict::kUndecided, "Not decided yet", because, out);
  for (const JudgedTest* test : gaps.not_valid)
    out.reasons.push_back(absl::StrCat("not valid: ", TitleAndReason(*test)));
  if (!missing.empty()) {
    out.reasons.push_back(absl::StrCat("not read: ", absl::StrJoin(missing, ", ")));
    out.next_steps.push_back(absl::StrCat("take what is missing: ", absl::StrJoin(missing, ", ")));
  }
  if (!out.turn_insulation_tested) out.reasons.push_back("turn insulation not tested");
  if (!gaps.not_valid.empty()) out.next_steps.push_back("read again what is not valid, as its reason says");
  Tests unclear = because;
  unclear.insert(unclear.end(), gaps.not_valid.begin(), gaps.not_valid.end());
  for (const JudgedTest* test : unclear) {
    for (const std::string& text : test->points_to) out.next_steps.push_back(absl::StrCat(test->title, ": ", text));
  }
}

void PassAll(const JudgeCase& c, const Gaps& gaps, const Programme& programme, WindingJudgement& out) {
  const bool intake = AtIntake(programme.stage);
  const bool surge_possible = std::any_of(programme.steps.begin(), programme.steps.end(), [](const Step& step) {
    return step.kind == TestKind::kSurge && !step.left_out;
  });
  out.rules.push_back(rules::practice_turn_test_needed);
  const char* so_far = gaps.missing.empty() ? "" : " so far";
  if (!out.turn_insulation_tested) {
    Conclude(WindingVerdict::kNoFaultFoundTurnsNotTested, "No fault found, turn insulation not tested", {}, out);
    out.reasons.push_back(
        "resistance, megohms and withstand do not see a shorted turn: one in 240 moves the line-to-line resistance 0.2 "
        "%");
    out.next_steps.push_back(
        !c.programme.three_phase ? "bar to bar, or pole against pole: resistance and surge, judged by hand"
        : surge_possible
            ? "surge comparison of the three phases at the level of this stage, a "
              "rotor other than of an induction machine locked at the same electrical position for each or out"
            : "a surge comparison on a bench that can reach its level");
    return;
  }
  if (intake) {
    std::vector<std::string> order = {"bearings"};
    const Feedback feedback = c.programme.fitted.feedback;
    if (feedback != Feedback::kNone) order.emplace_back(FeedbackName(feedback));
    if (feedback == Feedback::kNone && c.programme.permanent_magnet) order.push_back("feedback");
    Conclude(WindingVerdict::kSound,
             absl::StrCat("Winding sound", so_far, ": look at the ", absl::StrJoin(order, ", then the ")), {}, out);
    out.rules.push_back(rules::practice_as_received_order);
    out.next_steps.push_back("bearings: noise, play, grease, shaft seat");
    if (order.size() > 1)
      out.next_steps.push_back(absl::StrCat(order[1], ": signals, coupling, cable and plug; keep its alignment"));
    out.next_steps.push_back("brake, connectors, motor cable and drive after those");
  } else {
    Conclude(WindingVerdict::kSound, absl::StrCat("In order at this stage", so_far), {}, out);
    out.next_steps.push_back(programme.stage == Stage::kAssembled ? "it can go back with these readings on its paper"
                                                                  : "on to the next stage");
  }
  for (const MissingTest& test : gaps.missing)
    out.next_steps.push_back(absl::StrCat("still to do at this stage: ", test.title));
}

void AddNotes(const JudgeCase& c, const Programme& programme, const Tests& tests, WindingJudgement& out) {
  const bool wet = std::any_of(tests.begin(), tests.end(), [](const JudgedTest* test) {
    return test->kind == TestKind::kMegohms && test->verdict == Verdict::kFail;
  });
  const bool stressed = std::any_of(tests.begin(), tests.end(), [](const JudgedTest* test) {
    return test->kind == TestKind::kWithstandAc || test->kind == TestKind::kWithstandDc ||
           test->kind == TestKind::kSurge;
  });
  if (wet && stressed)
    out.notes.push_back("a test voltage was put on a winding whose megohms do not pass: megohms come first");
  for (const JudgedTest* test : tests) {
    if (test->verdict == Verdict::kFail && test->suspect == Suspect::kPart) out.notes.push_back(TitleAndReason(*test));
  }
  if (c.concentric) {
    out.notes.push_back(
        "Phases of concentric coils differ by themselves in resistance and surge wave: compare with the winding when "
        "it was good.");
  }
  out.cautions = programme.cautions;
}

}  // namespace

void DecideWinding(const JudgeCase& c, const Programme& programme, WindingJudgement& out) {
  const Tests tests = AllTests(out);
  const bool intake = AtIntake(programme.stage);
  const Gaps gaps = FindGaps(programme, tests);
  out.missing = gaps.missing;
  out.turn_insulation_tested = TurnsTested(out);
  AddNotes(c, programme, tests, out);

  Tests rewind = Failed(tests, {Suspect::kBreakdown, Suspect::kEarthFault, Suspect::kShortedTurns});
  const Tests turns = Failed(tests, {Suspect::kWrongTurns});
  // As received, one value out of its band may be the band or the temperature; two that agree are not.
  if (!turns.empty() && (!intake || turns.size() > 1)) rewind.insert(rewind.end(), turns.begin(), turns.end());
  const Tests repair = Failed(tests, {Suspect::kOpenJoint, Suspect::kWrongConnection});
  Tests damp, open;
  for (const JudgedTest* test : tests) {
    const bool bad = test->verdict == Verdict::kFail || test->verdict == Verdict::kMarginal;
    const bool index = test->kind == TestKind::kPolarizationIndex || test->kind == TestKind::kAbsorptionRatio;
    const bool device = test->kind == TestKind::kSensor || test->kind == TestKind::kBrake;
    if (!bad || device) continue;
    if (index && test->verdict == Verdict::kMarginal) {
      // Where the megohms pass, the index alone does not hold a winding up.
      out.notes.push_back(TitleAndReason(*test));
    } else if (test->suspect == Suspect::kMoisture) {
      damp.push_back(test);
    } else if (test->suspect != Suspect::kWeakMagnets || test->verdict == Verdict::kMarginal) {
      open.push_back(test);
    }
  }
  const bool gap = !gaps.not_valid.empty() || std::any_of(gaps.missing.begin(), gaps.missing.end(),
                                                          [](const MissingTest& m) { return m.decides; });
  const Tests magnets = Failed(tests, {Suspect::kWeakMagnets});

  if (programme.stage == Stage::kStrippedCore) {
    Conclude(WindingVerdict::kUndecided, "There is no winding in the core at this stage", open, out);
  } else if (!rewind.empty()) {
    Rewind(rewind, intake, out);
  } else if (!repair.empty()) {
    Repair(repair, out);
  } else if (!damp.empty()) {
    DryOutWinding(c, damp, out);
  } else if (gap || !open.empty()) {
    Undecided(gaps, open, out);
  } else if (!magnets.empty()) {
    Conclude(WindingVerdict::kMagnetsWeak, "Magnets weak: the winding is not at fault, the rotor is", magnets, out);
    if (!out.turn_insulation_tested) out.reasons.push_back("turn insulation not tested");
    out.next_steps = {"compare with a sister motor or the plate at the same magnet temperature",
                      "magnetise again or change the rotor; no oven for burning out"};
    for (const JudgedTest* test : magnets)
      out.next_steps.insert(out.next_steps.end(), test->points_to.begin(), test->points_to.end());
  } else {
    PassAll(c, gaps, programme, out);
  }
}

}  // namespace coilwright::testing
