#pragma once

#include <gtest/gtest.h>

#include <algorithm>

#include "testing/programme.h"

// What tests of programmes share.
namespace coilwright::testing {

inline constexpr Stage kStages[] = {
    Stage::kAsReceived, Stage::kStrippedCore, Stage::kWoundStarOpen, Stage::kWoundBeforeTreatment,
    Stage::kTreated,    Stage::kAssembled,    Stage::kInService};

inline Programme ProgrammeOf(const ProgrammeCase& c) {
  const auto programme = TestProgramme(c);
  EXPECT_TRUE(programme.ok()) << programme.status();
  return programme.value_or(Programme{});
}

// The first step of this kind: done, or left out.
inline Step Get(const Programme& programme, TestKind kind) {
  const auto found = std::find_if(programme.steps.begin(), programme.steps.end(),
                                  [kind](const Step& step) { return step.kind == kind; });
  EXPECT_NE(found, programme.steps.end());
  return found == programme.steps.end() ? Step{} : *found;
}

inline bool Energises(const Step& step) {
  return step.volts || std::any_of(step.terminals.begin(), step.terminals.end(), [](const Terminal& terminal) {
           return terminal.potential == Potential::kEnergised;
         });
}

}  // namespace coilwright::testing
