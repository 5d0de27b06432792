#pragma once

#include <string>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/string_view.h"
#include "enum_text.h"
#include "flags.h"
#include "google/protobuf/message.h"

namespace coilwright::cli {

using coilwright::EnumText;

// Sets the field at `path` ("change.rated_volts") from a text as it stands on a command line:
//   numbers         230, 0.75
//   switches        true, false
//   enumerations    any word or words of the value that fit one value only: "iec", "fully-rewound"
//   quantities      with their unit: "1.09 mm", "0.043in", "22C", "72F", "1hp" (the as_read messages of the contract)
//   lists           values separated by commas, added to what is there
// INVALID_ARGUMENT, one line, saying what was given and what is accepted.
absl::Status SetField(google::protobuf::Message* request, absl::string_view path, absl::string_view text);

// Every flag given that names a field, in its field, but for those the command reads itself; the error names the flag.
absl::Status FillRequest(const Arguments& arguments, google::protobuf::Message* request);

// INVALID_ARGUMENT for a text that is not what was asked for.
absl::Status Got(absl::string_view text, absl::string_view accepted);

// What an enumeration accepts, in the words a person types: "iec-60034-1".
std::vector<std::string> EnumWords(const google::protobuf::EnumDescriptor* type);

}  // namespace coilwright::cli
