#include "rpc/archive_calls.h"

#include <openssl/evp.h>

#include <algorithm>
#include <memory>

#include "absl/strings/ascii.h"
#include "absl/strings/escaping.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"

namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Entry;
using archive::NewEntry;
using google::protobuf::Message;

constexpr size_t kMostRequestIdBytes = 100;

absl::Status Stale(const std::string& name) {
  return absl::AbortedError(absl::StrCat(
      name,
      " has been changed since the etag given was read: read it again, look at what changed, and send the change "
      "with the new etag"));
}

void Clear(Message* message, const char* field) {
  if (const auto* found = message->GetDescriptor()->FindFieldByName(field))
    message->GetReflection()->ClearField(message, found);
}

// The message in a field; null where it has none.
Message* Below(Message* message, const char* field) {
  const auto* found = message->GetDescriptor()->FindFieldByName(field);
  const bool any = found != nullptr && found->message_type() != nullptr && !found->is_repeated() &&
                   message->GetReflection()->HasField(*message, found);
  return any ? message->GetReflection()->MutableMessage(message, found) : nullptr;
}

}  // namespace

std::string NeedText(const Reader& reader, absl::string_view field, absl::string_view accepted) {
  std::string text = reader.Text(field, kMostNameBytes);
  if (absl::StripAsciiWhitespace(text).empty() && !reader.HasErrorAt(field)) reader.Missing(field, accepted);
  return text;
}

Author ReadAuthor(const Reader& reader) {
  Author author;
  author.recorded_by = NeedText(reader, "recorded_by", "who records it, 1 to 200 bytes");
  if (reader.message().GetDescriptor()->FindFieldByName("reason") != nullptr) author.reason = reader.Text("reason");
  return author;
}

void ReadRequestId(const Reader& request) {
  const std::string id = request.Text("request_id", kMostRequestIdBytes);
  for (const char c : id) {
    if (absl::ascii_isgraph(static_cast<unsigned char>(c))) continue;
    request.Wrong("request_id", absl::StrCat("\"", id, "\""),
                  "up to 100 letters, digits and marks of ASCII without blanks, or nothing");
    return;
  }
}

std::string ReadEtag(const Reader& reader, absl::string_view field) {
  constexpr absl::string_view kAccepted = "the etag of the revision that was read";
  std::string etag = reader.Text(field);
  if (etag.empty() && !reader.HasErrorAt(field)) reader.Missing(field, kAccepted);
  if (!etag.empty() && !IsEtag(etag)) reader.Wrong(field, absl::StrCat("\"", etag, "\""), kAccepted);
  return etag;
}

void RefuseLarge(const Reader& reader, absl::string_view field, const Message& message, size_t most) {
  if (message.ByteSizeLong() <= most) return;
  reader.Wrong(field, absl::StrCat(message.ByteSizeLong(), " bytes"), absl::StrCat("at most ", most, " bytes"));
}

std::string DigestOf(const Message& request) {
  const std::unique_ptr<Message> asked(request.New());
  asked->CopyFrom(request);
  Clear(asked.get(), "request_id");
  // Which revision was read is no part of what is asked: who repeats a call may have read what it made.
  Clear(asked.get(), "etag");
  for (const char* resource : {"winding", "job"}) {
    Message* const changed = Below(asked.get(), resource);
    Message* const revision = changed == nullptr ? nullptr : Below(changed, "revision");
    if (revision != nullptr) Clear(revision, "etag");
  }
  // The contract has no maps: equal messages have equal bytes.
  const std::string bytes = absl::StrCat(request.GetTypeName(), "\n", asked->SerializeAsString());
  unsigned char digest[EVP_MAX_MD_SIZE];
  unsigned int size = 0;
  EVP_Digest(bytes.data(), bytes.size(), digest, &size, EVP_sha256(), nullptr);
  return absl::BytesToHexString(absl::string_view(reinterpret_cast<const char*>(digest), size));
}

absl::StatusOr<std::optional<Entry>> Repeated(Archive& archive, const std::string& request_id,
                                              const std::string& digest) {
  if (request_id.empty()) return std::nullopt;
  auto made = archive.MadeBy(request_id);
  if (made.ok() && *made && (*made)->request_digest != digest) {
    return absl::AlreadyExistsError(
        absl::StrCat("request_id \"", request_id, "\" has been used for another call, which made ", (*made)->name,
                     ", revision ", (*made)->revision, "; a call that asks for something else needs an id of its own"));
  }
  return made;
}

absl::StatusOr<Entry> Append(Archive& archive, NewEntry entry) {
  const std::string name = entry.entry.name;
  auto kept = archive.Write(std::move(entry));
  if (absl::IsAborted(kept.status())) return Stale(name);
  return kept;
}

absl::StatusOr<Entry> CurrentFor(Archive& archive, const std::string& name, const std::string& etag, State wanted) {
  auto current = archive.Get(name);
  if (!current.ok()) return current;
  if (current->deleted != (wanted == State::kDeleted)) {
    return absl::FailedPreconditionError(current->deleted
                                             ? absl::StrCat(name, " is marked as deleted: undelete it first")
                                             : absl::StrCat(name, " is not marked as deleted"));
  }
  if (etag != EtagOf(name, current->revision)) return Stale(name);
  return current;
}

std::string Changed(const google::protobuf::FieldMask& mask) {
  constexpr int kTold = 5;
  const int told = std::min(mask.paths_size(), kTold);
  return absl::StrCat("changed: ", absl::StrJoin(mask.paths().begin(), mask.paths().begin() + told, ", "),
                      mask.paths_size() > told ? absl::StrCat(" and ", mask.paths_size() - told, " more") : "");
}

}  // namespace coilwright::rpc
