#pragma once

#include <memory>
#include <string>

#include "absl/status/statusor.h"
#include "rpc/server.h"

namespace coilwright {

// Starts a server that serves by the shop's own settings in this file, or by none where the name is empty.
// INVALID_ARGUMENT for a file that cannot be read, is larger than 1 MiB or is wrong: one line per wrong field, with
// file, line, field, what was given and what is accepted. Else as Server::Start.
absl::StatusOr<std::unique_ptr<rpc::Server>> StartWithSettings(rpc::ServerOptions options,
                                                               const std::string& settings_file);

}  // namespace coilwright
