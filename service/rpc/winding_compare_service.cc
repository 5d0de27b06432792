#include <optional>
#include <vector>

#include "absl/strings/str_cat.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/field_differences.h"

namespace coilwright::rpc {
namespace {

// Two records of the greatest size, each coil of them another, would fill an answer.
constexpr size_t kMostDifferences = 5000;

}  // namespace

absl::Status CompareWindings(archive::Archive& archive, const v1::CompareWindingsRequest& request,
                             v1::CompareWindingsResponse* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  v1::ArchivedWinding windings[2];
  constexpr const char* kNames[] = {"first", "second"};
  constexpr const char* kRevisions[] = {"first_revision", "second_revision"};
  std::string names[2];
  std::optional<int> revisions[2];
  for (int i = 0; i < 2; ++i) {
    names[i] = ReadName(reader, kNames[i], archive::Kind::kWinding);
    revisions[i] = reader.Count(kRevisions[i], 1, 1000000000);
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  for (int i = 0; i < 2; ++i) {
    const auto entry = archive.Get(names[i], revisions[i]);
    if (!entry.ok()) return entry.status();
    if (absl::Status filled = Fill(*entry, &windings[i]); !filled.ok()) return filled;
  }
  Write(windings[0], response->mutable_first());
  Write(windings[1], response->mutable_second());
  const FieldDifferences found = DifferencesOf(windings[0].record(), windings[1].record());
  if (found.differences.size() > kMostDifferences) {
    return absl::FailedPreconditionError(absl::StrCat(names[0], " and ", names[1], " differ in ",
                                                      found.differences.size(), " fields: nothing in them is alike"));
  }
  for (const FieldDifference& difference : found.differences) {
    v1::RecordDifference* out = response->add_differences();
    out->set_field(difference.field);
    out->set_first(difference.first);
    out->set_second(difference.second);
    if (difference.ratio) out->set_ratio(*difference.ratio);
  }
  response->set_same_fields(found.same);
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
