#include "settings_file.h"

#include "coilwright/v1/settings_file.pb.h"
#include "json_file.h"

namespace coilwright {

absl::StatusOr<std::unique_ptr<rpc::Server>> StartWithSettings(rpc::ServerOptions options,
                                                               const std::string& settings_file) {
  if (settings_file.empty()) return rpc::Server::Start(options);
  v1::SettingsFile file;
  const auto source = ReadJsonFile(settings_file, &file);
  if (!source.ok()) return source.status();
  options.settings = &file;
  auto server = rpc::Server::Start(options);
  if (!server.ok()) return Placed(*source, server.status());
  return server;
}

}  // namespace coilwright
