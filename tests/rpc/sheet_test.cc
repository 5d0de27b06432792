// Drawings through the service: what is drawn of a record, what is refused, and that files are what they say.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "calls/samples.h"
#include "rpc/methods.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

using calls::Parse;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

v1::WindingRecord Induction() { return Parse<v1::PlanRewindRequest>(calls::kInduction).record(); }
v1::WindingRecord Concentric() { return Parse<v1::PlanRewindRequest>(calls::kConcentric).record(); }

std::vector<std::string> WrongFields(const absl::Status& status) {
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
  return fields;
}

// How often a text stands in the SVG pages of a winding drawing.
int Count(const v1::MakeWindingDrawingResponse& answer, const std::string& text) {
  int count = 0;
  for (const std::string& page : answer.document().files()) {
    for (size_t at = page.find(text); at != std::string::npos; at = page.find(text, at + 1)) ++count;
  }
  return count;
}

v1::MakeWindingDrawingResponse DrawWinding(const v1::MakeWindingDrawingRequest& request) {
  v1::MakeWindingDrawingRequest svg = request;
  svg.mutable_document()->set_format(v1::DOCUMENT_FORMAT_SVG);
  v1::MakeWindingDrawingResponse answer;
  const absl::Status status = MakeWindingDrawing(svg, &answer);
  EXPECT_TRUE(status.ok()) << status;
  return answer;
}

TEST(Sheets, FilesAreOfTheKindAskedForWithOneSvgForEachPage) {
  auto request = Parse<v1::MakeWindingDrawingRequest>("layout { slots: 36 poles: 4 coil_pitch_slots: 8 }");
  v1::MakeWindingDrawingResponse pdf;
  ASSERT_TRUE(MakeWindingDrawing(request, &pdf).ok());
  ASSERT_THAT(pdf.document().files(), SizeIs(1));
  EXPECT_TRUE(absl::StartsWith(pdf.document().files(0), "%PDF-1."));
  EXPECT_EQ(pdf.document().media_type(), "application/pdf");
  const v1::MakeWindingDrawingResponse svg = DrawWinding(request);
  ASSERT_THAT(svg.document().files(), SizeIs(2));
  EXPECT_EQ(svg.document().media_type(), "image/svg+xml");
  // No title was given: the core names it.
  EXPECT_THAT(svg.document().files(1), HasSubstr(">36 slots, 4 poles</text>"));
  EXPECT_THAT(svg.document().files(1), HasSubstr("height=\"210mm\""));
  request.mutable_document()->set_paper(v1::PAPER_LETTER);
  EXPECT_THAT(DrawWinding(request).document().files(0), HasSubstr("height=\"215.9mm\""));
}

TEST(Sheets, ARecordBringsItsWinding) {
  v1::MakeWindingDrawingRequest request;
  *request.mutable_record() = Concentric();
  v1::MakeWindingDrawingResponse answer = DrawWinding(request);
  EXPECT_EQ(Count(answer, "24 slots, 4 poles, 2 slots per pole and phase"), 1);
  EXPECT_EQ(Count(answer, "1\u20138, 1\u20136 (7, 5 slots spanned)"), 1);
  EXPECT_EQ(Count(answer, "delta, 1 circuit a phase"), 1);
  *request.mutable_record() = Induction();
  answer = DrawWinding(request);
  EXPECT_GE(Count(answer, "Harbour Lane cannery, retort fan"), 2);
  EXPECT_EQ(Count(answer, "star, 1 circuit a phase"), 1);
  request.mutable_change()->set_parallel_circuits(2);
  request.mutable_change()->set_connection(v1::CONNECTION_DELTA);
  EXPECT_EQ(Count(DrawWinding(request), "delta, 2 parallel circuits a phase"), 1);
  request.set_connection(v1::CONNECTION_OPEN);
  EXPECT_EQ(Count(DrawWinding(request), "open, six leads, 2 parallel circuits a phase"), 1);
}

// The pattern of 24 slots and 4 poles lies as 7 and 5; groups of 8 and 4 have the same mean and other coils.
TEST(Sheets, GroupsThatThePatternDoesNotLayAreNotDrawnAsIfTheyWere) {
  v1::MakeWindingDrawingRequest request;
  *request.mutable_record() = Concentric();
  auto* group = request.mutable_record()->mutable_winding()->mutable_groups(0);
  group->mutable_coils(0)->set_span_slots(4);
  group->mutable_coils(1)->set_span_slots(8);
  v1::MakeWindingDrawingResponse answer;
  const absl::Status status = MakeWindingDrawing(request, &answer);
  EXPECT_EQ(status.code(), absl::StatusCode::kFailedPrecondition) << status;
  EXPECT_THAT(std::string(status.message()), HasSubstr("span 4, 8 slots, the pattern of these slots and poles 5, 7"));
}

TEST(Sheets, WhatARecordSaysItselfIsRefusedBesideIt) {
  auto request = Parse<v1::MakeWindingDrawingRequest>(
      R"(parallel_circuits: 1 connection: CONNECTION_STAR coils { phase: PHASE_U go_slot: 1 return_slot: 4 })");
  *request.mutable_record() = Induction();
  v1::MakeWindingDrawingResponse answer;
  EXPECT_THAT(WrongFields(MakeWindingDrawing(request, &answer)),
              ElementsAre("coils", "parallel_circuits", "connection"));
  request = Parse<v1::MakeWindingDrawingRequest>("layout { slots: 12 poles: 10 } change { poles: 8 }");
  EXPECT_THAT(WrongFields(MakeWindingDrawing(request, &answer)), ElementsAre("change"));
}

std::string SlotText(const v1::MakeSlotDrawingRequest& request) {
  v1::MakeSlotDrawingRequest svg = request;
  svg.mutable_document()->set_format(v1::DOCUMENT_FORMAT_SVG);
  v1::MakeSlotDrawingResponse answer;
  const absl::Status status = MakeSlotDrawing(svg, &answer);
  EXPECT_TRUE(status.ok()) << status;
  EXPECT_THAT(answer.left_out(), IsEmpty());
  return status.ok() ? answer.document().files(0) : "";
}

// Wire, turns and fullness of the drawing are those of the plan.
TEST(Sheets, ASlotIsDrawnAsRecordedOrAsAWayOfThePlan) {
  v1::PlanRewindRequest plan_request = Parse<v1::PlanRewindRequest>(calls::kInduction);
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(PlanRewind(plan_request, &plan).ok());
  v1::MakeSlotDrawingRequest request;
  *request.mutable_record() = plan_request.record();
  EXPECT_TRUE(absl::StrContains(SlotText(request), "1 \u00D7 0.85 mm grade 2"));
  request.set_way(2);
  const v1::StrandChoice& second = plan.options(1).conductor();
  EXPECT_TRUE(absl::StrContains(SlotText(request), second.strands(0).designation()));
  request.clear_way();
  request.mutable_change()->set_parallel_circuits(2);
  *plan_request.mutable_change() = request.change();
  plan.Clear();
  ASSERT_TRUE(PlanRewind(plan_request, &plan).ok());
  const std::string changed = SlotText(request);
  EXPECT_TRUE(absl::StrContains(changed, plan.options(0).conductor().strands(0).designation()));
  EXPECT_TRUE(absl::StrContains(changed, absl::StrCat(">", plan.turns().turns_per_coil(), " turns,<")));
}

TEST(Sheets, AWayThatThePlanDoesNotHaveAndASlotThatWasNotMeasuredAreRefused) {
  v1::MakeSlotDrawingRequest request;
  *request.mutable_record() = Induction();
  request.mutable_wires()->set_best(2);
  request.set_way(3);
  v1::MakeSlotDrawingResponse answer;
  const absl::Status status = MakeSlotDrawing(request, &answer);
  EXPECT_THAT(WrongFields(status), ElementsAre("way"));
  EXPECT_THAT(standards::FieldErrorsOf(status)[0].accepted, HasSubstr("1 to 2"));
  request.clear_way();
  request.mutable_record()->mutable_machine()->mutable_slot()->clear_shape();
  EXPECT_THAT(WrongFields(MakeSlotDrawing(request, &answer)), ElementsAre("record.machine.slot.shape"));
}

}  // namespace
}  // namespace coilwright::rpc
