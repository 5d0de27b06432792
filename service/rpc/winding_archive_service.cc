#include <optional>
#include <vector>

#include "absl/strings/str_cat.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/kept_records.h"
#include "rpc/message_paths.h"
#include "rpc/record_code.h"

namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Entry;
using archive::Kind;
using archive::NewEntry;
using Errors = std::vector<standards::FieldError>;

// Counts and measures of a filter; beyond these nothing is recorded.
constexpr Range kFilter = {0, 1e9, ""};

void ReadRange(const Reader& filter, absl::string_view field, archive::Range* range) {
  const Reader reader = filter.At(field);
  range->least = reader.Number("least", kFilter);
  range->most = reader.Number("most", kFilter);
  if (range->least && range->most && *range->least > *range->most)
    reader.Wrong("least", absl::StrCat(*range->least, ", above most of ", *range->most), "at most `most`");
}

archive::Query ReadFilter(const Reader& filter) {
  archive::Query query;
  query.kind = Kind::kWinding;
  query.text = filter.Text("text", kMostNameBytes);
  query.machine_kind = filter.EnumNumber("kind");
  query.verdict = filter.EnumNumber("verdict");
  ReadRange(filter, "rated_volts", &query.rated_volts);
  ReadRange(filter, "rated_kw", &query.rated_kw);
  ReadRange(filter, "speed_rpm", &query.speed_rpm);
  ReadRange(filter, "poles", &query.poles);
  ReadRange(filter, "slots", &query.slots);
  ReadRange(filter, "bore_mm", &query.bore_mm);
  ReadRange(filter, "outer_mm", &query.outer_mm);
  ReadRange(filter, "stack_length_mm", &query.stack_length_mm);
  return query;
}

}  // namespace

absl::Status CreateWinding(Archive& archive, const v1::CreateWindingRequest& request,
                           v1::CreateWindingResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  if (!request.has_record()) reader.Missing("record", "what was taken down of a winding");
  RefuseWrongValues(reader, "record", request.record());
  const std::string name = ReadNewName(reader, "winding_id", Kind::kWinding);
  const Author author = ReadAuthor(reader);
  const std::optional<int64_t> taken_down = ReadPastTime(reader, "taken_down_time", request.record().machine());
  ReadRequestId(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto make = [&]() -> absl::StatusOr<NewEntry> {
    v1::ArchivedWinding winding;
    *winding.mutable_record() = request.record();
    if (taken_down) WriteTime(*taken_down, winding.mutable_taken_down_time());
    CheckForArchive(request.moment(), &winding);
    winding.mutable_revision()->set_what("recorded");
    return FirstEntryOf(name, author, std::move(winding));
  };
  return WriteOnce(archive, request, make, response->mutable_winding());
}

absl::Status GetWinding(Archive& archive, const v1::GetWindingRequest& request, v1::GetWindingResponse* response) {
  return GetResource(archive, request, Kind::kWinding, response->mutable_winding());
}

absl::Status ListWindings(Archive& archive, const v1::ListWindingsRequest& request,
                          v1::ListWindingsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  archive::Query query = ReadFilter(reader.At("filter"));
  query.deleted_too = request.show_deleted();
  const std::string mark = ListMark(request);
  const int page_size = ReadPageSize(reader, 50, 200);
  query.after = ReadPageToken(reader, mark);
  if (!errors.empty()) return standards::InvalidFields(errors);
  return FillPage(archive, query, mark, page_size, 50, response, [&](const Entry& entry) {
    v1::ArchivedWinding winding;
    absl::Status filled = Fill(entry, &winding);
    if (filled.ok()) Write(winding, response->add_windings());
    return filled;
  });
}

absl::Status UpdateWinding(Archive& archive, const v1::UpdateWindingRequest& request,
                           v1::UpdateWindingResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const Reader given = reader.At("winding");
  const std::string name = ReadName(given, "name", Kind::kWinding);
  const std::string etag = ReadEtag(given.At("revision"), "etag");
  const Author author = ReadAuthor(given.At("revision"));
  ReadPastTime(given, "taken_down_time", request.winding().record().machine());
  RefuseWrongValues(given, "record", request.winding().record());
  ReadRequestId(reader);
  v1::ArchivedWinding unused;
  ApplyMask(reader, {"record", "taken_down_time"}, request.winding(), &unused);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto change = [&](v1::ArchivedWinding& winding) -> absl::Status {
    const std::string before = CodeOf(winding.record());
    ApplyMask(reader, {"record", "taken_down_time"}, request.winding(), &winding);
    KeepCode(before, &winding);
    if (winding.has_taken_down_time())
      WriteTime(MicrosOf(winding.taken_down_time()), winding.mutable_taken_down_time());
    // A mask may name one of two values that only together are too large.
    RefuseWrongValues(given, "record", winding.record());
    if (!errors.empty()) return standards::InvalidFields(errors);
    CheckForArchive(request.moment(), &winding);
    winding.mutable_revision()->set_what(Changed(request.update_mask()));
    return absl::OkStatus();
  };
  return ChangeOnce(archive, request, name, etag, author, change, response->mutable_winding());
}

absl::Status DeleteWinding(Archive& archive, const v1::DeleteWindingRequest& request,
                           v1::DeleteWindingResponse* response) {
  return MarkOnce(archive, request, Kind::kWinding, true, response->mutable_winding());
}

absl::Status UndeleteWinding(Archive& archive, const v1::UndeleteWindingRequest& request,
                             v1::UndeleteWindingResponse* response) {
  return MarkOnce(archive, request, Kind::kWinding, false, response->mutable_winding());
}

absl::Status ListWindingRevisions(Archive& archive, const v1::ListWindingRevisionsRequest& request,
                                  v1::ListWindingRevisionsResponse* response) {
  return FillHistory<v1::ArchivedWinding>(archive, request, Kind::kWinding, response);
}

}  // namespace coilwright::rpc
