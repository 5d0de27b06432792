#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "command.h"

namespace coilwright::cli {

// --most and --page of commands that list.
std::vector<Flag> PagingFlags();

// "3 found", or how to go on.
std::string FoundText(int shown, const std::string& next_page_token);

// Tells beside the answer what is damaged in the archive and left out of it.
void TellDamaged(Session& session, const google::protobuf::RepeatedPtrField<std::string>& damaged);

// What --most says, 50 where it does not stand.
absl::StatusOr<int> MostWanted(const Arguments& arguments);

// As many pages as make up --most, from --page on, into `all`; `size` counts what a page holds.
template <class Request, class Answer, class Size>
absl::Status ReadPages(Session& session, Request* request, Answer* all, Size size) {
  constexpr int kLargestPage = 200;
  const auto most = MostWanted(session.arguments);
  if (!most.ok()) return most.status();
  request->set_page_token(session.arguments.Text("page"));
  do {
    request->set_page_size(std::min(kLargestPage, *most - (all->*size)()));
    Answer page;
    if (absl::Status called = session.Call(*request, &page); !called.ok()) return called;
    TellDamaged(session, page.damaged());
    all->MergeFrom(page);
    all->set_next_page_token(page.next_page_token());
    request->set_page_token(page.next_page_token());
  } while (!request->page_token().empty() && (all->*size)() < *most);
  return absl::OkStatus();
}

}  // namespace coilwright::cli
