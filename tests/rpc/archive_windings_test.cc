// Windings in the archive: one effect per request id, the revision that was read, what a mask names, history,
// comparison.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <future>
#include <thread>

#include "calls/loopback.h"
#include "calls/own_archive.h"
#include "calls/walk.h"

namespace coilwright::calls {
namespace {

using ::testing::Contains;
using ::testing::Each;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class ArchivedWindings : public OwnArchive {};

v1::CreateWindingRequest Create(const std::string& id, const std::string& request_id = "") {
  v1::CreateWindingRequest request;
  *request.mutable_record() = DemoRecord();
  request.set_winding_id(id);
  request.set_recorded_by("A. Winder");
  request.set_request_id(request_id);
  return request;
}

v1::UpdateWindingRequest Update(const v1::ArchivedWinding& winding, const std::string& path) {
  v1::UpdateWindingRequest request;
  request.mutable_winding()->set_name(winding.name());
  request.mutable_winding()->mutable_revision()->set_etag(winding.revision().etag());
  request.mutable_winding()->mutable_revision()->set_recorded_by("B. Tester");
  request.mutable_winding()->mutable_revision()->set_reason("recounted");
  request.mutable_update_mask()->add_paths(path);
  return request;
}

TEST_F(ArchivedWindings, AreKeptAsTheyCameWithTheirCheck) {
  const v1::ArchivedWinding kept = Ok(&rpc::CreateWinding, Create("seamer")).winding();
  EXPECT_EQ(kept.name(), "windings/seamer");
  EXPECT_EQ(kept.record().SerializeAsString(), DemoRecord().SerializeAsString());
  // The same check as the call that only computes gives.
  v1::CheckRecordRequest check;
  *check.mutable_record() = DemoRecord();
  v1::CheckRecordResponse checked;
  ASSERT_TRUE(rpc::CheckRecord(check, &checked).ok());
  EXPECT_EQ(kept.check().SerializeAsString(), checked.check().SerializeAsString());
  EXPECT_EQ(kept.data_revision(), checked.data_revision());
  EXPECT_EQ(kept.revision().number(), 1);
  EXPECT_EQ(kept.revision().recorded_by(), "A. Winder");
  EXPECT_EQ(kept.revision().time().seconds(), kept.create_time().seconds());
  v1::GetWindingRequest get;
  get.set_name(kept.name());
  EXPECT_EQ(Ok(&rpc::GetWinding, get).winding().SerializeAsString(), kept.SerializeAsString());
}

TEST_F(ArchivedWindings, LackingValuesOrKindsNotPlannedAreKeptAndWrongValuesAreNot) {
  auto request = Parse<v1::CreateWindingRequest>(R"(record { title: "card 12" } recorded_by: "A. Winder")");
  const v1::ArchivedWinding card = Ok(&rpc::CreateWinding, request).winding();
  EXPECT_FALSE(card.has_check());
  EXPECT_EQ(card.check_refused().code(), static_cast<int>(grpc::StatusCode::INVALID_ARGUMENT));
  request.mutable_record()->mutable_machine()->set_kind(v1::MACHINE_KIND_DC_ARMATURE);
  EXPECT_TRUE(Ok(&rpc::CreateWinding, request).winding().has_check_refused());
  // A contradiction: leads of more than the reading that holds them.
  request = Create("");
  request.mutable_record()->mutable_measured()->mutable_resistance()->set_leads_ohms(99);
  EXPECT_TRUE(Ok(&rpc::CreateWinding, request).winding().has_check_refused());

  request = Create("");
  request.mutable_record()->mutable_winding()->set_coil_pitch_slots(-3);
  request.mutable_record()->mutable_machine()->mutable_core()->mutable_bore_diameter()->set_metres(40000);
  request.mutable_record()->mutable_winding()->mutable_strands(0)->mutable_wire()->set_designation("AWG 99 heavy");
  request.clear_recorded_by();
  EXPECT_THAT(Refused(&rpc::CreateWinding, request),
              ::testing::UnorderedElementsAre("record.winding.coil_pitch_slots", "record.machine.core.bore_diameter",
                                              "record.winding.strands[0].wire.designation", "recorded_by"));
  EXPECT_EQ(archive().LastSequence().value(), 3) << "nothing of the refused one is kept";
}

TEST_F(ArchivedWindings, ARepeatedRequestIdIsAppliedOnceAndAnswersAsItDidThen) {
  const auto first = Ok(&rpc::CreateWinding, Create("", "one")).winding();
  auto update = Update(first, "record.note");
  update.mutable_winding()->mutable_record()->set_note("counted again");
  update.set_request_id("two");
  const auto second = Ok(&rpc::UpdateWinding, update).winding();
  EXPECT_EQ(second.revision().number(), 2);
  // Both again, after what they made has changed.
  EXPECT_EQ(Ok(&rpc::CreateWinding, Create("", "one")).winding().SerializeAsString(), first.SerializeAsString());
  EXPECT_EQ(Ok(&rpc::UpdateWinding, update).winding().SerializeAsString(), second.SerializeAsString());
  EXPECT_EQ(archive().LastSequence().value(), 2);
  // By somebody who has read the outcome meanwhile, as a command line does before it sends a change.
  update.mutable_winding()->mutable_revision()->set_etag(second.revision().etag());
  EXPECT_EQ(Ok(&rpc::UpdateWinding, update).winding().SerializeAsString(), second.SerializeAsString());
  EXPECT_EQ(archive().LastSequence().value(), 2);
  // The id with another content, and with another call.
  EXPECT_EQ(Fails(&rpc::CreateWinding, Create("other", "one")).code(), absl::StatusCode::kAlreadyExists);
  update.set_request_id("one");
  EXPECT_THAT(std::string(Fails(&rpc::UpdateWinding, update).message()), HasSubstr("request_id \"one\" has been used"));
  EXPECT_EQ(archive().LastSequence().value(), 2);
}

TEST_F(ArchivedWindings, OfManyRepeatsAtOnceOneIsApplied) {
  std::vector<std::future<std::string>> names;
  for (int i = 0; i < 16; ++i) {
    names.push_back(
        std::async(std::launch::async, [&] { return Ok(&rpc::CreateWinding, Create("", "same")).winding().name(); }));
  }
  std::set<std::string> made;
  for (auto& name : names) made.insert(name.get());
  EXPECT_EQ(made.size(), 1u);
  EXPECT_EQ(archive().LastSequence().value(), 1);
}

TEST_F(ArchivedWindings, AStaleEtagIsAbortedAndTellsWhatToDo) {
  const auto first = Ok(&rpc::CreateWinding, Create("seamer")).winding();
  auto update = Update(first, "record.note");
  update.mutable_winding()->mutable_record()->set_note("counted again");
  Ok(&rpc::UpdateWinding, update);
  const absl::Status stale = Fails(&rpc::UpdateWinding, update);
  EXPECT_EQ(stale.code(), absl::StatusCode::kAborted);
  EXPECT_THAT(std::string(stale.message()), HasSubstr("read it again"));
  update.mutable_winding()->mutable_revision()->clear_etag();
  EXPECT_THAT(Refused(&rpc::UpdateWinding, update), ElementsAre("winding.revision.etag"));
  update.mutable_winding()->mutable_revision()->set_etag("2");
  EXPECT_THAT(Refused(&rpc::UpdateWinding, update), ElementsAre("winding.revision.etag"));
}

// Eight read the same revision and change it at once: one wins, seven are told, nothing is lost unseen.
TEST_F(ArchivedWindings, OfConcurrentChangesOneWins) {
  const auto first = Ok(&rpc::CreateWinding, Create("seamer")).winding();
  std::vector<std::future<absl::StatusCode>> outcomes;
  for (int i = 0; i < 8; ++i) {
    outcomes.push_back(std::async(std::launch::async, [&, i] {
      auto update = Update(first, "record.note");
      update.mutable_winding()->mutable_record()->set_note(absl::StrCat("by ", i));
      v1::UpdateWindingResponse response;
      return rpc::UpdateWinding(archive(), update, &response).code();
    }));
  }
  std::map<absl::StatusCode, int> codes;
  for (auto& outcome : outcomes) ++codes[outcome.get()];
  EXPECT_EQ(codes[absl::StatusCode::kOk], 1);
  EXPECT_EQ(codes[absl::StatusCode::kAborted], 7);
  EXPECT_EQ(archive().LastSequence().value(), 2);
}

TEST_F(ArchivedWindings, AMaskChangesWhatItNamesAndTakesOffWhatIsLacking) {
  const auto first = Ok(&rpc::CreateWinding, Create("seamer")).winding();
  auto update = Update(first, "record.winding.turns_per_coil");
  update.mutable_update_mask()->add_paths("record.measured.mass");
  update.mutable_update_mask()->add_paths("record.winding.strands");
  update.mutable_update_mask()->add_paths("record.machine.core.bore_diameter");
  update.mutable_winding()->mutable_record()->set_title("not named by the mask");
  update.mutable_winding()->mutable_record()->mutable_winding()->set_turns_per_coil(34);
  update.mutable_winding()->mutable_record()->mutable_machine()->mutable_core()->mutable_bore_diameter()->set_inches(
      2.4);
  v1::Strand* strand = update.mutable_winding()->mutable_record()->mutable_winding()->add_strands();
  strand->mutable_wire()->set_designation("0.5 mm grade 2");
  v1::WindingRecord expected = DemoRecord();
  expected.mutable_winding()->set_turns_per_coil(34);
  expected.mutable_measured()->clear_mass();
  expected.mutable_winding()->clear_strands();
  *expected.mutable_winding()->add_strands() = *strand;
  expected.mutable_machine()->mutable_core()->mutable_bore_diameter()->set_inches(2.4);
  const auto changed = Ok(&rpc::UpdateWinding, update).winding();
  EXPECT_EQ(changed.record().SerializeAsString(), expected.SerializeAsString());
  EXPECT_EQ(changed.revision().reason(), "recounted");
  EXPECT_NE(changed.check().SerializeAsString(), first.check().SerializeAsString()) << "checked anew";
  // The first revision stands as it was.
  v1::GetWindingRequest get;
  get.set_name("windings/seamer");
  get.set_revision(1);
  EXPECT_EQ(Ok(&rpc::GetWinding, get).winding().SerializeAsString(), first.SerializeAsString());
}

TEST_F(ArchivedWindings, AreFoundByTheCodeOfEveryRecordTheyHad) {
  const auto found_by = [&](const std::string& code) {
    v1::ListWindingsRequest list;
    list.mutable_filter()->set_text(code);
    return Ok(&rpc::ListWindings, list).windings_size() == 1;
  };
  const v1::ArchivedWinding first = Ok(&rpc::CreateWinding, Create("seamer")).winding();
  EXPECT_THAT(first.earlier_codes(), IsEmpty());
  v1::UpdateWindingRequest title = Update(first, "record.title");
  title.mutable_winding()->mutable_record()->set_title("Seamer head drive");
  const v1::ArchivedWinding second = Ok(&rpc::UpdateWinding, title).winding();
  EXPECT_NE(second.code(), first.code());
  EXPECT_THAT(second.earlier_codes(), ElementsAre(first.code()));
  EXPECT_TRUE(found_by(first.code()));
  EXPECT_TRUE(found_by(second.code()));
  // A day of taking down is no part of the record.
  v1::UpdateWindingRequest day = Update(second, "taken_down_time");
  day.mutable_winding()->mutable_taken_down_time()->set_seconds(1400000000);
  const v1::ArchivedWinding third = Ok(&rpc::UpdateWinding, day).winding();
  EXPECT_EQ(third.code(), second.code());
  EXPECT_THAT(third.earlier_codes(), ElementsAre(first.code()));
  // Back to what it was.
  title = Update(third, "record.title");
  title.mutable_winding()->mutable_record()->set_title(first.record().title());
  const v1::ArchivedWinding last = Ok(&rpc::UpdateWinding, title).winding();
  EXPECT_EQ(last.code(), first.code());
  EXPECT_THAT(last.earlier_codes(), ElementsAre(second.code()));
  EXPECT_TRUE(found_by(first.code()) && found_by(second.code()));
}

TEST_F(ArchivedWindings, AChangeOfNothingMakesNoRevision) {
  const auto first = Ok(&rpc::CreateWinding, Create("seamer")).winding();
  auto update = Update(first, "record.title");
  *update.mutable_winding()->mutable_record() = first.record();
  const absl::Status same = Fails(&rpc::UpdateWinding, update);
  EXPECT_EQ(same.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(same.message()), HasSubstr("windings/seamer is like that already"));
  EXPECT_EQ(archive().LastSequence().value(), 1);
}

TEST_F(ArchivedWindings, WrongMasksAreNamedByTheirPlace) {
  auto update = Update(Ok(&rpc::CreateWinding, Create("seamer")).winding(), "record.winding.turns_per_coil");
  for (const char* wrong : {"record.winding.turns", "check", "revision.reason", "record.winding.strands[0].wire",
                            "record.winding.strands.wire", "name", ""})
    update.mutable_update_mask()->add_paths(wrong);
  EXPECT_THAT(
      Refused(&rpc::UpdateWinding, update),
      ElementsAre("update_mask.paths[1]", "update_mask.paths[2]", "update_mask.paths[3]", "update_mask.paths[4]",
                  "update_mask.paths[5]", "update_mask.paths[6]", "update_mask.paths[7]"));
  EXPECT_THAT(std::string(Fails(&rpc::UpdateWinding, update).message()), HasSubstr("update_mask"));
  update.clear_update_mask();
  EXPECT_THAT(Refused(&rpc::UpdateWinding, update), ElementsAre("update_mask"));
}

TEST_F(ArchivedWindings, DeletionMarksIsSeenAndIsTakenBack) {
  const auto first = Ok(&rpc::CreateWinding, Create("seamer")).winding();
  auto mark = Parse<v1::DeleteWindingRequest>(R"(name: "windings/seamer" recorded_by: "A. Winder" reason: "twice")");
  mark.set_etag(first.revision().etag());
  const auto deleted = Ok(&rpc::DeleteWinding, mark).winding();
  EXPECT_TRUE(deleted.revision().deleted());
  EXPECT_EQ(deleted.record().SerializeAsString(), first.record().SerializeAsString());
  EXPECT_THAT(Ok(&rpc::ListWindings, v1::ListWindingsRequest()).windings(), IsEmpty());
  v1::ListWindingsRequest all;
  all.set_show_deleted(true);
  EXPECT_EQ(Ok(&rpc::ListWindings, all).windings_size(), 1);
  auto update = Update(deleted, "record.note");
  EXPECT_EQ(Fails(&rpc::UpdateWinding, update).code(), absl::StatusCode::kFailedPrecondition);
  mark.set_etag(deleted.revision().etag());
  EXPECT_EQ(Fails(&rpc::DeleteWinding, mark).code(), absl::StatusCode::kFailedPrecondition);
  v1::UndeleteWindingRequest back;
  back.set_name(mark.name());
  back.set_etag(mark.etag());
  back.set_recorded_by("A. Winder");
  EXPECT_FALSE(Ok(&rpc::UndeleteWinding, back).winding().revision().deleted());
  EXPECT_EQ(Ok(&rpc::ListWindings, v1::ListWindingsRequest()).windings_size(), 1);
  // Three revisions, newest first, over pages of two.
  v1::ListWindingRevisionsRequest history;
  history.set_name("windings/seamer");
  history.set_page_size(2);
  auto page = Ok(&rpc::ListWindingRevisions, history);
  ASSERT_EQ(page.revisions_size(), 2);
  EXPECT_EQ(page.revisions(0).number(), 3);
  EXPECT_TRUE(page.revisions(1).deleted());
  EXPECT_EQ(page.revisions(1).reason(), "twice");
  history.set_page_token(page.next_page_token());
  page = Ok(&rpc::ListWindingRevisions, history);
  ASSERT_EQ(page.revisions_size(), 1);
  EXPECT_EQ(page.revisions(0).etag(), first.revision().etag());
  EXPECT_EQ(page.next_page_token(), "");
}

TEST_F(ArchivedWindings, APageTokenBelongsToItsFilter) {
  for (int i = 0; i < 5; ++i) Ok(&rpc::CreateWinding, Create(absl::StrCat("w", i)));
  v1::ListWindingsRequest list;
  list.set_page_size(2);
  list.mutable_filter()->set_text("harbour");
  std::vector<std::string> names;
  do {
    const auto page = Ok(&rpc::ListWindings, list);
    for (const auto& winding : page.windings()) names.push_back(winding.name());
    list.set_page_token(page.next_page_token());
  } while (!list.page_token().empty() && names.size() < 100);
  EXPECT_THAT(names, ElementsAre("windings/w4", "windings/w3", "windings/w2", "windings/w1", "windings/w0"));
  list.set_page_token(Ok(&rpc::ListWindings, list).next_page_token());
  list.set_page_size(50);
  EXPECT_EQ(Ok(&rpc::ListWindings, list).windings_size(), 3) << "another page size goes on all the same";
  list.mutable_filter()->set_text("cannery");
  EXPECT_THAT(Refused(&rpc::ListWindings, list), ElementsAre("page_token"));
  v1::ListJobsRequest jobs;
  jobs.set_page_token(list.page_token());
  EXPECT_THAT(Refused(&rpc::ListJobs, jobs), ElementsAre("page_token"));
}

TEST_F(ArchivedWindings, AFilterHoldsAllItNames) {
  Ok(&rpc::CreateWinding, Create("servo"));
  auto fan = Create("fan");
  *fan.mutable_record() = Parse<v1::PlanRewindRequest>(kInduction).record();
  Ok(&rpc::CreateWinding, fan);
  const auto found = [&](const std::string& filter) {
    v1::ListWindingsRequest list;
    *list.mutable_filter() = Parse<v1::WindingFilter>(filter);
    std::string names;
    const auto page = Ok(&rpc::ListWindings, list);
    for (const auto& winding : page.windings()) absl::StrAppend(&names, winding.name(), " ");
    return names;
  };
  EXPECT_EQ(found("slots { least: 36 most: 36 }"), "windings/fan ");
  EXPECT_EQ(found("rated_volts { most: 200 }"), "windings/servo ");
  EXPECT_EQ(found("kind: MACHINE_KIND_INDUCTION poles { least: 4 } bore_mm { least: 95 most: 95 }"), "windings/fan ");
  EXPECT_EQ(found("kind: MACHINE_KIND_INDUCTION poles { least: 6 }"), "");
  EXPECT_EQ(found(R"(text: "retort")"), "windings/fan ");
  EXPECT_EQ(found(R"(text: "BRACKW works")"), "windings/servo ");
  EXPECT_EQ(found("verdict: CHECK_VERDICT_SOUND rated_kw { least: 1.4 most: 1.4 }"), "windings/servo ");
  v1::ListWindingsRequest wrong;
  *wrong.mutable_filter() = Parse<v1::WindingFilter>("slots { least: 40 most: 36 }");
  EXPECT_THAT(Refused(&rpc::ListWindings, wrong), ElementsAre("filter.slots.least"));
}

TEST_F(ArchivedWindings, AreComparedByWhatTheirReadingsAreWorth) {
  const auto first = Ok(&rpc::CreateWinding, Create("metric")).winding();
  auto other = Create("imperial");
  v1::WindingRecord& record = *other.mutable_record();
  // 60 mm is 60 / 25.4 inches; a quarter more turns; another film; no mass.
  record.mutable_machine()->mutable_core()->mutable_bore_diameter()->set_inches(60 / 25.4);
  record.mutable_machine()->mutable_core()->mutable_outer_diameter()->set_inches(4);
  record.mutable_winding()->set_turns_per_coil(first.record().winding().turns_per_coil() * 2);
  record.mutable_measured()->clear_mass();
  record.set_title("the same, taken down in inches");
  Ok(&rpc::CreateWinding, other);
  const auto compared =
      Ok(&rpc::CompareWindings,
         Parse<v1::CompareWindingsRequest>(R"(first: "windings/metric" second: "windings/imperial")"));
  std::map<std::string, v1::RecordDifference> by_field;
  for (const auto& difference : compared.differences()) by_field[difference.field()] = difference;
  EXPECT_EQ(by_field.count("machine.core.bore_diameter"), 0u);
  EXPECT_EQ(by_field["machine.core.outer_diameter"].first(), "104 mm");
  EXPECT_EQ(by_field["machine.core.outer_diameter"].second(), "4 inches");
  EXPECT_NEAR(by_field["machine.core.outer_diameter"].ratio(), 4 * 25.4 / 104, 1e-12);
  EXPECT_EQ(by_field["winding.turns_per_coil"].ratio(), 2);
  EXPECT_FALSE(by_field["title"].has_ratio());
  EXPECT_EQ(by_field["measured.mass.mass"].second(), "");
  EXPECT_FALSE(by_field["measured.mass.mass"].has_ratio());
  EXPECT_EQ(compared.first().name(), "windings/metric");
  EXPECT_GT(compared.same_fields(), 30);
  // Either way round, and against itself.
  const auto back = Ok(&rpc::CompareWindings,
                       Parse<v1::CompareWindingsRequest>(R"(first: "windings/imperial" second: "windings/metric")"));
  EXPECT_EQ(back.differences_size(), compared.differences_size());
  EXPECT_EQ(back.same_fields(), compared.same_fields());
  const auto same = Ok(&rpc::CompareWindings,
                       Parse<v1::CompareWindingsRequest>(R"(first: "windings/metric" second: "windings/metric")"));
  EXPECT_THAT(same.differences(), IsEmpty());
  EXPECT_GT(same.same_fields(), compared.same_fields());
}

TEST_F(ArchivedWindings, NamesAndTimesAreChecked) {
  auto request = Create("no blanks");
  request.mutable_taken_down_time()->set_seconds(253402300800);  // the first second of the year 10000
  request.mutable_taken_down_time()->set_nanos(-1);
  request.set_request_id("two words");
  EXPECT_THAT(
      Refused(&rpc::CreateWinding, request),
      ::testing::UnorderedElementsAre("winding_id", "taken_down_time.seconds", "taken_down_time.nanos", "request_id"));
  request = Create("card");
  request.mutable_taken_down_time()->set_seconds(time(nullptr) + 10 * 86400);
  EXPECT_THAT(Refused(&rpc::CreateWinding, request), ElementsAre("taken_down_time.seconds"));
  request.mutable_taken_down_time()->set_seconds(-62135596800);  // the first of the year 1
  EXPECT_THAT(Refused(&rpc::CreateWinding, request), ElementsAre("taken_down_time.seconds"));
  request.mutable_taken_down_time()->set_seconds(1300000000);
  request.mutable_taken_down_time()->set_nanos(123456789);
  const auto kept = Ok(&rpc::CreateWinding, request).winding();
  EXPECT_EQ(kept.taken_down_time().seconds(), 1300000000);
  EXPECT_EQ(kept.taken_down_time().nanos(), 123456000) << "microseconds are kept";
  EXPECT_EQ(Fails(&rpc::CreateWinding, Create("card")).code(), absl::StatusCode::kAlreadyExists);
  v1::GetWindingRequest get;
  get.set_name("windings/none");
  EXPECT_EQ(Fails(&rpc::GetWinding, get).code(), absl::StatusCode::kNotFound);
  get.set_name("windings/card");
  get.set_revision(2);
  EXPECT_EQ(Fails(&rpc::GetWinding, get).code(), absl::StatusCode::kNotFound);
  get.set_name("jobs/card");
  EXPECT_THAT(Refused(&rpc::GetWinding, get), ElementsAre("name"));
}

TEST(NoArchive, IsSaidByEveryCallAndToldWhatToDo) {
  const Loopback loopback;
  for (const AnyMethod& method : Methods()) {
    if (!method.archived) continue;
    const std::unique_ptr<Message> answer(method.response->New());
    const grpc::Status status = loopback.Call(method, *GoodRequests(method.name).front(), answer.get());
    EXPECT_EQ(status.error_code(), grpc::StatusCode::FAILED_PRECONDITION) << method.name;
    EXPECT_THAT(status.error_message(), HasSubstr("--archive"));
  }
}

}  // namespace
}  // namespace coilwright::calls
