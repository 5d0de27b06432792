#pragma once

#include <functional>
#include <initializer_list>
#include <optional>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "google/protobuf/message.h"
#include "rpc/reader.h"

namespace coilwright::rpc {

// The way from a message to a field below it: "winding.strands[0].wire".
struct Step {
  const google::protobuf::FieldDescriptor* field = nullptr;
  int index = -1;  // of one element; -1 for the field itself
};
using Path = std::vector<Step>;

// None for a text that names no field below a message of this type; `meant` then says what should have been written:
// "the path of a field of the record, ..." or a guess. Indices of what is not repeated are none.
std::optional<Path> PathBelow(const google::protobuf::Descriptor& type, absl::string_view text, absl::string_view of,
                              std::string* meant);

// In words again.
std::string InWords(const Path& path);

// The message that holds the last field of a path; null where something on the way is absent.
const google::protobuf::Message* HolderOf(const google::protobuf::Message& root, const Path& path);

// Puts what the mask in field "update_mask" of a request names from one message into another of the same type, or takes
// it off there where the first lacks it. Paths begin with one of `allowed`; wrong ones go to the reader's errors, and
// nothing is changed then. False where something was wrong.
bool ApplyMask(const Reader& request, std::initializer_list<absl::string_view> allowed,
               const google::protobuf::Message& from, google::protobuf::Message* to);

}  // namespace coilwright::rpc
