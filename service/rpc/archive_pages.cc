#include "rpc/archive_pages.h"

#include <memory>

#include "absl/strings/match.h"
#include "absl/strings/numbers.h"

namespace coilwright::rpc {

std::string ListMark(const google::protobuf::Message& request) {
  const std::unique_ptr<google::protobuf::Message> filter(request.New());
  filter->CopyFrom(request);
  for (const char* field : {"page_size", "page_token"}) {
    filter->GetReflection()->ClearField(filter.get(), filter->GetDescriptor()->FindFieldByName(field));
  }
  return Mark(absl::StrCat(request.GetTypeName(), "\n", filter->SerializeAsString()));
}

int ReadPageSize(const Reader& request, int usual, int most) {
  const auto& message = request.message();
  const int given = message.GetReflection()->GetInt32(message, message.GetDescriptor()->FindFieldByName("page_size"));
  if (given < 0) request.Wrong("page_size", absl::StrCat(given), absl::StrCat("0 (for ", usual, ") to ", most));
  return given <= 0 ? usual : std::min(given, most);
}

int64_t ReadPageToken(const Reader& request, const std::string& mark) {
  const std::string token = request.Text("page_token");
  int64_t next = 0;
  if (token.empty()) return 0;
  const std::string prefix = absl::StrCat(mark, ".");
  if (absl::StartsWith(token, prefix) && absl::SimpleAtoi(absl::string_view(token).substr(prefix.size()), &next) &&
      next > 0 && PageToken(mark, next) == token)
    return next;
  request.Wrong("page_token", "a token of another list",
                "next_page_token of the page before, with everything else as it was asked for then");
  return 0;
}

std::string PageToken(const std::string& mark, int64_t next) { return absl::StrCat(mark, ".", next); }

}  // namespace coilwright::rpc
