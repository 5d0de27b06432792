#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "archive/archive.h"
#include "rpc/archive_entries.h"
#include "rpc/archive_names.h"
#include "rpc/reader.h"

namespace coilwright::rpc {

// What a page token belongs to: a list with its filter. Page size aside, the next page has to ask for the same.
std::string ListMark(const google::protobuf::Message& request);
// Size of a page, `usual` where the request gives none, never more than `most`.
int ReadPageSize(const Reader& request, int usual, int most);
// Where the page begins that "page_token" names; 0 for the first. A token of another list is refused.
int64_t ReadPageToken(const Reader& request, const std::string& mark);
std::string PageToken(const std::string& mark, int64_t next);

// Fills a page with what the query finds, an entry at a time by `add`, which returns a status, and sets the token of
// the next. Entries are read so few at a time and the page ends so early that no answer outgrows what a client takes,
// whatever stands in them.
template <typename Response, typename Add>
absl::Status FillPage(archive::Archive& archive, archive::Query query, const std::string& mark, int page_size,
                      int at_a_time, Response* response, Add add) {
  constexpr size_t kEnoughBytes = 1 << 20;
  for (int left = page_size; left > 0;) {
    query.most = std::min(left, at_a_time);
    const auto found = archive.Find(query);
    if (!found.ok()) return found.status();
    for (const archive::Entry& entry : found->entries) {
      if (entry.damaged) {
        response->add_damaged(archive::Described(entry));
        continue;
      }
      if (absl::Status added = add(entry); !added.ok()) return added;
    }
    left -= static_cast<int>(found->entries.size());
    query.after = found->next;
    if (found->next == 0) return absl::OkStatus();
    if (response->ByteSizeLong() > kEnoughBytes) break;
  }
  response->set_next_page_token(PageToken(mark, query.after));
  return absl::OkStatus();
}

// What a query finds, all of it, an entry at a time; `take` says whether to go on.
template <typename Resource, typename Take>
absl::Status ForEach(archive::Archive& archive, archive::Query query, Take take) {
  query.most = 10;
  do {
    const auto found = archive.Find(query);
    if (!found.ok()) return found.status();
    for (const archive::Entry& entry : found->entries) {
      Resource resource;
      if (absl::Status filled = Fill(entry, &resource); !filled.ok()) return filled;
      if (!take(resource)) return absl::OkStatus();
    }
    query.after = found->next;
  } while (query.after != 0);
  return absl::OkStatus();
}

// The history of a resource, newest first.
template <typename Resource, typename Request, typename Response>
absl::Status FillHistory(archive::Archive& archive, const Request& request, archive::Kind kind, Response* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const std::string name = ReadName(reader, "name", kind);
  const std::string mark = ListMark(request);
  const int page_size = ReadPageSize(reader, 50, 200);
  const int64_t before = ReadPageToken(reader, mark);
  if (!errors.empty()) return standards::InvalidFields(errors);
  // They come with their payloads: a few at a time.
  std::optional<int> from = before > 0 ? std::optional<int>(static_cast<int>(before)) : std::nullopt;
  for (int left = page_size; left > 0;) {
    const auto entries = archive.History(name, from, std::min(left, 20));
    if (!entries.ok()) return entries.status();
    // A deleted one has a history too: none at all is no resource.
    if (entries->empty() && !from) return absl::NotFoundError(absl::StrCat("there is no ", name));
    for (const archive::Entry& entry : *entries) {
      from = entry.revision;
      if (entry.damaged) {
        response->add_damaged(archive::Described(entry));
        continue;
      }
      Resource resource;
      if (absl::Status filled = Fill(entry, &resource); !filled.ok()) return filled;
      *response->add_revisions() = std::move(*resource.mutable_revision());
    }
    if (entries->empty() || *from <= 1) return absl::OkStatus();
    left -= static_cast<int>(entries->size());
  }
  response->set_next_page_token(PageToken(mark, *from));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
