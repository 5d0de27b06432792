#pragma once

#include <map>
#include <string>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "google/protobuf/message.h"

namespace coilwright::cli {

// A JSON text as a person wrote it.
struct JsonSource {
  std::string name;  // file name, for errors
  std::string text;  // comments blanked out, lines kept
  // Line (from 1) of every key, by path in the writing of the contract: "machine.core.slots", "leads[2].pin".
  std::map<std::string, int> lines;
};

// Place of a field of a request, whose part at `holder` ("record", or "" for all of it) came from this source:
// "motor.json: line 12: machine.core.slots". A missing field is placed at the innermost object that stands there.
std::string PlaceOf(const JsonSource& source, absl::string_view holder, const std::string& field);

// Blanks `// ...` to the end of the line outside strings and notes where the keys stand. INVALID_ARGUMENT, one line
// with its number, for bytes that are not UTF-8 and for a key that stands twice in one object (JSON would silently drop
// the first).
absl::StatusOr<JsonSource> ReadJson(absl::string_view name, absl::string_view text);

// Proto3 JSON into `message`. INVALID_ARGUMENT, one line naming line and field, what was given and what is accepted.
absl::Status ParseJson(const JsonSource& source, google::protobuf::Message* message);

// Proto3 JSON with the field names of the contract, ending in a line feed.
std::string ToJson(const google::protobuf::Message& message);
// The same on one line, without the line feed.
std::string ToJsonLine(const google::protobuf::Message& message);

// One line of it into `message`; false where it is none. ParseJson says what is wrong with it.
bool ParseJsonLine(const std::string& line, google::protobuf::Message* message);

// "winding.turn_per_coil: no such field; did you mean turns_per_coil?", for a key of `message` and its whole path.
std::string NoSuchField(const google::protobuf::Descriptor* message, const std::string& path, const std::string& key);

}  // namespace coilwright::cli
