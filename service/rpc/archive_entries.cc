#include "rpc/archive_entries.h"

#include <utility>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "google/protobuf/io/coded_stream.h"
#include "google/protobuf/io/zero_copy_stream_impl_lite.h"
#include "rpc/archive_names.h"
#include "rpc/archive_times.h"
#include "rpc/read_record.h"
#include "rpc/record_code.h"

namespace coilwright::rpc {
namespace {

using archive::Entry;
using archive::Facts;
using archive::Kind;
using archive::NewEntry;
using google::protobuf::Message;

absl::Status Parse(const Entry& entry, Message* out) {
  if (absl::Status whole = archive::CheckWhole(entry); !whole.ok()) return whole;
  if (out->ParseFromString(entry.payload)) return absl::OkStatus();
  return absl::DataLossError(absl::StrCat("the archive holds ", entry.name, ", revision ", entry.revision,
                                          ", in a form that cannot be read; export what can be and restore a backup"));
}

// The same message has the same bytes, on every machine and in every export.
std::string Bytes(const Message& message) {
  std::string bytes;
  google::protobuf::io::StringOutputStream stream(&bytes);
  google::protobuf::io::CodedOutputStream coded(&stream);
  coded.SetSerializationDeterministic(true);
  message.SerializeToCodedStream(&coded);
  coded.Trim();
  return bytes;
}

void StripRevision(v1::Revision* revision) {
  revision->clear_number();
  revision->clear_etag();
  revision->clear_time();
  revision->clear_deleted();
}

NewEntry EntryWith(Kind kind, const std::string& name, const Message& stripped) {
  NewEntry entry;
  entry.entry.kind = kind;
  entry.entry.name = name;
  entry.entry.payload = Bytes(stripped);
  return entry;
}

std::string IdOf(const std::string& name) { return name.substr(name.find('/') + 1); }

std::string PlateTexts(const v1::Nameplate& plate) {
  return absl::StrJoin({plate.maker_text(), plate.model_text(), plate.serial_text(), plate.frame_text()}, " ");
}

}  // namespace

void FillRevision(const Entry& entry, v1::Revision* out) {
  out->set_number(entry.revision);
  out->set_etag(EtagOf(entry.name, entry.revision));
  out->set_deleted(entry.deleted);
  WriteTime(entry.recorded_micros, out->mutable_time());
}

absl::Status Fill(const Entry& entry, v1::ArchivedWinding* out) {
  if (absl::Status parsed = Parse(entry, out); !parsed.ok()) return parsed;
  out->set_name(entry.name);
  out->set_code(CodeOf(out->record()));
  FillRevision(entry, out->mutable_revision());
  WriteTime(entry.create_micros, out->mutable_create_time());
  return absl::OkStatus();
}

absl::Status Fill(const Entry& entry, v1::Job* out) {
  if (absl::Status parsed = Parse(entry, out); !parsed.ok()) return parsed;
  out->set_name(entry.name);
  FillRevision(entry, out->mutable_revision());
  WriteTime(entry.create_micros, out->mutable_create_time());
  return absl::OkStatus();
}

absl::Status Fill(const Entry& entry, v1::JobReadings* out) {
  if (absl::Status parsed = Parse(entry, out); !parsed.ok()) return parsed;
  out->set_name(entry.name);
  WriteTime(entry.create_micros, out->mutable_create_time());
  return absl::OkStatus();
}

NewEntry NewEntryOf(const std::string& name, v1::ArchivedWinding winding) {
  winding.clear_name();
  winding.clear_code();
  winding.clear_create_time();
  StripRevision(winding.mutable_revision());
  NewEntry entry = EntryWith(Kind::kWinding, name, winding);
  entry.facts = FactsOf(name, winding);
  return entry;
}

NewEntry NewEntryOf(const std::string& name, v1::Job job) {
  job.clear_name();
  job.clear_create_time();
  StripRevision(job.mutable_revision());
  NewEntry entry = EntryWith(Kind::kJob, name, job);
  entry.facts = FactsOf(name, job);
  return entry;
}

NewEntry NewEntryOf(const std::string& name, v1::JobReadings readings) {
  readings.clear_name();
  readings.clear_create_time();
  NewEntry entry = EntryWith(Kind::kReadings, name, readings);
  entry.facts = FactsOf(name, readings);
  return entry;
}

std::string FoldedSerial(absl::string_view serial) {
  std::string folded;
  for (const char c : serial) {
    const auto byte = static_cast<unsigned char>(c);
    if (!absl::ascii_isspace(byte) && !absl::ascii_iscntrl(byte)) folded += absl::ascii_tolower(byte);
  }
  return folded;
}

Facts FactsOf(const v1::Machine& machine) {
  std::vector<standards::FieldError> out_of_range;
  const Reader reader(machine, "", &out_of_range);
  const Reader plate = reader.At("nameplate"), core = reader.At("core");
  Facts facts;
  facts.machine_kind = machine.kind();
  facts.rated_volts = plate.Number("rated_volts", kRatedVolts);
  facts.rated_kw = plate.Kw("rated_power", kRatedKw);
  facts.speed_rpm = plate.Number("speed_rpm", kSpeedRpm);
  facts.frequency_hz = plate.Number("frequency_hz", {1, 2000, "Hz"});
  facts.poles = plate.Count("poles", 2, 120);
  if (const auto pairs = plate.Count("pole_pairs", 1, 60); pairs && !facts.poles) facts.poles = 2 * *pairs;
  facts.slots = core.Count("slots", 3, 720);
  facts.bore_mm = core.Mm("bore_diameter", kCoreMm);
  facts.outer_mm = core.Mm("outer_diameter", kCoreMm);
  facts.stack_length_mm = core.Mm("stack_length", kCoreMm);
  facts.serial = FoldedSerial(machine.nameplate().serial_text());
  return facts;
}

Facts FactsOf(const std::string& name, const v1::ArchivedWinding& winding) {
  const v1::WindingRecord& record = winding.record();
  Facts facts = FactsOf(record.machine());
  facts.verdict = winding.check().verdict();
  // By the codes that documents of it show.
  facts.text = absl::StrJoin({record.title(), PlateTexts(record.machine().nameplate()), record.note(), IdOf(name),
                              CodeOf(record), absl::StrJoin(winding.earlier_codes(), " ")},
                             " ");
  return facts;
}

Facts FactsOf(const std::string& name, const v1::Job& job) {
  Facts facts = FactsOf(job.machine());
  facts.text = absl::StrJoin(
      {job.title(), PlateTexts(job.machine().nameplate()), job.customer_reference(), job.note(), IdOf(name)}, " ");
  facts.parent = job.winding();
  if (!job.stages().empty()) facts.stage = job.stages(job.stages_size() - 1).stage();
  return facts;
}

Facts FactsOf(const std::string& name, const v1::JobReadings& readings) {
  Facts facts;
  facts.parent = JobOf(name);
  facts.stage = readings.request().stage();
  facts.time_micros = MicrosOf(readings.taken_time());
  return facts;
}

void Write(const v1::ArchivedWinding& winding, v1::WindingSummary* out) {
  const v1::WindingRecord& record = winding.record();
  const v1::Nameplate& plate = record.machine().nameplate();
  const Facts facts = FactsOf(record.machine());
  out->set_name(winding.name());
  out->set_title(record.title());
  out->set_kind(record.machine().kind());
  out->set_maker_text(plate.maker_text());
  out->set_model_text(plate.model_text());
  out->set_serial_text(plate.serial_text());
  out->set_frame_text(plate.frame_text());
  if (facts.rated_volts) out->set_rated_volts(*facts.rated_volts);
  if (facts.rated_kw) out->set_rated_kw(*facts.rated_kw);
  if (facts.speed_rpm) out->set_speed_rpm(*facts.speed_rpm);
  if (facts.poles) out->set_poles(*facts.poles);
  if (facts.slots) out->set_slots(*facts.slots);
  if (facts.bore_mm) out->set_bore_mm(*facts.bore_mm);
  if (facts.outer_mm) out->set_outer_mm(*facts.outer_mm);
  if (facts.stack_length_mm) out->set_stack_length_mm(*facts.stack_length_mm);
  out->set_verdict(winding.check().verdict());
  *out->mutable_revision() = winding.revision();
  *out->mutable_create_time() = winding.create_time();
  if (winding.has_taken_down_time()) *out->mutable_taken_down_time() = winding.taken_down_time();
}

}  // namespace coilwright::rpc
