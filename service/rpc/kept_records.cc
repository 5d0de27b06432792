#include "rpc/kept_records.h"

#include <vector>

#include "rpc/archive_calls.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/status.h"
#include "standards/tables.h"

namespace coilwright::rpc {

void RefuseWrongValues(const Reader& parent, absl::string_view field, const v1::WindingRecord& record) {
  RefuseLarge(parent, field, record, kMostRecordBytes);
  std::vector<standards::FieldError> wrong, lacking;
  ReadRecord(Reader(record, "", &wrong, &lacking), false);
  if (!wrong.empty()) parent.Add(field, standards::InvalidFields(wrong));
}

void RefuseWrongValues(const Reader& parent, absl::string_view field, const v1::Machine& machine) {
  RefuseLarge(parent, field, machine, kMostRecordBytes);
  v1::WindingRecord record;
  *record.mutable_machine() = machine;
  std::vector<standards::FieldError> wrong, lacking;
  ReadRecord(Reader(record, "", &wrong, &lacking), false);
  constexpr size_t kPrefix = sizeof("machine.") - 1;
  for (standards::FieldError& error : wrong) error.field.erase(0, kPrefix);
  if (!wrong.empty()) parent.Add(field, standards::InvalidFields(wrong));
}

void CheckForArchive(v1::CheckMoment moment, v1::ArchivedWinding* winding) {
  winding->clear_check();
  winding->clear_check_refused();
  winding->set_data_revision(std::string(standards::DataRevision()));
  v1::CheckRecordRequest request;
  *request.mutable_record() = winding->record();
  request.set_moment(moment);
  v1::CheckRecordResponse response;
  if (const absl::Status checked = CheckRecord(request, &response); checked.ok()) {
    *winding->mutable_check() = std::move(*response.mutable_check());
  } else {
    *winding->mutable_check_refused() = DetailsOf(checked);
  }
}

}  // namespace coilwright::rpc
