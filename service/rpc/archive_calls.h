#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "archive/archive.h"
#include "google/protobuf/field_mask.pb.h"
#include "rpc/archive_entries.h"
#include "rpc/archive_names.h"
#include "rpc/reader.h"

// What calls to the archive share: who makes them, once per request id, on the revision that was read.
namespace coilwright::rpc {

inline constexpr size_t kMostNameBytes = 200;  // of persons
inline constexpr size_t kMostRecordBytes = 256 << 10;
inline constexpr size_t kMostReadingsBytes = 1 << 20;

struct Author {
  std::string recorded_by, reason;
};
// Fields "recorded_by", which is needed, and "reason" where the message has one.
Author ReadAuthor(const Reader& reader);
// Text that is needed, of a few words.
std::string NeedText(const Reader& reader, absl::string_view field, absl::string_view accepted);
void ReadRequestId(const Reader& request);
std::string ReadEtag(const Reader& reader, absl::string_view field);
// Refuses a message of more bytes than can be kept.
void RefuseLarge(const Reader& reader, absl::string_view field, const google::protobuf::Message& message, size_t most);

// SHA-256, in hexadecimal, of what a request asks for: its type and its bytes without the request id and the etag.
std::string DigestOf(const google::protobuf::Message& request);

// What an earlier call with this request id made; none where there was none or no id is given. ALREADY_EXISTS where
// that call asked for something else.
absl::StatusOr<std::optional<archive::Entry>> Repeated(archive::Archive& archive, const std::string& request_id,
                                                       const std::string& digest);
absl::StatusOr<archive::Entry> Append(archive::Archive& archive, archive::NewEntry entry);

// Appends what `make` returns, an absl::StatusOr<archive::NewEntry>, and fills `out` with it as kept; a call repeated
// with its request id is answered as the first was, and `make` is not called.
template <typename Request, typename Make, typename Resource>
absl::Status WriteOnce(archive::Archive& archive, const Request& request, Make make, Resource* out) {
  const std::string digest = request.request_id().empty() ? "" : DigestOf(request);
  auto repeated = Repeated(archive, request.request_id(), digest);
  if (!repeated.ok()) return repeated.status();
  if (*repeated) return Fill(**repeated, out);
  absl::StatusOr<archive::NewEntry> entry = make();
  if (!entry.ok()) return entry.status();
  entry->entry.request_id = request.request_id();
  entry->entry.request_digest = digest;
  const auto kept = Append(archive, *std::move(entry));
  if (!kept.ok()) return kept.status();
  return Fill(*kept, out);
}

enum class State { kLive, kDeleted };

// The current revision of what a call changes: NOT_FOUND; FAILED_PRECONDITION unless it is in the state wanted; ABORTED
// where the etag is of an earlier revision.
absl::StatusOr<archive::Entry> CurrentFor(archive::Archive& archive, const std::string& name, const std::string& etag,
                                          State wanted);

// "changed: title, note": what a mask names, a few of them.
std::string Changed(const google::protobuf::FieldMask& mask);

// The first revision of a resource. What it did stands in its revision.what.
template <typename Resource>
archive::NewEntry FirstEntryOf(const std::string& name, const Author& author, Resource resource) {
  resource.mutable_revision()->set_recorded_by(author.recorded_by);
  resource.mutable_revision()->set_reason(author.reason);
  return NewEntryOf(name, std::move(resource));
}

// The one after `current`.
template <typename Resource>
archive::NewEntry NextEntryOf(const archive::Entry& current, const Author& author, Resource resource,
                              bool deleted = false) {
  archive::NewEntry entry = FirstEntryOf(current.name, author, std::move(resource));
  entry.follows = current.revision;
  entry.entry.deleted = deleted;
  return entry;
}

// Appends the revision that `change` makes of the current one: it is given the resource, sets its revision.what, and
// returns an absl::Status. FAILED_PRECONDITION where nothing but the revision would differ.
template <typename Request, typename Resource, typename Change>
absl::Status ChangeOnce(archive::Archive& archive, const Request& request, const std::string& name,
                        const std::string& etag, const Author& author, Change change, Resource* out) {
  const auto make = [&]() -> absl::StatusOr<archive::NewEntry> {
    const auto current = CurrentFor(archive, name, etag, State::kLive);
    if (!current.ok()) return current.status();
    Resource resource;
    if (absl::Status filled = Fill(*current, &resource); !filled.ok()) return filled;
    resource.mutable_revision()->clear_what();
    Resource before = resource;
    if (absl::Status changed = change(resource); !changed.ok()) return changed;
    *before.mutable_revision() = resource.revision();
    // The contract has no maps: equal messages have equal bytes.
    if (before.SerializeAsString() == resource.SerializeAsString())
      return absl::FailedPreconditionError(absl::StrCat(name, " is like that already: nothing would change"));
    return NextEntryOf(*current, author, std::move(resource));
  };
  return WriteOnce(archive, request, make, out);
}

// The next revision with the mark of deletion set, or taken off.
template <typename Request, typename Resource>
absl::Status MarkOnce(archive::Archive& archive, const Request& request, archive::Kind kind, bool deleted,
                      Resource* out) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const std::string name = ReadName(reader, "name", kind);
  const std::string etag = ReadEtag(reader, "etag");
  const Author author = ReadAuthor(reader);
  ReadRequestId(reader);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto make = [&]() -> absl::StatusOr<archive::NewEntry> {
    const auto current = CurrentFor(archive, name, etag, deleted ? State::kLive : State::kDeleted);
    if (!current.ok()) return current.status();
    Resource resource;
    if (absl::Status filled = Fill(*current, &resource); !filled.ok()) return filled;
    resource.mutable_revision()->set_what(deleted ? "set aside" : "brought back");
    return NextEntryOf(*current, author, std::move(resource), deleted);
  };
  return WriteOnce(archive, request, make, out);
}

// The revision asked for, or the latest.
template <typename Request, typename Resource>
absl::Status GetResource(archive::Archive& archive, const Request& request, archive::Kind kind, Resource* out) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const std::string name = ReadName(reader, "name", kind);
  const std::optional<int> revision = reader.Count("revision", 1, 1000000000);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const auto entry = archive.Get(name, revision);
  if (!entry.ok()) return entry.status();
  return Fill(*entry, out);
}

}  // namespace coilwright::rpc
