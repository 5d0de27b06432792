// Jobs in the archive: stages, the plan chosen, readings kept with their verdicts, and the release.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "rpc/archived_jobs.h"

namespace coilwright::calls {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

TEST_F(ArchivedJobs, TakeTheirMachineFromTheWinding) {
  const v1::Job job = Job();
  EXPECT_EQ(job.machine().SerializeAsString(), DemoRecord().machine().SerializeAsString());
  EXPECT_EQ(Now().SerializeAsString(), job.SerializeAsString());
  auto request = Parse<v1::CreateJobRequest>(R"(job { winding: "windings/none" } recorded_by: "A. Winder")");
  EXPECT_EQ(Fails(&rpc::CreateJob, request).code(), absl::StatusCode::kNotFound);
  request.mutable_job()->clear_winding();
  EXPECT_THAT(Refused(&rpc::CreateJob, request), ElementsAre("job.machine"));
  request.mutable_job()->mutable_machine()->mutable_core()->set_slots(1);
  request.mutable_job()->add_stages()->set_stage(v1::STAGE_TREATED);
  request.mutable_job()->mutable_plan();
  request.mutable_job()->add_sign_offs()->set_person("nobody");
  EXPECT_THAT(Refused(&rpc::CreateJob, request),
              ElementsAre("job.machine.core.slots", "job.stages", "job.plan", "job.sign_offs"));
}

TEST_F(ArchivedJobs, ListsShowPlateAndStageOfWhatFits) {
  v1::ReachStageRequest reach;
  const v1::Job first = Job("a"), second = Job("b");
  reach.set_name(second.name());
  reach.set_etag(second.revision().etag());
  reach.set_stage(v1::STAGE_AS_RECEIVED);
  reach.set_recorded_by("A. Winder");
  const v1::Job reached = Ok(&rpc::ReachStage, reach).job();
  ASSERT_EQ(reached.stages_size(), 1);
  EXPECT_EQ(reached.stages(0).by(), "A. Winder");
  EXPECT_NEAR(static_cast<double>(reached.stages(0).time().seconds()), static_cast<double>(time(nullptr)), 60);
  v1::ListJobsRequest list;
  list.set_winding("windings/seamer");
  const auto all = Ok(&rpc::ListJobs, list);
  ASSERT_EQ(all.jobs_size(), 2);
  EXPECT_EQ(all.jobs(0).name(), "jobs/b") << "newest first";
  EXPECT_EQ(all.jobs(0).machine().nameplate().serial_text(), "0417");
  EXPECT_FALSE(all.jobs(0).machine().has_core());
  list.set_stage(v1::STAGE_AS_RECEIVED);
  EXPECT_EQ(Ok(&rpc::ListJobs, list).jobs_size(), 1);
  list.set_stage(v1::STAGE_TREATED);
  EXPECT_EQ(Ok(&rpc::ListJobs, list).jobs_size(), 0);
  list.Clear();
  list.set_text("BRACKW");
  EXPECT_EQ(Ok(&rpc::ListJobs, list).jobs_size(), 2);
}

TEST_F(ArchivedJobs, KeepTheWayChosenAsThePlanAnsweredIt) {
  const v1::Job job = Job();
  v1::ChoosePlanRequest choose = Choose(job);
  choose.set_way(2);
  choose.mutable_change()->set_rated_volts(200);
  const v1::ChosenPlan plan = Ok(&rpc::ChoosePlan, choose).job().plan();
  v1::PlanRewindRequest ask;
  *ask.mutable_record() = DemoRecord();
  *ask.mutable_change() = choose.change();
  *ask.mutable_wires() = choose.wires();
  v1::PlanRewindResponse planned;
  ASSERT_TRUE(rpc::PlanRewind(ask, &planned).ok());
  EXPECT_EQ(plan.option().SerializeAsString(), planned.options(1).SerializeAsString());
  EXPECT_EQ(plan.turns().SerializeAsString(), planned.turns().SerializeAsString());
  EXPECT_EQ(plan.winding_revision(), 1);
  EXPECT_EQ(plan.chosen_by(), "A. Winder");
  EXPECT_FALSE(plan.request().has_record());
  EXPECT_EQ(plan.request().change().rated_volts(), 200);
  choose = Choose(Now());
  choose.set_way(4);
  EXPECT_THAT(Refused(&rpc::ChoosePlan, choose), ElementsAre("way"));
  choose.clear_way();
  choose.mutable_settings()->set_waste_share(3);
  EXPECT_THAT(Refused(&rpc::ChoosePlan, choose), ElementsAre("settings.waste_share"));
}

TEST_F(ArchivedJobs, ARecordThatIsNotSoundIsWoundOnlyForAReason) {
  v1::WindingRecord slip = DemoRecord();
  slip.mutable_winding()->set_connection(v1::CONNECTION_DELTA);
  const auto kept = KeepForTest(archive(), "slip", slip);
  ASSERT_NE(kept.check().verdict(), v1::CHECK_VERDICT_SOUND);
  auto create = Parse<v1::CreateJobRequest>(R"(job { winding: "windings/slip" } job_id: "slip" recorded_by: "A.")");
  const v1::Job job = Ok(&rpc::CreateJob, create).job();
  v1::ChoosePlanRequest choose = Choose(job);
  const absl::Status refused = Fails(&rpc::ChoosePlan, choose);
  EXPECT_EQ(refused.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(refused.message()), HasSubstr("despite_check"));
  choose.set_despite_check("the customer's own drawing says so");
  const v1::Job chosen = Ok(&rpc::ChoosePlan, choose).job();
  EXPECT_EQ(chosen.plan().despite_check(), "the customer's own drawing says so");
  EXPECT_EQ(chosen.revision().reason(), "the customer's own drawing says so");
  // A record that cannot be planned at all is no wrong field of this call.
  KeepForTest(archive(), "card", Parse<v1::WindingRecord>(R"(title: "card 12")"));
  create = Parse<v1::CreateJobRequest>(R"(job { winding: "windings/card" } job_id: "card" recorded_by: "A.")");
  EXPECT_EQ(Fails(&rpc::ChoosePlan, Choose(Ok(&rpc::CreateJob, create).job())).code(),
            absl::StatusCode::kFailedPrecondition);
  create = Parse<v1::CreateJobRequest>(R"(job { machine { potted: true } } job_id: "bare" recorded_by: "A.")");
  EXPECT_THAT(std::string(Fails(&rpc::ChoosePlan, Choose(Ok(&rpc::CreateJob, create).job())).message()),
              HasSubstr("no recorded winding"));
}

TEST_F(ArchivedJobs, AnotherWindingTakesThePlanOff) {
  KeepForTest(archive(), "other", DemoRecord());
  const v1::Job chosen = Ok(&rpc::ChoosePlan, Choose(Job())).job();
  auto update = Parse<v1::UpdateJobRequest>(
      R"(job { name: "jobs/7114" winding: "windings/other" revision { recorded_by: "A. Winder" } }
         update_mask { paths: "winding" })");
  update.mutable_job()->mutable_revision()->set_etag(chosen.revision().etag());
  EXPECT_FALSE(Ok(&rpc::UpdateJob, update).job().has_plan());
  update.mutable_update_mask()->add_paths("stages");
  update.mutable_update_mask()->add_paths("plan.way");
  EXPECT_THAT(Refused(&rpc::UpdateJob, update), ElementsAre("update_mask.paths[1]", "update_mask.paths[2]"));
}

TEST_F(ArchivedJobs, ReadingsAreJudgedAsOfTheJobAndNumberedWithoutGaps) {
  Job();
  auto readings = Parse<v1::AddReadingsRequest>(
      R"(job: "jobs/7114" taken_by: "B. Tester" taken_time { seconds: 1600000000 }
         readings { stage: STAGE_AS_RECEIVED
                    readings { megohms { insulation_megohms: 40 winding_temperature { celsius: 25 } } } })");
  const auto kept = Ok(&rpc::AddReadings, readings).readings();
  EXPECT_EQ(kept.name(), "jobs/7114/readings/1");
  v1::JudgeReadingsRequest as_of_the_job = readings.readings();
  *as_of_the_job.mutable_machine() = DemoRecord().machine();
  *as_of_the_job.mutable_winding() = DemoRecord().winding();
  EXPECT_EQ(kept.request().SerializeAsString(), as_of_the_job.SerializeAsString());
  v1::JudgeReadingsResponse judged;
  ASSERT_TRUE(rpc::JudgeReadings(as_of_the_job, &judged).ok());
  EXPECT_EQ(kept.verdicts().SerializeAsString(), judged.SerializeAsString());
  EXPECT_EQ(kept.taken_time().seconds(), 1600000000);
  for (int number = 2; number < 5; ++number)
    EXPECT_EQ(Ok(&rpc::AddReadings, readings).readings().name(), absl::StrCat("jobs/7114/readings/", number));
  // In the order they came in, over pages.
  v1::ListReadingsRequest list;
  list.set_job("jobs/7114");
  list.set_page_size(3);
  auto page = Ok(&rpc::ListReadings, list);
  ASSERT_EQ(page.readings_size(), 3);
  EXPECT_EQ(page.readings(0).SerializeAsString(), kept.SerializeAsString());
  list.set_page_token(page.next_page_token());
  page = Ok(&rpc::ListReadings, list);
  ASSERT_EQ(page.readings_size(), 1);
  EXPECT_EQ(page.readings(0).name(), "jobs/7114/readings/4");
  EXPECT_EQ(page.next_page_token(), "");
}

// A machine wound for another voltage is tested at that voltage, against the resistance of its plan.
TEST_F(ArchivedJobs, ReadingsOfTheNewWindingAreHeldAgainstThePlan) {
  v1::ChoosePlanRequest choose = Choose(Job());
  choose.mutable_change()->set_rated_volts(380);
  choose.mutable_change()->set_connection(v1::CONNECTION_DELTA);
  const v1::ChosenPlan plan = Ok(&rpc::ChoosePlan, choose).job().plan();
  auto readings = Parse<v1::AddReadingsRequest>(
      R"(job: "jobs/7114"
         readings { stage: STAGE_TREATED rotor_fitted: false
                    readings { megohms { insulation_megohms: 900 winding_temperature { celsius: 25 } } } })");
  const auto kept = Ok(&rpc::AddReadings, readings).readings().request();
  EXPECT_EQ(kept.machine().nameplate().rated_volts(), 380);
  EXPECT_EQ(kept.winding().connection(), v1::CONNECTION_DELTA);
  EXPECT_EQ(kept.winding().turns_per_coil(), plan.turns().turns_per_coil());
  EXPECT_EQ(kept.expected_line_to_line_ohms().SerializeAsString(),
            plan.option().resistance(0).at_terminals_ohms().SerializeAsString())
      << "the limit that the sheet gives";
  EXPECT_EQ(plan.option().resistance(0).winding_celsius(), 20);
  // As received it is still the old one.
  readings.mutable_readings()->set_stage(v1::STAGE_AS_RECEIVED);
  readings.mutable_readings()->clear_rotor_fitted();
  const auto before = Ok(&rpc::AddReadings, readings).readings().request();
  EXPECT_EQ(before.machine().nameplate().rated_volts(), 190);
  EXPECT_FALSE(before.has_expected_line_to_line_ohms());
}

TEST_F(ArchivedJobs, ReadingsThatCannotBeJudgedAreKeptAndTyposAreNot) {
  auto create = Parse<v1::CreateJobRequest>(R"(job { machine { potted: true } } job_id: "bare" recorded_by: "A.")");
  Ok(&rpc::CreateJob, create);
  auto readings = Parse<v1::AddReadingsRequest>(
      R"(job: "jobs/bare"
         readings { stage: STAGE_AS_RECEIVED
                    readings { megohms { insulation_megohms: 40 winding_temperature { celsius: 25 } } } })");
  const auto kept = Ok(&rpc::AddReadings, readings).readings();
  EXPECT_FALSE(kept.has_verdicts());
  EXPECT_THAT(kept.judging_refused().message(), HasSubstr("rated_volts"));
  EXPECT_GT(kept.taken_time().seconds(), 1700000000) << "when they came in";
  readings.mutable_readings()->mutable_readings(0)->mutable_megohms()->set_insulation_megohms(-40);
  readings.mutable_readings()->add_readings()->set_label("nothing in it");
  readings.mutable_readings()->clear_stage();
  readings.set_replaces("jobs/other/readings/1");
  EXPECT_THAT(Refused(&rpc::AddReadings, readings),
              ::testing::UnorderedElementsAre("readings.stage", "readings.readings[0].megohms.insulation_megohms",
                                              "readings.readings[1].resistance", "replaces", "note"));
  readings = MegohmsOf("jobs/bare", 2020, 100);
  readings.set_replaces("jobs/bare/readings/9");
  readings.set_note("a slip of the pen");
  EXPECT_EQ(Fails(&rpc::AddReadings, readings).code(), absl::StatusCode::kNotFound);
  readings.set_job("jobs/none");
  readings.clear_replaces();
  EXPECT_EQ(Fails(&rpc::AddReadings, readings).code(), absl::StatusCode::kNotFound);
}

TEST_F(ArchivedJobs, AreReleasedOnASoundVerdictOrForAReason) {
  v1::SignOffJobRequest sign = SignOff(FanJob());
  EXPECT_THAT(std::string(Fails(&rpc::SignOffJob, sign).message()), HasSubstr("no readings of the assembled machine"));
  // Readings of another stage, and ones without a turn test, do not carry a release.
  Ok(&rpc::AddReadings, MegohmsOf("jobs/7114", 2020, 900));
  auto no_surge = Sound("jobs/7114");
  no_surge.mutable_readings()->mutable_readings()->RemoveLast();
  Ok(&rpc::AddReadings, no_surge);
  const absl::Status refused = Fails(&rpc::SignOffJob, sign);
  EXPECT_EQ(refused.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(refused.message()), HasSubstr(" is no fault found turns not tested: "));
  sign.set_despite_verdict("the surge tester is away for calibration");
  v1::Job job = Ok(&rpc::SignOffJob, sign).job();
  ASSERT_EQ(job.sign_offs_size(), 1);
  EXPECT_EQ(job.sign_offs(0).verdict(), v1::WINDING_VERDICT_NO_FAULT_FOUND_TURNS_NOT_TESTED);
  EXPECT_EQ(job.sign_offs(0).despite_verdict(), "the surge tester is away for calibration");
  EXPECT_EQ(job.sign_offs(0).readings(), "jobs/7114/readings/2");

  const auto sound = Ok(&rpc::AddReadings, Sound("jobs/7114")).readings();
  ASSERT_EQ(sound.verdicts().verdict(), v1::WINDING_VERDICT_SOUND) << sound.verdicts().ShortDebugString();
  job = Ok(&rpc::SignOffJob, SignOff(job)).job();
  ASSERT_EQ(job.sign_offs_size(), 2);
  EXPECT_EQ(job.sign_offs(1).person(), "C. Inspector");
  EXPECT_EQ(job.sign_offs(1).verdict(), v1::WINDING_VERDICT_SOUND);
  EXPECT_EQ(job.sign_offs(1).readings(), sound.name());
  EXPECT_EQ(job.sign_offs(1).despite_verdict(), "");
  EXPECT_EQ(job.revision().recorded_by(), "C. Inspector");
  // Taken earlier and entered later: not the latest. Taken again: they stand for the sound ones, which count no more.
  auto earlier = no_surge;
  earlier.mutable_taken_time()->set_seconds(1500000000);
  Ok(&rpc::AddReadings, earlier);
  job = Ok(&rpc::SignOffJob, SignOff(job)).job();
  EXPECT_EQ(job.sign_offs(2).readings(), sound.name());
  earlier.set_replaces(sound.name());
  earlier.set_note("the surge leads were on another machine");
  Ok(&rpc::AddReadings, earlier);
  EXPECT_EQ(Fails(&rpc::SignOffJob, SignOff(job)).code(), absl::StatusCode::kFailedPrecondition);
}

TEST_F(ArchivedJobs, ReadingsOfAnotherMachineAreRefused) {
  FanJob();
  auto readings = Sound("jobs/7114");
  v1::Machine* machine = readings.mutable_readings()->mutable_machine();
  machine->mutable_nameplate()->set_serial_text("hl3000");
  Ok(&rpc::AddReadings, readings);
  machine->set_kind(v1::MACHINE_KIND_PERMANENT_MAGNET);
  machine->mutable_nameplate()->set_serial_text("ANOTHER-77");
  machine->mutable_nameplate()->set_rated_volts(190);
  machine->mutable_nameplate()->clear_poles();
  machine->mutable_nameplate()->set_pole_pairs(4);
  EXPECT_THAT(Refused(&rpc::AddReadings, readings),
              ::testing::UnorderedElementsAre("readings.machine.kind", "readings.machine.nameplate.serial_text",
                                              "readings.machine.nameplate.pole_pairs",
                                              "readings.machine.nameplate.rated_volts"));
  EXPECT_EQ(archive().LastSequence().value(), 3) << "winding, job, and the readings of its own machine";
}

TEST_F(ArchivedJobs, AReleaseNeedsANameAndAQualification) {
  Job();
  auto sign = SignOff(Now());
  sign.clear_person();
  sign.set_qualification("  ");
  sign.set_despite_verdict("in a hurry");
  EXPECT_THAT(Refused(&rpc::SignOffJob, sign), ElementsAre("person", "qualification"));
}

}  // namespace
}  // namespace coilwright::calls
