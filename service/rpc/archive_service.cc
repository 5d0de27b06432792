#include <algorithm>
#include <vector>

#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_times.h"
#include "rpc/import_entries.h"

namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Entry;
using Errors = std::vector<standards::FieldError>;

constexpr int kUsualPageBytes = 1 << 20;
constexpr int kMostPageBytes = 2 << 20;

// Where an export stands: the last entry shown, the last that belongs to it, and when it began.
struct Position {
  int64_t after = 0, up_to = 0, began_micros = 0;
};

std::string TokenOf(const Position& place) {
  const std::string text = absl::StrCat(place.after, ".", place.up_to, ".", place.began_micros);
  return absl::StrCat(text, ".", Mark(absl::StrCat("export ", text)));
}

bool ReadToken(const std::string& token, Position* place) {
  const std::vector<std::string> parts = absl::StrSplit(token, '.');
  return parts.size() == 4 && absl::SimpleAtoi(parts[0], &place->after) && absl::SimpleAtoi(parts[1], &place->up_to) &&
         absl::SimpleAtoi(parts[2], &place->began_micros) && place->after > 0 && place->after < place->up_to &&
         TokenOf(*place) == token;
}

absl::Status Export(const Entry& entry, v1::ArchiveEntry* out) {
  out->set_sequence(entry.sequence);
  out->set_request_id(entry.request_id);
  out->set_request_digest(entry.request_digest);
  switch (entry.kind) {
    case archive::Kind::kWinding:
      return Fill(entry, out->mutable_winding());
    case archive::Kind::kJob:
      return Fill(entry, out->mutable_job());
    case archive::Kind::kReadings:
      break;
  }
  return Fill(entry, out->mutable_readings());
}

}  // namespace

absl::Status GetArchive(Archive& archive, const v1::GetArchiveRequest&, v1::GetArchiveResponse* response) {
  const auto size = archive.Count();
  if (!size.ok()) return size.status();
  response->set_store(archive.store());
  response->set_schema_version(archive.schema_version());
  response->set_windings(size->windings);
  response->set_jobs(size->jobs);
  response->set_readings(size->readings);
  response->set_entries(size->entries);
  response->set_writes_waiting(archive.writes_waiting());
  response->set_most_writes_waiting(archive.most_writes_waiting());
  return absl::OkStatus();
}

absl::Status ExportEntries(Archive& archive, const v1::ExportEntriesRequest& request,
                           v1::ExportEntriesResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  Position place;
  if (request.page_bytes() < 0) {
    reader.Wrong("page_bytes", absl::StrCat(request.page_bytes()),
                 absl::StrCat("0 (for ", kUsualPageBytes, ") to ", kMostPageBytes));
  }
  if (!request.page_token().empty() && !ReadToken(reader.Text("page_token"), &place) && errors.empty())
    reader.Wrong("page_token", "a token of another list", "next_page_token of the page before");
  if (!errors.empty()) return standards::InvalidFields(errors);
  if (request.page_token().empty()) {
    const auto last = archive.LastSequence();
    if (!last.ok()) return last.status();
    place = {0, *last, NowMicros()};
  }
  response->set_total_entries(place.up_to);
  WriteTime(place.began_micros, response->mutable_snapshot_time());
  if (place.up_to == 0) return absl::OkStatus();
  const int page_bytes = request.page_bytes() == 0 ? kUsualPageBytes : std::min(request.page_bytes(), kMostPageBytes);
  const auto entries = archive.Log(place.after, place.up_to, page_bytes);
  if (!entries.ok()) return entries.status();
  for (const Entry& entry : *entries) {
    place.after = entry.sequence;
    if (entry.damaged) {
      response->add_damaged(archive::Described(entry));
      continue;
    }
    if (absl::Status exported = Export(entry, response->add_entries()); !exported.ok()) return exported;
  }
  if (place.after < place.up_to) response->set_next_page_token(TokenOf(place));
  return absl::OkStatus();
}

absl::Status ImportEntries(Archive& archive, const v1::ImportEntriesRequest& request,
                           v1::ImportEntriesResponse* response) {
  Errors errors;
  std::vector<archive::NewEntry> entries = ReadEntries(Reader(request, "", &errors));
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto imported = archive.Import(std::move(entries));
  if (!imported.ok()) return imported.status();
  response->set_added(imported->added);
  response->set_passed_over(imported->passed_over);
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
