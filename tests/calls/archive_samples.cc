#include "calls/archive_samples.h"

#include <utility>

#include "absl/strings/str_cat.h"
#include "absl/strings/substitute.h"
#include "calls/reading_samples.h"
#include "calls/test_archive.h"

namespace coilwright::calls {

v1::ArchivedWinding KeepForTest(archive::Archive& archive, const std::string& id, const v1::WindingRecord& record) {
  v1::CreateWindingRequest request;
  *request.mutable_record() = record;
  request.set_winding_id(id);
  request.set_recorded_by("A. Winder");
  return Done(&rpc::CreateWinding, archive, request).winding();
}

v1::AddReadingsRequest MegohmsOf(const std::string& job, int year, double megohms) {
  auto request = Parse<v1::AddReadingsRequest>(absl::Substitute(
      R"(job: "$0" taken_by: "B. Tester" taken_time { seconds: $1 }
         readings { stage: STAGE_IN_SERVICE
                    readings { megohms { insulation_megohms: $2 winding_temperature { celsius: 40 } } } })",
      job, (year - 1970) * 31556952ll, megohms));
  return request;
}

void SeedTestArchive(archive::Archive& archive) {
  const v1::WindingRecord demo = DemoRecord();
  const v1::WindingRecord induction = Parse<v1::PlanRewindRequest>(kInduction).record();
  const auto sample = KeepForTest(archive, "sample", demo);
  KeepForTest(archive, "other", induction);
  KeepForTest(archive, "to-delete", demo);
  v1::UpdateWindingRequest recounted;
  recounted.mutable_winding()->set_name("windings/sample");
  recounted.mutable_winding()->mutable_revision()->set_etag(sample.revision().etag());
  recounted.mutable_winding()->mutable_revision()->set_recorded_by("A. Winder");
  recounted.mutable_winding()->mutable_record()->set_note("counted again");
  recounted.mutable_update_mask()->add_paths("record.note");
  Done(&rpc::UpdateWinding, archive, recounted);
  for (const char* id : {"sample", "bench", "to-delete"}) {
    v1::CreateJobRequest job;
    job.mutable_job()->set_winding("windings/sample");
    job.mutable_job()->set_title("seamer head, burnt");
    job.set_job_id(id);
    job.set_recorded_by("A. Winder");
    // Its trend is not that of the jobs to which tests add readings by the thousand.
    if (job.job_id() == "sample") {
      *job.mutable_job()->mutable_machine() = demo.machine();
      job.mutable_job()->mutable_machine()->mutable_nameplate()->set_serial_text("0418");
    }
    Done(&rpc::CreateJob, archive, job);
  }
  const double megohms[] = {900, 640, 450, 330, 230, 160};
  for (int i = 0; i < 6; ++i) Done(&rpc::AddReadings, archive, MegohmsOf("jobs/sample", 2015 + i, megohms[i]));
}

void AddArchiveSamples(const std::string& method, Requests* requests) {
  const auto add = [&](auto request) { requests->push_back(std::make_shared<decltype(request)>(std::move(request))); };
  constexpr const char* kChange = R"(name: "$0" etag: "$1" recorded_by: "A. Winder")";
  const auto change = [&](const char* name) { return absl::Substitute(kChange, name, kEtagNow); };
  if (method == "CreateWinding") {
    v1::CreateWindingRequest create;
    *create.mutable_record() = Parse<v1::PlanRewindRequest>(kInduction).record();
    create.set_recorded_by("A. Winder");
    add(create);
    *create.mutable_record() = DemoRecord();
    create.set_reason("taken down before stripping");
    create.set_moment(v1::CHECK_MOMENT_CUT);
    create.mutable_taken_down_time()->set_seconds(1400000000);
    add(create);
    // Hardly anything is known; a kind that is not planned yet.
    add(Parse<v1::CreateWindingRequest>(R"(record { title: "card 12" } recorded_by: "A. Winder")"));
    add(Parse<v1::CreateWindingRequest>(
        R"(record { machine { kind: MACHINE_KIND_DC_ARMATURE core { slots: 24 } } } recorded_by: "A. Winder")"));
  } else if (method == "GetWinding") {
    add(Parse<v1::GetWindingRequest>(R"(name: "windings/sample")"));
    add(Parse<v1::GetWindingRequest>(R"(name: "windings/sample" revision: 1)"));
  } else if (method == "ListWindings") {
    add(Parse<v1::ListWindingsRequest>("page_size: 2"));
    add(Parse<v1::ListWindingsRequest>(
        R"(filter { text: "harbour cann" kind: MACHINE_KIND_INDUCTION rated_volts { least: 380 most: 420 }
                    rated_kw { most: 5 } speed_rpm { least: 1000 } poles { least: 4 most: 4 } slots { least: 36 }
                    bore_mm { least: 90 most: 100 } outer_mm { most: 200 } stack_length_mm { least: 100 } }
           show_deleted: true)"));
    add(v1::ListWindingsRequest());
  } else if (method == "UpdateWinding") {
    // Not the one that a plan is chosen for.
    auto update = Parse<v1::UpdateWindingRequest>(absl::Substitute(
        R"(winding { name: "windings/to-delete" revision { etag: "$0" recorded_by: "A. Winder" reason: "recounted" }
                     record { winding { turns_per_coil: 34 } } }
           update_mask { paths: "record.winding.turns_per_coil" })",
        kEtagNow));
    add(update);
    *update.mutable_winding()->mutable_record() = DemoRecord();
    update.mutable_winding()->mutable_taken_down_time()->set_seconds(1400000000);
    update.mutable_update_mask()->add_paths("record");
    update.mutable_update_mask()->add_paths("taken_down_time");
    add(update);
  } else if (method == "DeleteWinding") {
    add(Parse<v1::DeleteWindingRequest>(change("windings/to-delete")));
  } else if (method == "UndeleteWinding") {
    add(Parse<v1::UndeleteWindingRequest>(change("windings/to-delete")));
  } else if (method == "ListWindingRevisions") {
    add(Parse<v1::ListWindingRevisionsRequest>(R"(name: "windings/sample" page_size: 1)"));
  } else if (method == "FindNearestWindings") {
    v1::FindNearestWindingsRequest burnt =
        Parse<v1::FindNearestWindingsRequest>("machine { core { slots: 12 bore_diameter { inches: 2.4 } } }");
    add(burnt);
    *burnt.mutable_machine() = DemoRecord().machine();
    burnt.mutable_machine()->mutable_core()->mutable_stack_length()->set_mm(70);
    burnt.set_most(20);
    add(burnt);
  } else if (method == "CompareWindings") {
    add(Parse<v1::CompareWindingsRequest>(R"(first: "windings/sample" second: "windings/other")"));
    add(Parse<v1::CompareWindingsRequest>(
        R"(first: "windings/sample" first_revision: 1 second: "windings/sample" second_revision: 2)"));
  } else if (method == "CreateJob") {
    add(Parse<v1::CreateJobRequest>(R"(job { winding: "windings/sample" } recorded_by: "A. Winder")"));
    add(Parse<v1::CreateJobRequest>(
        R"(job { title: "fan" machine { kind: MACHINE_KIND_INDUCTION nameplate { rated_volts: 400 serial_text: "A 1" } }
                 customer_reference: "order 12" note: "noisy" } recorded_by: "A. Winder")"));
  } else if (method == "GetJob") {
    add(Parse<v1::GetJobRequest>(R"(name: "jobs/sample" revision: 1)"));
  } else if (method == "ListJobs") {
    add(Parse<v1::ListJobsRequest>(R"(text: "seamer" winding: "windings/sample" page_size: 1)"));
    add(v1::ListJobsRequest());
  } else if (method == "UpdateJob") {
    add(Parse<v1::UpdateJobRequest>(absl::Substitute(
        R"(job { name: "jobs/bench" revision { etag: "$0" recorded_by: "A. Winder" } title: "seamer"
                 note: "brake sticks" machine { nameplate { serial_text: "0417" rated_volts: 190 } } }
           update_mask { paths: "title" paths: "note" paths: "machine.nameplate" })",
        kEtagNow)));
  } else if (method == "DeleteJob") {
    add(Parse<v1::DeleteJobRequest>(change("jobs/to-delete")));
  } else if (method == "UndeleteJob") {
    add(Parse<v1::UndeleteJobRequest>(change("jobs/to-delete")));
  } else if (method == "ListJobRevisions") {
    add(Parse<v1::ListJobRevisionsRequest>(R"(name: "jobs/sample")"));
  } else if (method == "ReachStage") {
    add(Parse<v1::ReachStageRequest>(absl::StrCat(change("jobs/bench"), "stage: STAGE_AS_RECEIVED note: 'wet'")));
    add(Parse<v1::ReachStageRequest>(
        absl::StrCat(change("jobs/bench"), "stage: STAGE_TREATED time { seconds: 1700000000 }")));
  } else if (method == "ChoosePlan") {
    add(Parse<v1::ChoosePlanRequest>(
        absl::StrCat(change("jobs/bench"),
                     "way: 2 wires { systems: WIRE_SYSTEM_IEC_R20 most_sizes: 2 best: 2 } despite_check: 'x'")));
    add(Parse<v1::ChoosePlanRequest>(absl::StrCat(change("jobs/bench"), R"(
        change { rated_volts: 200 } wires { systems: WIRE_SYSTEM_IEC_R20 most_sizes: 1 best: 1 } despite_check: "x"
        tests { family: STANDARD_FAMILY_IEC_60034_1 } settings { waste_share: 0.1 })")));
  } else if (method == "AddReadings") {
    v1::AddReadingsRequest readings = MegohmsOf("jobs/bench", 2021, 120);
    add(readings);
    readings.set_note("after a week of rain");
    *readings.mutable_readings() = Parse<v1::JudgeReadingsRequest>(absl::StrCat(kReadMachine, kReadings[0]));
    // The machine of the job.
    readings.mutable_readings()->mutable_machine()->mutable_nameplate()->set_rated_volts(190);
    add(readings);
  } else if (method == "GetReadings") {
    add(Parse<v1::GetReadingsRequest>(R"(name: "jobs/sample/readings/1")"));
  } else if (method == "ListReadings") {
    add(Parse<v1::ListReadingsRequest>(R"(job: "jobs/sample" stage: STAGE_IN_SERVICE page_size: 2)"));
  } else if (method == "SignOffJob") {
    add(Parse<v1::SignOffJobRequest>(absl::Substitute(
        R"(name: "jobs/to-delete" etag: "$0" person: "C. Inspector" qualification: "licensed electrician"
           statement: "goes back" despite_verdict: "surge tester is out for repair")",
        kEtagNow)));
  } else if (method == "GetMegohmTrend") {
    add(Parse<v1::GetMegohmTrendRequest>(R"(job: "jobs/sample")"));
    add(Parse<v1::GetMegohmTrendRequest>(
        R"(serial_text: " 0418 " stages: STAGE_IN_SERVICE confidence: 0.9
           choice { megohm_edition: MEGOHM_EDITION_IEEE_43_2000 })"));
  } else if (method == "GetArchive") {
    add(v1::GetArchiveRequest());
  } else if (method == "ExportEntries") {
    add(Parse<v1::ExportEntriesRequest>("page_bytes: 1"));
    add(Parse<v1::ExportEntriesRequest>("page_bytes: 8000"));
  } else if (method == "ImportEntries") {
    auto import = Parse<v1::ImportEntriesRequest>(absl::Substitute(
        R"(entries { sequence: 1
                     winding { name: "$0" record { title: "card 12" } create_time { seconds: 1000000000 }
                               revision { number: 1 recorded_by: "A. Winder" time { seconds: 1000000000 } } } })",
        kNameNow));
    add(import);
    // An export of what is there already.
    auto exported = Done(&rpc::ExportEntries, *TestArchive(), v1::ExportEntriesRequest());
    v1::ImportEntriesRequest again;
    for (int i = 0; i < 8 && i < exported.entries_size(); ++i) *again.add_entries() = exported.entries(i);
    add(again);
  }
}

}  // namespace coilwright::calls
