#include "json_file.h"

#include <fstream>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "standards/errors.h"

namespace coilwright {
namespace {

absl::StatusOr<std::string> ReadText(const std::string& name) {
  constexpr size_t kMostBytes = 1 << 20;
  std::ifstream file(name, std::ios::binary);
  std::string text(kMostBytes + 1, '\0');
  if (file) file.read(&text[0], static_cast<std::streamsize>(text.size()));
  if (!file.is_open() || file.bad() || (file.fail() && !file.eof()))
    return absl::InvalidArgumentError(absl::StrCat(name, ": cannot be read"));
  text.resize(static_cast<size_t>(file.gcount()));
  if (text.size() > kMostBytes) return absl::InvalidArgumentError(absl::StrCat(name, ": larger than 1 MiB"));
  return text;
}

}  // namespace

absl::StatusOr<cli::JsonSource> ReadJsonFile(const std::string& name, google::protobuf::Message* message) {
  const auto text = ReadText(name);
  if (!text.ok()) return text.status();
  const auto source = cli::ReadJson(name, *text);
  if (!source.ok()) return source.status();
  if (absl::Status parsed = cli::ParseJson(*source, message); !parsed.ok()) return parsed;
  return *source;
}

absl::Status Placed(const cli::JsonSource& source, const absl::Status& status) {
  std::vector<std::string> lines;
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) {
    if (error.field == "port") return status;
    lines.push_back(
        absl::StrCat(cli::PlaceOf(source, "", error.field), ": got ", error.given, ", accepted: ", error.accepted));
  }
  return lines.empty() ? status : absl::InvalidArgumentError(absl::StrJoin(lines, "\n"));
}

}  // namespace coilwright
