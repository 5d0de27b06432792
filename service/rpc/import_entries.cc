#include "rpc/import_entries.h"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "coilwright/v1/archive_service.pb.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_times.h"
#include "rpc/job_checks.h"
#include "rpc/kept_records.h"
#include "rpc/record_code.h"

namespace coilwright::rpc {
namespace {

using archive::Entry;
using archive::Kind;
using archive::NewEntry;

constexpr int kMostEntries = 20000;
constexpr int kMostRevisions = 1000000000;

// A time that is needed.
int64_t NeedTime(const Reader& reader, absl::string_view field) {
  const std::optional<int64_t> micros = ReadTime(reader, field);
  if (!micros && !reader.HasErrorAt(field)) reader.Missing(field, "a time");
  return micros.value_or(1);
}

// Number, times and mark of a revision.
void ReadRevision(const Reader& resource, Entry* entry) {
  const Reader revision = resource.At("revision");
  const auto& message = static_cast<const v1::Revision&>(revision.message());
  if (message.number() < 1 || message.number() > kMostRevisions)
    revision.Wrong("number", absl::StrCat(message.number()), "1 or more");
  if (!message.etag().empty()) ReadEtag(revision, "etag");
  ReadAuthor(revision);
  revision.Text("what");
  entry->revision = message.number();
  entry->deleted = message.deleted();
  entry->recorded_micros = NeedTime(revision, "time");
  entry->create_micros = NeedTime(resource, "create_time");
}

NewEntry ReadWinding(const Reader& reader, const v1::ArchivedWinding& winding) {
  const std::string name = ReadName(reader, "name", Kind::kWinding);
  if (!winding.has_record()) reader.Missing("record", "what was taken down of a winding");
  RefuseWrongValues(reader, "record", winding.record());
  RefuseLarge(reader, "check", winding.check(), kMostRecordBytes);
  RefuseLarge(reader, "check_refused", winding.check_refused(), kMostRecordBytes);
  reader.Text("data_revision", kMostNameBytes);
  if (winding.earlier_codes_size() > kMostEarlierCodes ||
      !std::all_of(winding.earlier_codes().begin(), winding.earlier_codes().end(), IsCode))
    reader.Wrong("earlier_codes", absl::StrCat(winding.earlier_codes_size(), " of them"),
                 absl::StrCat("up to ", kMostEarlierCodes, " such as \"7KQ2-M0XC\""));
  ReadTime(reader, "taken_down_time");
  NewEntry entry = NewEntryOf(name, winding);
  ReadRevision(reader, &entry.entry);
  return entry;
}

NewEntry ReadJobEntry(const Reader& reader, const v1::Job& job) {
  const std::string name = ReadName(reader, "name", Kind::kJob);
  ReadJob(reader);
  ReadWorkDone(reader);
  NewEntry entry = NewEntryOf(name, job);
  ReadRevision(reader, &entry.entry);
  return entry;
}

NewEntry ReadReadingsEntry(const Reader& reader, const v1::JobReadings& readings) {
  const std::string name = ReadName(reader, "name", Kind::kReadings);
  RefuseLarge(reader, "request", readings.request(), kMostReadingsBytes);
  RefuseLarge(reader, "verdicts", readings.verdicts(), kMostReadingsBytes);
  RefuseLarge(reader, "judging_refused", readings.judging_refused(), kMostRecordBytes);
  RefuseWrongReadings(reader, "request", readings.request());
  NeedTime(reader, "taken_time");
  reader.Text("taken_by", kMostNameBytes);
  reader.Text("note", kMostNoteBytes);
  if (!readings.replaces().empty()) ReadName(reader, "replaces", Kind::kReadings);
  NewEntry entry = NewEntryOf(name, readings);
  entry.entry.create_micros = entry.entry.recorded_micros = NeedTime(reader, "create_time");
  if (!name.empty()) entry.needs = JobOf(name);
  return entry;
}

void ReadDigest(const Reader& reader) {
  const std::string digest = reader.Text("request_digest");
  const auto hex = [](char c) { return absl::ascii_isxdigit(static_cast<unsigned char>(c)); };
  const bool right = digest.size() == 64 && std::all_of(digest.begin(), digest.end(), hex);
  if (reader.HasErrorAt("request_digest") || (reader.Text("request_id").empty() ? digest.empty() : right)) return;
  reader.Wrong("request_digest", absl::StrCat("\"", digest, "\""),
               "64 hexadecimal digits beside a request_id, and nothing without");
}

}  // namespace

std::vector<NewEntry> ReadEntries(const Reader& request) {
  std::vector<NewEntry> entries;
  std::map<std::string, int> revisions;
  if (static_cast<const v1::ImportEntriesRequest&>(request.message()).entries().empty())
    request.Missing("entries", "one or more entries of an export");
  for (const Reader& reader : request.Each("entries", kMostEntries)) {
    const auto& given = static_cast<const v1::ArchiveEntry&>(reader.message());
    NewEntry entry;
    absl::string_view revision_field = "winding.revision.number";
    switch (given.entry_case()) {
      case v1::ArchiveEntry::kWinding:
        entry = ReadWinding(reader.At("winding"), given.winding());
        break;
      case v1::ArchiveEntry::kJob:
        entry = ReadJobEntry(reader.At("job"), given.job());
        revision_field = "job.revision.number";
        break;
      case v1::ArchiveEntry::kReadings:
        entry = ReadReadingsEntry(reader.At("readings"), given.readings());
        revision_field = "readings.name";
        break;
      case v1::ArchiveEntry::ENTRY_NOT_SET:
        reader.Missing("winding", "one of winding, job, readings");
        continue;
    }
    ReadRequestId(reader);
    ReadDigest(reader);
    entry.entry.request_id = given.request_id();
    entry.entry.request_digest = given.request_digest();
    int& last = revisions[entry.entry.name];
    if (last > 0 && entry.entry.revision != int64_t{last} + 1 && !reader.HasErrorAt("")) {
      reader.Wrong(revision_field, absl::StrCat("revision ", entry.entry.revision, " after revision ", last),
                   "revisions of one resource in their order, each once");
    }
    last = entry.entry.revision;
    entries.push_back(std::move(entry));
  }
  return entries;
}

}  // namespace coilwright::rpc
