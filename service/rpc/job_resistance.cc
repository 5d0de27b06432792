#include "rpc/job_resistance.h"

#include <algorithm>
#include <optional>
#include <variant>
#include <vector>

#include "absl/strings/match.h"
#include "rpc/archive_entries.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/jobs.h"
#include "rpc/readings.h"
#include "rpc/write.h"
#include "testing/phase_resistance.h"

namespace coilwright::rpc {
namespace {

std::vector<testing::LineResistances> ResistancesOf(const v1::JudgeReadingsRequest& request) {
  std::vector<standards::FieldError> wrong;
  std::vector<testing::LineResistances> resistances;
  for (const testing::Reading& reading : ReadReadings(Reader(request, "", &wrong))) {
    if (const auto* resistance = std::get_if<testing::LineResistances>(&reading)) resistances.push_back(*resistance);
  }
  if (!wrong.empty()) resistances.clear();
  return resistances;
}

// Worked out, or off a plate: it was never read.
bool IsMeasured(const v1::WindingRecord& record) {
  return record.measured().has_resistance() &&
         std::none_of(record.evidence().begin(), record.evidence().end(), [](const v1::FieldEvidence& entry) {
           return absl::StartsWith(entry.field(), "measured.resistance") &&
                  (entry.evidence() == v1::EVIDENCE_ESTIMATED || entry.evidence() == v1::EVIDENCE_PLATE);
         });
}

// Its winding may not be wound yet, nor be about to be.
bool MayStillHaveIt(const v1::Job& job, v1::Stage stage) {
  if (stage != v1::STAGE_AS_RECEIVED && stage != v1::STAGE_ASSEMBLED && stage != v1::STAGE_IN_SERVICE) return false;
  return !job.has_plan() && std::none_of(job.stages().begin(), job.stages().end(),
                                         [](const v1::ReachedStage& reached) { return IsWinding(reached.stage()); });
}

// Another job put a new winding in after the record was taken down, or nobody can tell.
bool RewoundSince(archive::Archive& archive, const v1::Job& job, const v1::ArchivedWinding& winding) {
  const int64_t taken_down =
      MicrosOf(winding.has_taken_down_time() ? winding.taken_down_time() : winding.create_time());
  const std::string serial = FoldedSerial(job.machine().nameplate().serial_text());
  archive::Query query;
  query.kind = archive::Kind::kJob;
  query.parent = winding.name();
  bool rewound = false;
  const absl::Status read = ForEach<v1::Job>(archive, query, [&](const v1::Job& other) {
    const std::string theirs = FoldedSerial(other.machine().nameplate().serial_text());
    const bool another = !serial.empty() && !theirs.empty() && serial != theirs;
    for (const v1::ReachedStage& reached : other.stages())
      rewound = rewound || (!another && IsWinding(reached.stage()) && MicrosOf(reached.time()) > taken_down);
    return !rewound;
  });
  return rewound || !read.ok();
}

}  // namespace

void ExpectAsRecorded(archive::Archive& archive, const v1::Job& job, const v1::ArchivedWinding& winding,
                      v1::JudgeReadingsRequest* request) {
  const v1::WindingRecord& record = winding.record();
  if (!IsMeasured(record) || request->has_expected_line_to_line_ohms()) return;
  if (!MayStillHaveIt(job, request->stage()) || AreUnlike(job.machine(), record.machine())) return;
  const v1::Nameplate& ours = job.machine().nameplate();
  const v1::Nameplate& theirs = record.machine().nameplate();
  if (ours.has_rated_volts() && theirs.has_rated_volts() && ours.rated_volts() != theirs.rated_volts()) return;
  const auto again = ResistancesOf(*request);
  v1::JudgeReadingsRequest then;
  *then.add_readings()->mutable_resistance()->mutable_line_to_line() = record.measured().resistance();
  const auto measured = ResistancesOf(then);
  if (again.empty() || measured.empty() || RewoundSince(archive, job, winding)) return;
  const std::string serial = FoldedSerial(ours.serial_text());
  const bool same_machine = !serial.empty() && serial == FoldedSerial(theirs.serial_text());
  std::vector<standards::FieldError> wrong;
  const auto metal = Reader(*request, "", &wrong).At("winding").Enum<standards::Metal>("metal");
  const auto band = testing::ExpectedAsMeasured(
      measured[0], again, same_machine, metal.value_or(standards::Metal::kCopper), testing::ResistanceCase().preset);
  if (!band) return;
  WriteBand(*band, request->mutable_expected_line_to_line_ohms());
  request->set_expected_as_measured(true);
}

}  // namespace coilwright::rpc
