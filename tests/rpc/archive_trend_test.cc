// What an archive answers over many jobs and windings: the trend of one machine's megohms, and the windings nearest to
// a burnt stator.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "calls/own_archive.h"
#include "calls/walk.h"
#include "rpc/status.h"

namespace coilwright::calls {
namespace {

using ::testing::Each;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

constexpr double kSecondsPerYear = 365.2425 * 86400;

class MegohmTrend : public OwnArchive {
 protected:
  void Job(const std::string& id, const std::string& serial, const std::string& maker = "") {
    v1::CreateJobRequest request;
    *request.mutable_job()->mutable_machine() = DemoRecord().machine();
    request.mutable_job()->mutable_machine()->mutable_nameplate()->set_serial_text(serial);
    request.mutable_job()->mutable_machine()->mutable_nameplate()->set_maker_text(maker);
    request.set_job_id(id);
    request.set_recorded_by("A. Winder");
    Ok(&rpc::CreateJob, request);
  }
  v1::JobReadings Read(const std::string& job, int year, double megohms, const std::string& replaces = "") {
    auto request = MegohmsOf("jobs/" + job, year, megohms);
    request.set_replaces(replaces);
    if (!replaces.empty()) request.set_note("a slip of the pen");
    return Ok(&rpc::AddReadings, request).readings();
  }
  v1::GetMegohmTrendResponse Trend(const std::string& request) {
    return Ok(&rpc::GetMegohmTrend, Parse<v1::GetMegohmTrendRequest>(request));
  }
};

// The maker is often not on the card; a plate of other poles or another kind tells the machines apart all the same.
TEST_F(MegohmTrend, TwoMachinesWithOneSerialNumberAreNotOneLine) {
  Job("servo", "0402");
  v1::CreateJobRequest fan;
  *fan.mutable_job()->mutable_machine() = Parse<v1::PlanRewindRequest>(kInduction).record().machine();
  fan.mutable_job()->mutable_machine()->mutable_nameplate()->set_serial_text("0402");
  fan.set_job_id("fan");
  fan.set_recorded_by("A. Winder");
  Ok(&rpc::CreateJob, fan);
  for (int year = 2015; year < 2018; ++year) {
    Read("servo", year, 900);
    Read("fan", year, 20);
  }
  for (const std::string job : {"servo", "fan"}) {
    const auto trend = Trend(absl::StrCat("job: \"jobs/", job, "\""));
    ASSERT_THAT(trend.points(), SizeIs(3));
    for (const auto& point : trend.points()) EXPECT_THAT(point.readings(), HasSubstr(job));
    EXPECT_THAT(trend.notes(), ::testing::Contains(HasSubstr(job == "fan" ? "jobs/servo" : "jobs/fan")));
  }
  EXPECT_THAT(Trend("serial_text: \"0402\"").points(), SizeIs(3)) << "the machine of the newest job";
}

// 900 megohms that fall to four tenths every year meet the 5 megohms of IEEE 43-2013 (random wound below 1 kV) after
// ln(180) / ln(2.5) = 5.667 years: a closed form.
TEST_F(MegohmTrend, FollowsOneMachineOverItsJobsToWhereItMeetsTheMinimum) {
  Job("old", "AB 0417");
  Job("new", "ab0417");
  Job("another", "AB 0418");
  for (int year = 0; year < 5; ++year) Read(year < 3 ? "old" : "new", 2015 + year, 900 * std::pow(0.4, year));
  Read("another", 2018, 0.1);
  const auto trend = Trend(R"(serial_text: "Ab04 17")");
  ASSERT_THAT(trend.points(), SizeIs(5));
  EXPECT_EQ(trend.points(0).readings(), "jobs/old/readings/1");
  EXPECT_EQ(trend.points(4).readings(), "jobs/new/readings/2");
  EXPECT_DOUBLE_EQ(trend.points(1).corrected_megohms_40c(), 360) << "read at 40 C";
  for (const auto& point : trend.points()) EXPECT_TRUE(point.fitted()) << point.reason();
  EXPECT_EQ(trend.minimum_megohms(), 5);
  EXPECT_EQ(trend.fit().points(), 5);
  EXPECT_NEAR(trend.fit().ratio_per_year().nominal(), 0.4, 1e-3) << "a year is given in whole seconds";
  EXPECT_NEAR(trend.fit().years(), 4, 1e-6);
  ASSERT_TRUE(trend.has_crossing()) << trend.no_forecast();
  const double meets =
      static_cast<double>(trend.points(0).taken_time().seconds()) + std::log(180) / std::log(2.5) * kSecondsPerYear;
  EXPECT_NEAR(static_cast<double>(trend.crossing().likeliest().seconds()), meets, 86400);
  EXPECT_LE(trend.crossing().earliest().seconds(), trend.crossing().likeliest().seconds());
  EXPECT_THAT(FaultsOf(trend), IsEmpty());
  EXPECT_EQ(Trend(R"(job: "jobs/new")").SerializeAsString(), trend.SerializeAsString());
  EXPECT_THAT(Trend(R"(job: "jobs/another")").points(), SizeIs(1));
}

TEST_F(MegohmTrend, LeavesOutWhatWasTakenAgainAndSaysWhyOfTheRest) {
  Job("7114", "0417");
  for (int year = 0; year < 4; ++year) Read("7114", 2015 + year, 400);
  const auto typo = Read("7114", 2019, 4);
  Read("7114", 2019, 400, typo.name());
  auto cold = MegohmsOf("jobs/7114", 2020, 400);
  cold.mutable_readings()->mutable_readings(0)->mutable_megohms()->mutable_winding_temperature()->set_celsius(5);
  Ok(&rpc::AddReadings, cold);
  const auto trend = Trend(R"(job: "jobs/7114")");
  ASSERT_THAT(trend.points(), SizeIs(6));
  for (const auto& point : trend.points()) EXPECT_NE(point.readings(), typo.name());
  EXPECT_FALSE(trend.points(5).fitted());
  EXPECT_THAT(trend.points(5).reason(), HasSubstr("10"));
  EXPECT_FALSE(trend.points(5).has_corrected_megohms_40c()) << "nothing is extrapolated";
  EXPECT_FALSE(trend.has_crossing()) << "it does not fall";
  EXPECT_NE(trend.no_forecast(), "");
  EXPECT_THAT(Trend(R"(job: "jobs/7114" stages: STAGE_IN_SERVICE)").points(), SizeIs(6));
  EXPECT_EQ(
      Fails(&rpc::GetMegohmTrend, Parse<v1::GetMegohmTrendRequest>(R"(job: "jobs/7114" stages: STAGE_TREATED)")).code(),
      absl::StatusCode::kFailedPrecondition);
}

// Three phases read on one day are one visit, in one set of readings or in three; as received and assembled on that day
// are two.
TEST_F(MegohmTrend, PhasesOfOneVisitAreOnePoint) {
  Job("7114", "0417");
  for (int year = 2015; year < 2017; ++year) {
    for (const double megohms : {400.0, 300.0, 350.0}) Read("7114", year, megohms);
  }
  auto trend = Trend(R"(job: "jobs/7114")");
  EXPECT_FALSE(trend.has_fit()) << "two visits and no line";
  ASSERT_THAT(trend.points(), SizeIs(6));
  EXPECT_TRUE(trend.points(1).fitted());
  EXPECT_THAT(trend.points(2).reason(), HasSubstr("visit"));
  auto one_set = MegohmsOf("jobs/7114", 2017, 280);
  *one_set.mutable_readings()->add_readings() = one_set.readings().readings(0);
  one_set.mutable_readings()->mutable_readings(1)->mutable_megohms()->set_insulation_megohms(240);
  Ok(&rpc::AddReadings, one_set);
  trend = Trend(R"(job: "jobs/7114")");
  EXPECT_EQ(trend.fit().points(), 3);
  EXPECT_THAT(trend.notes(), ::testing::Contains(HasSubstr("10 % is assumed")));
  // A stated uncertainty is taken as it is, and nothing is assumed.
  Job("stated", "0500");
  for (int year = 2015; year < 2018; ++year) {
    auto request = MegohmsOf("jobs/stated", year, 400);
    request.mutable_readings()->mutable_readings(0)->mutable_instrument()->set_uncertainty_ratio(0.02);
    Ok(&rpc::AddReadings, request);
  }
  trend = Trend(R"(job: "jobs/stated")");
  EXPECT_NEAR(std::log(trend.fit().scatter_ratio()), 0.01, 1e-9) << "half of what is stated (k = 2)";
  EXPECT_THAT(trend.notes(), Each(::testing::Not(HasSubstr("assumed"))));
}

TEST_F(MegohmTrend, AJobThatIsMarkedAsDeletedIsToldAndNotMissing) {
  Job("old", "0417");
  Job("new", "0417");
  Read("old", 2015, 400);
  Read("new", 2016, 390);
  const auto mark = [&](const std::string& job) {
    v1::GetJobRequest get;
    get.set_name(job);
    v1::DeleteJobRequest request;
    request.set_name(job);
    request.set_etag(Ok(&rpc::GetJob, get).job().revision().etag());
    request.set_recorded_by("A. Winder");
    Ok(&rpc::DeleteJob, request);
  };
  mark("jobs/old");
  const auto ask = Parse<v1::GetMegohmTrendRequest>(R"(job: "jobs/old")");
  EXPECT_EQ(Fails(&rpc::GetMegohmTrend, ask).message(), "jobs/old is marked as deleted: undelete it first");
  const auto trend = Trend(R"(job: "jobs/new")");
  EXPECT_THAT(trend.points(), SizeIs(1));
  EXPECT_THAT(trend.notes(), ::testing::Contains(HasSubstr("jobs/old is marked as deleted")));
  mark("jobs/new");
  const absl::Status refused = Fails(&rpc::GetMegohmTrend, Parse<v1::GetMegohmTrendRequest>(R"(serial_text: "0417")"));
  EXPECT_EQ(refused.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(refused.message()), HasSubstr("jobs/new is marked as deleted"));
}

// A rewind starts another line.
TEST_F(MegohmTrend, FollowsTheWindingThatIsInTheMachineNow) {
  Job("7114", "0417");
  Job("8200", "0417");
  const auto read = [&](const char* job, int year, double megohms, v1::Stage stage) {
    auto request = MegohmsOf(job, year, megohms);
    request.mutable_readings()->set_stage(stage);
    Ok(&rpc::AddReadings, request);
  };
  for (int year = 2010; year < 2014; ++year) read("jobs/7114", year, 40, v1::STAGE_IN_SERVICE);
  read("jobs/8200", 2014, 3, v1::STAGE_AS_RECEIVED);
  read("jobs/8200", 2015, 100, v1::STAGE_WOUND_BEFORE_TREATMENT);
  read("jobs/8200", 2016, 2000, v1::STAGE_TREATED);
  for (int year = 2017; year < 2020; ++year) read("jobs/8200", year, 2000, v1::STAGE_IN_SERVICE);
  const auto trend = Trend(R"(job: "jobs/7114")");
  ASSERT_THAT(trend.points(), SizeIs(10));
  for (int i = 0; i < 5; ++i) EXPECT_THAT(trend.points(i).reason(), HasSubstr("that jobs/8200 replaced"));
  EXPECT_THAT(trend.points(5).reason(), HasSubstr("before treatment"));
  for (int i = 6; i < 10; ++i) EXPECT_TRUE(trend.points(i).fitted()) << trend.points(i).reason();
  EXPECT_NEAR(trend.fit().ratio_per_year().nominal(), 1, 1e-9);
}

TEST_F(MegohmTrend, TwoMakersWithOneNumberAreTwoMachines) {
  Job("ours", "1", "Brackwater Works");
  Job("theirs", "1", "Tern Electric");
  Job("plate-gone", "1");
  Read("ours", 2015, 100);
  Read("theirs", 2016, 200);
  Read("plate-gone", 2017, 300);
  EXPECT_THAT(Trend(R"(job: "jobs/ours")").points(), SizeIs(2));
  const auto all = Trend(R"(serial_text: "1")");
  EXPECT_THAT(all.points(), SizeIs(3));
  EXPECT_THAT(all.notes(), ::testing::Contains(HasSubstr("2 makers")));
}

TEST_F(MegohmTrend, WithoutASerialNumberThereIsNoMachine) {
  Job("7114", " ");
  Read("7114", 2015, 100);
  const auto of = [](const char* text) { return Parse<v1::GetMegohmTrendRequest>(text); };
  const absl::Status none = Fails(&rpc::GetMegohmTrend, of(R"(job: "jobs/7114")"));
  EXPECT_EQ(none.code(), absl::StatusCode::kFailedPrecondition);
  EXPECT_THAT(std::string(none.message()), HasSubstr("serial"));
  EXPECT_EQ(Fails(&rpc::GetMegohmTrend, of(R"(serial_text: "0418")")).code(), absl::StatusCode::kNotFound);
  EXPECT_EQ(Fails(&rpc::GetMegohmTrend, of(R"(job: "jobs/none")")).code(), absl::StatusCode::kNotFound);
  EXPECT_THAT(Refused(&rpc::GetMegohmTrend, of(R"(serial_text: "  ")")), ElementsAre("serial_text"));
  EXPECT_THAT(Refused(&rpc::GetMegohmTrend, of("confidence: 0.4")), ElementsAre("job", "confidence"));
}

class Nearest : public OwnArchive {};

TEST_F(Nearest, TellsWhatDiffersAndWhatTheWindingBecomesOnTheOtherCore) {
  v1::WindingRecord longer = DemoRecord();
  longer.mutable_machine()->mutable_core()->mutable_stack_length()->set_mm(90);
  v1::WindingRecord other_slots = DemoRecord();
  other_slots.mutable_machine()->mutable_core()->set_slots(18);
  KeepForTest(archive(), "seamer", DemoRecord());
  KeepForTest(archive(), "longer", longer);
  KeepForTest(archive(), "slots", other_slots);
  KeepForTest(archive(), "fan", Parse<v1::PlanRewindRequest>(kInduction).record());
  v1::FindNearestWindingsRequest burnt;
  *burnt.mutable_machine() = DemoRecord().machine();
  burnt.mutable_machine()->mutable_core()->mutable_stack_length()->set_mm(70);
  const auto near = Ok(&rpc::FindNearestWindings, burnt);
  ASSERT_THAT(near.windings(), SizeIs(2)) << "no other slots, no other size";
  EXPECT_EQ(near.windings(0).winding().name(), "windings/seamer");
  EXPECT_EQ(near.windings(1).winding().name(), "windings/longer");
  EXPECT_GT(near.windings(0).distance(), 0);
  EXPECT_LT(near.windings(0).distance(), near.windings(1).distance());
  ASSERT_FALSE(near.windings(0).differences().empty());
  EXPECT_EQ(near.windings(0).differences(0).field(), "core.stack_length");
  EXPECT_NEAR(near.windings(0).differences(0).ratio(), 60.0 / 70, 1e-9);
  // Turns go with the inverse of the flux, and that with the stack at the same density in the gap; the recorded turns
  // gave 49.6 V where the plate says 50 V: 35 * 60 / 70 * 50 / 49.6.
  ASSERT_TRUE(near.windings(0).has_scaled()) << near.windings(0).ShortDebugString();
  EXPECT_NEAR(near.windings(0).scaled().exact_turns_per_coil(), 30 * 50 / 49.6, 1e-9);
  EXPECT_NEAR(near.windings(0).scaled().flux_ratio(), 70.0 / 60, 1e-9);
  EXPECT_THAT(FaultsOf(near), IsEmpty());
  EXPECT_THAT(near.cautions(), Not(IsEmpty()));
  // The same machine is no distance away.
  *burnt.mutable_machine() = DemoRecord().machine();
  burnt.set_most(1);
  const auto same = Ok(&rpc::FindNearestWindings, burnt);
  ASSERT_THAT(same.windings(), SizeIs(1));
  EXPECT_EQ(same.windings(0).distance(), 0);
  EXPECT_THAT(same.windings(0).differences(), IsEmpty());
}

// More of the same bore than are ranked at once, all of a longer stack, and one a hair wider that is otherwise the
// same.
TEST_F(Nearest, IsNotHiddenByManyOfTheSameBore) {
  v1::WindingRecord card = Parse<v1::WindingRecord>(
      "machine { core { slots: 12 bore_diameter { mm: 60 } outer_diameter { mm: 104 } stack_length { mm: 95 } } }");
  for (int i = 0; i < 510; ++i) KeepForTest(archive(), absl::StrCat("long-", i), card);
  card.mutable_machine()->mutable_core()->mutable_bore_diameter()->set_mm(60.1);
  card.mutable_machine()->mutable_core()->mutable_stack_length()->set_mm(60);
  KeepForTest(archive(), "like", card);
  v1::FindNearestWindingsRequest burnt;
  *burnt.mutable_machine() = card.machine();
  burnt.mutable_machine()->mutable_core()->mutable_bore_diameter()->set_mm(60);
  burnt.set_most(1);
  EXPECT_EQ(Ok(&rpc::FindNearestWindings, burnt).windings(0).winding().name(), "windings/like");
  burnt.set_most(20);
  const auto more = Ok(&rpc::FindNearestWindings, burnt);
  ASSERT_THAT(more.windings(), SizeIs(20));
  EXPECT_EQ(more.windings(0).winding().name(), "windings/like");
}

TEST_F(Nearest, NeedsSlotsAndBoreAndScalesNothingThatIsNotRecorded) {
  v1::FindNearestWindingsRequest burnt;
  EXPECT_THAT(Refused(&rpc::FindNearestWindings, burnt),
              ElementsAre("machine.core.slots", "machine.core.bore_diameter"));
  KeepForTest(archive(), "card",
              Parse<v1::WindingRecord>("machine { core { slots: 12 bore_diameter { inches: 2.4 } } }"));
  burnt.mutable_machine()->mutable_core()->set_slots(12);
  burnt.mutable_machine()->mutable_core()->mutable_bore_diameter()->set_mm(61);
  const auto near = Ok(&rpc::FindNearestWindings, burnt);
  ASSERT_THAT(near.windings(), SizeIs(1));
  EXPECT_FALSE(near.windings(0).has_scaled());
  EXPECT_THAT(near.windings(0).notes(), ::testing::Contains(HasSubstr("not complete")));
}

}  // namespace
}  // namespace coilwright::calls
