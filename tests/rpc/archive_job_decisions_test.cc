// What was decided about a job stays told when it no longer holds, and what each revision did is kept with it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "rpc/archived_jobs.h"

namespace coilwright::calls {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

class JobDecisions : public ArchivedJobs {
 protected:
  v1::GetJobResponse Got(const std::string& name = "jobs/7114") {
    v1::GetJobRequest request;
    request.set_name(name);
    return Ok(&rpc::GetJob, request);
  }
  std::vector<std::string> Did(const std::string& name = "jobs/7114") {
    v1::ListJobRevisionsRequest request;
    request.set_name(name);
    const auto all = Ok(&rpc::ListJobRevisions, request);
    std::vector<std::string> did;
    for (const v1::Revision& revision : all.revisions()) did.insert(did.begin(), revision.what());
    return did;
  }
  void Correct(const char* title) {
    auto update = Parse<v1::UpdateWindingRequest>(
        R"(winding { name: "windings/seamer" revision { recorded_by: "B." reason: "recounted" } }
           update_mask { paths: "record.title" })");
    update.mutable_winding()->mutable_record()->set_title(title);
    v1::GetWindingRequest get;
    get.set_name("windings/seamer");
    update.mutable_winding()->mutable_revision()->set_etag(Ok(&rpc::GetWinding, get).winding().revision().etag());
    Ok(&rpc::UpdateWinding, update);
  }
  v1::UpdateJobRequest Update(const v1::Job& job, const char* path) {
    v1::UpdateJobRequest update;
    update.mutable_job()->set_name(job.name());
    update.mutable_job()->mutable_revision()->set_etag(job.revision().etag());
    update.mutable_job()->mutable_revision()->set_recorded_by("A. Winder");
    update.mutable_update_mask()->add_paths(path);
    return update;
  }
};

TEST_F(JobDecisions, EachRevisionSaysWhatItDid) {
  Job();
  v1::ReachStageRequest reach;
  reach.set_name("jobs/7114");
  reach.set_etag(Now().revision().etag());
  reach.set_stage(v1::STAGE_AS_RECEIVED);
  reach.set_recorded_by("A. Winder");
  Ok(&rpc::ReachStage, reach);
  Ok(&rpc::ChoosePlan, Choose(Now()));
  auto title = Update(Now(), "title");
  title.mutable_job()->set_title("seamer");
  Ok(&rpc::UpdateJob, title);
  KeepForTest(archive(), "other", DemoRecord());
  auto winding = Update(Now(), "winding");
  winding.mutable_job()->set_winding("windings/other");
  Ok(&rpc::UpdateJob, winding);
  v1::DeleteJobRequest mark;
  mark.set_name("jobs/7114");
  mark.set_etag(Now().revision().etag());
  mark.set_recorded_by("A. Winder");
  v1::UndeleteJobRequest back;
  back.set_name("jobs/7114");
  back.set_etag(Ok(&rpc::DeleteJob, mark).job().revision().etag());
  back.set_recorded_by("A. Winder");
  auto sign = SignOff(Ok(&rpc::UndeleteJob, back).job());
  sign.set_despite_verdict("for scrap");
  Ok(&rpc::SignOffJob, sign);
  EXPECT_THAT(Did(), ElementsAre("opened", "stage as received", "plan chosen: way 1", "changed: title",
                                 "changed: winding; plan taken off", "set aside", "brought back", "released"));
  // Of a winding too; and nobody else can say what a revision did.
  auto create = Parse<v1::CreateWindingRequest>(R"(winding_id: "w" recorded_by: "A." record { title: "card" })");
  EXPECT_EQ(Ok(&rpc::CreateWinding, create).winding().revision().what(), "recorded");
  auto lie = Parse<v1::CreateJobRequest>(
      R"(job { winding: "windings/w" revision { what: "released" } } job_id: "lie" recorded_by: "A.")");
  EXPECT_EQ(Ok(&rpc::CreateJob, lie).job().revision().what(), "opened");
}

TEST_F(JobDecisions, APlanOfAnEarlierRevisionOfItsWindingIsTold) {
  Job();
  const auto chosen = Ok(&rpc::ChoosePlan, Choose(Now()));
  EXPECT_THAT(chosen.cautions(), IsEmpty());
  EXPECT_EQ(Got().latest_winding_revision(), 1);
  EXPECT_THAT(Got().cautions(), IsEmpty());
  Correct("corrected");
  const v1::GetJobResponse got = Got();
  EXPECT_EQ(got.latest_winding_revision(), 2);
  EXPECT_THAT(got.cautions(), ElementsAre(HasSubstr("revision 1 of windings/seamer, which is at revision 2 now")));
  v1::GetJobRequest earlier;
  earlier.set_name("jobs/7114");
  earlier.set_revision(1);
  EXPECT_FALSE(Ok(&rpc::GetJob, earlier).has_latest_winding_revision()) << "an earlier revision is as it was";
  earlier.set_revision(2);
  EXPECT_EQ(Ok(&rpc::GetJob, earlier).latest_winding_revision(), 2);
  EXPECT_THAT(Ok(&rpc::ChoosePlan, Choose(Now())).cautions(), IsEmpty()) << "chosen again";
  EXPECT_THAT(Got().cautions(), IsEmpty());
}

TEST_F(JobDecisions, APlanDespiteItsCheckIsTold) {
  v1::WindingRecord slip = DemoRecord();
  slip.mutable_winding()->set_connection(v1::CONNECTION_DELTA);
  KeepForTest(archive(), "slip", slip);
  auto create = Parse<v1::CreateJobRequest>(R"(job { winding: "windings/slip" } job_id: "slip" recorded_by: "A.")");
  v1::ChoosePlanRequest choose = Choose(Ok(&rpc::CreateJob, create).job());
  choose.set_despite_check("the customer's own drawing says so");
  const auto told = ElementsAre(HasSubstr("did not find the record sound: the customer's own drawing says so"));
  EXPECT_THAT(Ok(&rpc::ChoosePlan, choose).cautions(), told);
  EXPECT_THAT(Got("jobs/slip").cautions(), told);
}

TEST_F(JobDecisions, WhatIsReadAfterAReleaseIsTold) {
  FanJob();
  Ok(&rpc::AddReadings, Sound("jobs/7114"));
  Ok(&rpc::SignOffJob, SignOff(Now()));
  EXPECT_THAT(Got().later_readings(), IsEmpty());
  EXPECT_THAT(Got().cautions(), IsEmpty());
  const auto slip = Ok(&rpc::AddReadings, MegohmsOf("jobs/7114", 2021, 800)).readings();
  ASSERT_THAT(Got().later_readings(), SizeIs(1));
  EXPECT_THAT(Got().cautions(), ElementsAre(HasSubstr("not part of what it rests on")));
  // What others stand for is not shown; a fault is, loudly.
  auto fault = MegohmsOf("jobs/7114", 2021, 0.01);
  fault.set_replaces(slip.name());
  fault.set_note("read on the wrong range");
  fault.set_taken_day_only(true);
  const auto kept = Ok(&rpc::AddReadings, fault).readings();
  ASSERT_GE(kept.verdicts().verdict(), v1::WINDING_VERDICT_DRY_OUT) << kept.ShortDebugString();
  const v1::GetJobResponse got = Got();
  ASSERT_THAT(got.later_readings(), SizeIs(1));
  EXPECT_EQ(got.later_readings(0).readings(), kept.name());
  EXPECT_EQ(got.later_readings(0).stage(), v1::STAGE_IN_SERVICE);
  EXPECT_EQ(got.later_readings(0).verdict(), kept.verdicts().verdict());
  EXPECT_EQ(got.later_readings(0).summary(), kept.verdicts().summary());
  EXPECT_TRUE(got.later_readings(0).taken_day_only());
  EXPECT_THAT(got.cautions(), Contains(HasSubstr(kept.name() + " found: " + kept.verdicts().summary())));
}

TEST_F(JobDecisions, AReleaseAgainNeedsSomethingReadOrAReason) {
  FanJob();
  auto sound = Sound("jobs/7114");
  sound.mutable_taken_time()->set_seconds(1600000000);
  Ok(&rpc::AddReadings, sound);
  Ok(&rpc::SignOffJob, SignOff(Now()));
  const absl::Status again = Fails(&rpc::SignOffJob, SignOff(Now()));
  EXPECT_EQ(again.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(again.message()), HasSubstr("released by C. Inspector and nothing was read since"));
  auto despite = SignOff(Now());
  despite.set_despite_verdict("the first paper was lost");
  EXPECT_EQ(Ok(&rpc::SignOffJob, despite).job().sign_offs(1).verdict(), v1::WINDING_VERDICT_SOUND);
  // A fault read later, in service, outweighs what was read of the assembled machine; entered later but read earlier it
  // does not.
  auto before = MegohmsOf("jobs/7114", 2019, 0.01);
  Ok(&rpc::AddReadings, before);
  Ok(&rpc::SignOffJob, SignOff(Now()));
  const auto fault = Ok(&rpc::AddReadings, MegohmsOf("jobs/7114", 2021, 0.01)).readings();
  EXPECT_THAT(std::string(Fails(&rpc::SignOffJob, SignOff(Now())).message()),
              HasSubstr(fault.name() + ", taken after jobs/7114/readings/1, found: "));
  sound.clear_taken_time();
  Ok(&rpc::AddReadings, sound);
  EXPECT_EQ(Ok(&rpc::SignOffJob, SignOff(Now())).job().sign_offs_size(), 4);
}

TEST_F(JobDecisions, ReadingsStandForOthersOfTheirStageOnceAndForAReason) {
  FanJob();
  const auto first = Ok(&rpc::AddReadings, MegohmsOf("jobs/7114", 2020, 100)).readings();
  auto again = MegohmsOf("jobs/7114", 2020, 110);
  again.set_replaces(first.name());
  EXPECT_THAT(Refused(&rpc::AddReadings, again), ElementsAre("note"));
  again.set_note("the lead was loose");
  auto other = again;
  other.mutable_readings()->set_stage(v1::STAGE_AS_RECEIVED);
  const absl::Status stage = Fails(&rpc::AddReadings, other);
  EXPECT_EQ(stage.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(stage.message(), "jobs/7114/readings/1 is of stage in service, these are of as received");
  const auto second = Ok(&rpc::AddReadings, again).readings();
  const absl::Status twice = Fails(&rpc::AddReadings, again);
  EXPECT_EQ(twice.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(twice.message()), HasSubstr(second.name() + " stands for " + first.name() + " already"));
  again.set_replaces(second.name());
  Ok(&rpc::AddReadings, again);
}

TEST_F(JobDecisions, DaysAreKeptAsDaysAndImpossibleOnesRefused) {
  constexpr int64_t k1995 = 800000000, k1880 = -2840000000;  // 1995-05-09, 1880-01-03
  auto create = Parse<v1::CreateJobRequest>(R"(job_id: "d" recorded_by: "A.")");
  *create.mutable_job()->mutable_machine() = DemoRecord().machine();
  create.mutable_job()->mutable_machine()->mutable_nameplate()->set_built_year(1996);
  create.mutable_job()->mutable_opened_time()->set_seconds(k1995);
  EXPECT_THAT(Refused(&rpc::CreateJob, create), ElementsAre("job.opened_time.seconds"));
  create.mutable_job()->mutable_opened_time()->set_nanos(-1);
  EXPECT_THAT(Refused(&rpc::CreateJob, create), ElementsAre("job.opened_time.nanos")) << "once";
  create.mutable_job()->mutable_opened_time()->clear_nanos();
  create.mutable_job()->mutable_machine()->mutable_nameplate()->set_built_year(1995);
  const v1::Job job = Ok(&rpc::CreateJob, create).job();
  EXPECT_EQ(job.opened_time().seconds(), k1995);
  v1::ListJobsRequest list;
  EXPECT_EQ(Ok(&rpc::ListJobs, list).jobs(0).opened_time().seconds(), k1995);
  auto update = Update(job, "opened_time");
  update.mutable_job()->mutable_opened_time()->set_seconds(k1995 - 366 * 86400);
  EXPECT_THAT(Refused(&rpc::UpdateJob, update), ElementsAre("job.opened_time.seconds"));
  update.mutable_job()->mutable_opened_time()->set_seconds(k1995 + 1);
  EXPECT_EQ(Ok(&rpc::UpdateJob, update).job().opened_time().seconds(), k1995 + 1);
  v1::ReachStageRequest reach;
  reach.set_name("jobs/d");
  reach.set_etag(Now("jobs/d").revision().etag());
  reach.set_stage(v1::STAGE_AS_RECEIVED);
  reach.set_recorded_by("A. Winder");
  reach.set_day_only(true);
  reach.mutable_time()->set_seconds(k1995 - 366 * 86400);
  EXPECT_THAT(Refused(&rpc::ReachStage, reach), ElementsAre("time.seconds"));
  reach.mutable_time()->set_seconds(k1995);
  EXPECT_TRUE(Ok(&rpc::ReachStage, reach).job().stages(0).day_only());
  reach.set_etag(Now("jobs/d").revision().etag());
  reach.clear_time();
  EXPECT_FALSE(Ok(&rpc::ReachStage, reach).job().stages(1).day_only()) << "now is no day alone";
  auto readings = MegohmsOf("jobs/d", 2020, 100);
  readings.mutable_taken_time()->set_seconds(k1880);
  EXPECT_THAT(Refused(&rpc::AddReadings, readings), ElementsAre("taken_time.seconds"));
  readings.mutable_taken_time()->set_seconds(k1995 - 366 * 86400);
  EXPECT_THAT(Refused(&rpc::AddReadings, readings), ElementsAre("taken_time.seconds"));
  auto winding = Parse<v1::CreateWindingRequest>(R"(recorded_by: "A." record { title: "card" })");
  winding.mutable_taken_down_time()->set_seconds(k1880);
  EXPECT_THAT(Refused(&rpc::CreateWinding, winding), ElementsAre("taken_down_time.seconds"));
  winding.mutable_taken_down_time()->set_seconds(k1995);
  const auto name = Ok(&rpc::CreateWinding, winding).winding().name();
  v1::ListWindingsRequest windings;
  EXPECT_EQ(Ok(&rpc::ListWindings, windings).windings(0).taken_down_time().seconds(), k1995);
}

// The demo record as if 1 ohm had been read between every two leads at 20 C. The width of the band is tested with
// ExpectedAsMeasured; here readings lie well inside and well outside of it.
class RecordedResistance : public JobDecisions {
 protected:
  RecordedResistance() {
    v1::WindingRecord record = DemoRecord();
    record.mutable_measured()->mutable_resistance()->CopyFrom(Parse<v1::LineToLineResistance>(
        R"(u_v_ohms: 1 v_w_ohms: 1 w_u_ohms: 1 winding_temperature { celsius: 20 }
           temperature_evidence: TEMPERATURE_EVIDENCE_SENSOR)"));
    record.mutable_machine()->mutable_nameplate()->set_serial_text("R 1");
    KeepForTest(archive(), "measured", record);
  }
  v1::Job Open(const std::string& id, const std::string& serial) {
    auto create = Parse<v1::CreateJobRequest>(R"(job { winding: "windings/measured" } recorded_by: "A. Winder")");
    create.set_job_id(id);
    *create.mutable_job()->mutable_machine() = DemoRecord().machine();
    create.mutable_job()->mutable_machine()->mutable_nameplate()->set_serial_text(serial);
    return Ok(&rpc::CreateJob, create).job();
  }
  v1::JobReadings Read(const std::string& id, double ohms, v1::Stage stage = v1::STAGE_AS_RECEIVED) {
    auto request = Parse<v1::AddReadingsRequest>(
        R"(readings { readings { resistance { line_to_line { winding_temperature { celsius: 20 }
                                                              temperature_evidence: TEMPERATURE_EVIDENCE_SENSOR } } } })");
    request.set_job("jobs/" + id);
    request.mutable_readings()->set_stage(stage);
    auto* line = request.mutable_readings()->mutable_readings(0)->mutable_resistance()->mutable_line_to_line();
    line->set_u_v_ohms(ohms);
    line->set_v_w_ohms(ohms);
    line->set_w_u_ohms(ohms);
    return Ok(&rpc::AddReadings, request).readings();
  }
  void Wind(const std::string& id) {
    v1::ReachStageRequest reach;
    reach.set_name("jobs/" + id);
    reach.set_etag(Now("jobs/" + id).revision().etag());
    reach.set_stage(v1::STAGE_WOUND_BEFORE_TREATMENT);
    reach.set_recorded_by("A. Winder");
    Ok(&rpc::ReachStage, reach);
  }
  static std::string Reason(const v1::JobReadings& readings) {
    for (const v1::JudgedTest& test : readings.verdicts().tests()) {
      if (test.reason().find("recorded") != std::string::npos) return test.reason();
    }
    return "";
  }
};

TEST_F(RecordedResistance, IsWhatAReadingWithoutAPlanIsHeldAgainst) {
  Open("same", "r1");
  const auto as_it_was = Read("same", 1.002);
  EXPECT_TRUE(as_it_was.request().expected_as_measured());
  EXPECT_EQ(as_it_was.request().expected_line_to_line_ohms().nominal(), 1);
  EXPECT_EQ(Reason(as_it_was), "as it was recorded");
  EXPECT_THAT(Reason(Read("same", 1.2)), HasSubstr("1.2 times what was recorded of this winding"));
  EXPECT_THAT(Reason(Read("same", 0.9, v1::STAGE_ASSEMBLED)), HasSubstr("0.9 times"));
  EXPECT_FALSE(Read("same", 1, v1::STAGE_TREATED).request().expected_as_measured());
  // Another machine of that winding: wire and mean turn may differ by 5 %, and the reading is taken as good.
  Open("another", "R 2");
  EXPECT_THAT(Reason(Read("same", 1.04)), HasSubstr("times what was recorded"));
  EXPECT_EQ(Reason(Read("another", 1.04)), "as it was recorded");
}

TEST_F(RecordedResistance, IsNotHeldAgainstAnotherWinding) {
  Open("rewound", "R 1");
  Open("later", "R 1");
  Open("planned", "R 3");
  EXPECT_TRUE(Read("later", 1).request().expected_as_measured());
  Wind("rewound");
  EXPECT_FALSE(Read("rewound", 1, v1::STAGE_ASSEMBLED).request().has_expected_line_to_line_ohms());
  EXPECT_FALSE(Read("later", 1).request().has_expected_line_to_line_ohms()) << "another job rewound this machine";
  EXPECT_TRUE(Read("planned", 1).request().expected_as_measured()) << "and not that one";
  auto choose = Choose(Now("jobs/planned"));
  choose.set_despite_check("as measured for the test");
  Ok(&rpc::ChoosePlan, choose);
  EXPECT_FALSE(Read("planned", 1).request().expected_as_measured());
  // A figure that nobody read.
  v1::WindingRecord guess = DemoRecord();
  auto* evidence = guess.add_evidence();
  evidence->set_field("measured.resistance.u_v_ohms");
  evidence->set_evidence(v1::EVIDENCE_ESTIMATED);
  KeepForTest(archive(), "guess", guess);
  auto create = Parse<v1::CreateJobRequest>(R"(job { winding: "windings/guess" } job_id: "g" recorded_by: "A.")");
  Ok(&rpc::CreateJob, create);
  EXPECT_FALSE(Read("g", 1).request().has_expected_line_to_line_ohms());
}

}  // namespace
}  // namespace coilwright::calls
