#include "settings_file.h"

#include <fstream>
#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "coilwright/v1/settings_file.pb.h"
#include "json.h"
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

absl::Status Placed(const cli::JsonSource& source, const absl::Status& status) {
  std::vector<std::string> lines;
  for (const standards::FieldError& error : standards::FieldErrorsOf(status)) {
    if (error.field == "port") return status;
    lines.push_back(
        absl::StrCat(cli::PlaceOf(source, "", error.field), ": got ", error.given, ", accepted: ", error.accepted));
  }
  return lines.empty() ? status : absl::InvalidArgumentError(absl::StrJoin(lines, "\n"));
}

}  // namespace

absl::StatusOr<std::unique_ptr<rpc::Server>> StartWithSettings(rpc::ServerOptions options,
                                                               const std::string& settings_file) {
  if (settings_file.empty()) return rpc::Server::Start(options);
  const auto text = ReadText(settings_file);
  if (!text.ok()) return text.status();
  const auto source = cli::ReadJson(settings_file, *text);
  if (!source.ok()) return source.status();
  v1::SettingsFile file;
  if (absl::Status parsed = cli::ParseJson(*source, &file); !parsed.ok()) return parsed;
  options.settings = &file;
  auto server = rpc::Server::Start(options);
  if (!server.ok()) return Placed(*source, server.status());
  return server;
}

}  // namespace coilwright
