#include <optional>
#include <vector>

#include "absl/strings/str_cat.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/job_checks.h"
#include "rpc/job_resistance.h"
#include "rpc/jobs.h"
#include "rpc/methods.h"
#include "rpc/status.h"

namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Entry;
using archive::Kind;
using archive::NewEntry;
using Errors = std::vector<standards::FieldError>;

// Readings stand for others of the same stage, which none stand for yet.
absl::Status MayReplace(Archive& archive, const std::string& job, const v1::AddReadingsRequest& request) {
  if (request.replaces().empty()) return absl::OkStatus();
  const auto entry = archive.Get(request.replaces());
  if (!entry.ok()) return entry.status();
  v1::JobReadings replaced;
  if (absl::Status filled = Fill(*entry, &replaced); !filled.ok()) return filled;
  if (replaced.request().stage() != request.readings().stage()) {
    return absl::FailedPreconditionError(absl::StrCat(replaced.name(), " is of stage ",
                                                      StageWords(replaced.request().stage()), ", these are of ",
                                                      StageWords(request.readings().stage())));
  }
  archive::Query query;
  query.kind = Kind::kReadings;
  query.parent = job;
  query.stage = request.readings().stage();
  std::string by;
  absl::Status read = ForEach<v1::JobReadings>(archive, query, [&](const v1::JobReadings& other) {
    if (other.replaces() == replaced.name()) by = other.name();
    return by.empty();
  });
  if (!read.ok() || by.empty()) return read;
  return absl::FailedPreconditionError(
      absl::StrCat(by, " stands for ", replaced.name(), " already: these can stand for ", by));
}

// From here on the winding in the machine is the one that was planned.
bool IsNewWinding(v1::Stage stage) { return stage >= v1::STAGE_WOUND_STAR_OPEN; }

// What the plan changes of the winding as it was found.
void TakeFromPlan(const v1::ChosenPlan& plan, v1::JudgeReadingsRequest* request, bool machine_of_job) {
  const v1::TurnsPlan& turns = plan.turns();
  v1::Winding* winding = request->mutable_winding();
  winding->clear_groups();
  winding->clear_turns_per_coil();
  if (turns.groups().empty()) {
    winding->set_turns_per_coil(turns.turns_per_coil());
  } else {
    *winding->mutable_groups() = turns.groups();
  }
  winding->set_connection(turns.connection());
  winding->set_parallel_circuits(turns.parallel_circuits());
  // A machine wound for another voltage is tested at that voltage.
  if (machine_of_job && turns.changed()) {
    v1::Nameplate* plate = request->mutable_machine()->mutable_nameplate();
    plate->set_rated_volts(turns.rated_volts());
    if (turns.has_frequency_hz() && plate->has_frequency_hz()) plate->set_frequency_hz(turns.frequency_hz());
  }
}

// What is said of the machine beside the readings must be what the job says of it: readings of another machine would
// release this one.
void RefuseAnotherMachine(const Reader& readings, const v1::Job& job, const v1::Machine& said) {
  const Reader machine = readings.At("machine");
  const Reader plate = machine.At("nameplate");
  const v1::Nameplate& ours = job.machine().nameplate();
  const v1::Nameplate& theirs = said.nameplate();
  const std::string of = absl::StrCat(" as of ", job.name(), "; change the job where that is wrong");
  if (said.kind() != 0 && job.machine().kind() != 0 && said.kind() != job.machine().kind()) {
    machine.Wrong("kind", v1::MachineKind_Name(said.kind()),
                  absl::StrCat(v1::MachineKind_Name(job.machine().kind()), of));
  }
  if (!FoldedSerial(theirs.serial_text()).empty() && !FoldedSerial(ours.serial_text()).empty() &&
      FoldedSerial(theirs.serial_text()) != FoldedSerial(ours.serial_text())) {
    plate.Wrong("serial_text", absl::StrCat("\"", theirs.serial_text(), "\""),
                absl::StrCat("\"", ours.serial_text(), "\"", of));
  }
  if (PolesOf(theirs) != 0 && PolesOf(ours) != 0 && PolesOf(theirs) != PolesOf(ours)) {
    plate.Wrong(theirs.has_poles() ? "poles" : "pole_pairs", absl::StrCat(PolesOf(theirs), " poles"),
                absl::StrCat(PolesOf(ours), " poles", of));
  }
  // Rewound for another voltage, it is tested at that one.
  const bool planned = job.plan().turns().changed() && theirs.rated_volts() == job.plan().turns().rated_volts();
  if (theirs.has_rated_volts() && ours.has_rated_volts() && theirs.rated_volts() != ours.rated_volts() && !planned) {
    plate.Wrong("rated_volts", absl::StrCat(theirs.rated_volts(), " V"), absl::StrCat(ours.rated_volts(), " V", of));
  }
}

// Puts into the request what it leaves to the job.
absl::Status FillFromJob(Archive& archive, const v1::Job& job, v1::JudgeReadingsRequest* request) {
  const bool machine_of_job = !request->has_machine();
  if (machine_of_job && job.has_machine()) *request->mutable_machine() = job.machine();
  const bool planned = job.has_plan() && IsNewWinding(request->stage());
  if (!request->has_winding() && !job.winding().empty()) {
    // One marked as deleted since still tells what was wound.
    const auto entry = archive.Get(job.winding());
    if (!entry.ok()) return entry.status();
    v1::ArchivedWinding winding;
    if (absl::Status filled = Fill(*entry, &winding); !filled.ok()) return filled;
    if (winding.record().has_winding()) *request->mutable_winding() = winding.record().winding();
    if (planned) TakeFromPlan(job.plan(), request, machine_of_job);
    ExpectAsRecorded(archive, job, winding, request);
  }
  // The first resistance of an option is that at 20 C; plans of earlier versions do not tell it at the leads.
  if (planned && !request->has_expected_line_to_line_ohms() && job.plan().option().resistance_size() > 0) {
    const v1::ExpectedResistance& cold = job.plan().option().resistance(0);
    *request->mutable_expected_line_to_line_ohms() =
        cold.has_at_terminals_ohms() ? cold.at_terminals_ohms() : cold.line_to_line_ohms();
  }
  return absl::OkStatus();
}

}  // namespace

absl::Status AddReadings(Archive& archive, const v1::AddReadingsRequest& request, v1::AddReadingsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const std::string name = ReadName(reader, "job", Kind::kJob);
  if (!request.has_readings()) reader.Missing("readings", "a stage and what was read at it");
  RefuseLarge(reader, "readings", request.readings(), kMostReadingsBytes);
  if (request.has_readings()) RefuseWrongReadings(reader, "readings", request.readings());
  const std::optional<int64_t> taken = ReadPastTime(reader, "taken_time");
  reader.Text("taken_by", kMostNameBytes);
  reader.Text("note", kMostNoteBytes);
  if (!request.replaces().empty()) {
    const std::string replaces = ReadName(reader, "replaces", Kind::kReadings);
    if (!replaces.empty() && !name.empty() && JobOf(replaces) != name)
      reader.Wrong("replaces", absl::StrCat("\"", replaces, "\""), absl::StrCat("earlier readings of ", name));
    if (request.note().empty()) reader.Missing("note", "why these stand for the earlier ones");
  }
  ReadRequestId(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto make = [&]() -> absl::StatusOr<NewEntry> {
    const auto entry = archive.Get(name);
    if (!entry.ok()) return entry.status();
    if (entry->deleted) return MarkedAsDeleted(name);
    if (absl::Status replaced = MayReplace(archive, name, request); !replaced.ok()) return replaced;
    v1::Job job;
    if (absl::Status filled = Fill(*entry, &job); !filled.ok()) return filled;
    if (taken) RefuseTooEarly(reader, "taken_time", *taken, job.machine());
    RefuseAnotherMachine(reader.At("readings"), job, request.readings().machine());
    if (!errors.empty()) return standards::InvalidFields(errors);
    v1::JobReadings readings;
    *readings.mutable_request() = request.readings();
    if (absl::Status filled = FillFromJob(archive, job, readings.mutable_request()); !filled.ok()) return filled;
    if (absl::Status judged = JudgeReadings(readings.request(), readings.mutable_verdicts()); !judged.ok()) {
      readings.clear_verdicts();
      *readings.mutable_judging_refused() = DetailsOf(judged);
    }
    WriteTime(taken.value_or(NowMicros()), readings.mutable_taken_time());
    readings.set_taken_day_only(request.taken_day_only() && taken);
    readings.set_taken_by(request.taken_by());
    readings.set_replaces(request.replaces());
    readings.set_note(request.note());
    NewEntry added = NewEntryOf(ReadingsOf(name), std::move(readings));
    added.number = true;
    added.needs = name;
    return added;
  };
  return WriteOnce(archive, request, make, response->mutable_readings());
}

absl::Status GetReadings(Archive& archive, const v1::GetReadingsRequest& request, v1::GetReadingsResponse* response) {
  Errors errors;
  const std::string name = ReadName(Reader(request, "", &errors), "name", Kind::kReadings);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto entry = archive.Get(name);
  if (!entry.ok()) return entry.status();
  return Fill(*entry, response->mutable_readings());
}

absl::Status ListReadings(Archive& archive, const v1::ListReadingsRequest& request,
                          v1::ListReadingsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  archive::Query query;
  query.kind = Kind::kReadings;
  query.parent = ReadName(reader, "job", Kind::kJob);
  query.stage = reader.EnumNumber("stage");
  query.oldest_first = true;
  const std::string mark = ListMark(request);
  const int page_size = ReadPageSize(reader, 10, 50);
  query.after = ReadPageToken(reader, mark);
  if (!errors.empty()) return standards::InvalidFields(errors);
  if (query.after == 0) {
    if (const auto job = archive.Get(query.parent); !job.ok()) return job.status();
  }
  return FillPage(archive, query, mark, page_size, 2, response,
                  [&](const Entry& entry) { return Fill(entry, response->add_readings()); });
}

}  // namespace coilwright::rpc
