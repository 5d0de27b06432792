#pragma once

#include <string>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "google/protobuf/message.h"
#include "json.h"

// Files that a person writes for the service, as JSON.
namespace coilwright {

// Reads one into `message`. INVALID_ARGUMENT for a file that cannot be read, is larger than 1 MiB or is no such
// message, with file, line and field.
absl::StatusOr<cli::JsonSource> ReadJsonFile(const std::string& name, google::protobuf::Message* message);

// The wrong fields of a status, one line each: file, line, field, what was given and what is accepted. Other statuses,
// and one about a port, which no file holds, stay as they are.
absl::Status Placed(const cli::JsonSource& source, const absl::Status& status);

}  // namespace coilwright
