#include "field_path.h"

#include <utility>
#include <vector>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "google/protobuf/descriptor.h"
#include "json.h"
#include "request.h"
#include "wire_choice.h"

namespace coilwright::cli {
namespace {

using google::protobuf::FieldDescriptor;
using google::protobuf::Message;

absl::Status WrongPath(absl::string_view path, absl::string_view what) {
  return absl::InvalidArgumentError(absl::StrCat(path, ": ", what));
}

// A length, a mass, ...: one reading with its unit.
bool IsQuantity(const google::protobuf::Descriptor* type) {
  const auto* read = type->FindOneofByName("as_read");
  return read != nullptr && read->field_count() == type->field_count();
}

absl::Status SetStrands(Message* winding, const FieldDescriptor* field, absl::string_view text) {
  v1::StrandList strands;
  if (absl::Status read = ReadStrands(text, &strands); !read.ok()) return read;
  for (const v1::Strand& strand : strands.strands())
    winding->GetReflection()->AddMessage(winding, field)->CopyFrom(strand);
  return absl::OkStatus();
}

// The last step.
absl::Status SetLeaf(Message* message, const FieldDescriptor* field, absl::string_view text) {
  const auto* type = field->message_type();
  const bool strands = field->is_repeated() && type == v1::Strand::descriptor();
  if (!text.empty() && type != nullptr && !strands && !IsQuantity(type)) {
    std::vector<std::string> names;
    for (int i = 0; i < type->field_count(); ++i)
      names.push_back(absl::StrCat(field->name(), ".", type->field(i)->name()));
    return absl::InvalidArgumentError(
        absl::StrCat("is a group of values; accepted: one of ", absl::StrJoin(names, ", ")));
  }
  const auto* reflection = message->GetReflection();
  const auto* one_of = field->real_containing_oneof();
  // A reading in another unit makes way.
  if (one_of != nullptr)
    reflection->ClearOneof(message, one_of);
  else
    reflection->ClearField(message, field);
  if (text.empty()) return absl::OkStatus();
  return strands ? SetStrands(message, field, text) : SetField(message, field->name(), text);
}

}  // namespace

absl::StatusOr<std::string> Assign(Message* message, absl::string_view assignment) {
  const size_t equals = assignment.find('=');
  if (equals == absl::string_view::npos || equals == 0) {
    return absl::InvalidArgumentError(
        absl::StrCat("got \"", assignment, "\", accepted: PATH=VALUE, such as winding.turns_per_coil=34"));
  }
  const std::string path(absl::StripAsciiWhitespace(assignment.substr(0, equals)));
  const absl::string_view text = absl::StripAsciiWhitespace(assignment.substr(equals + 1));
  const std::vector<std::string> steps = absl::StrSplit(path, '.');
  std::string walked, mask;
  for (size_t i = 0; i < steps.size(); ++i) {
    const size_t bracket = steps[i].find('[');
    const std::string key = steps[i].substr(0, bracket);
    const FieldDescriptor* field = message->GetDescriptor()->FindFieldByName(key);
    const std::string here = absl::StrCat(walked, walked.empty() ? "" : ".", key);
    if (field == nullptr) return absl::InvalidArgumentError(NoSuchField(message->GetDescriptor(), here, key));
    if (mask.empty() && field->is_repeated()) mask = here;
    walked = absl::StrCat(walked, walked.empty() ? "" : ".", steps[i]);
    const bool last = i + 1 == steps.size();
    const auto* reflection = message->GetReflection();
    if (bracket != std::string::npos) {
      int index = 0;
      absl::string_view inside = steps[i];
      inside.remove_prefix(bracket + 1);
      const int size = field->is_repeated() ? reflection->FieldSize(*message, field) : 0;
      if (!absl::ConsumeSuffix(&inside, "]") || !absl::SimpleAtoi(inside, &index) || !field->is_repeated() ||
          field->message_type() == nullptr || index < 0 || index > size) {
        return WrongPath(walked, absl::StrCat("no such element; accepted: ", here, "[0] to ", here, "[", size, "]"));
      }
      Message* element = index == size ? reflection->AddMessage(message, field)
                                       : reflection->MutableRepeatedMessage(message, field, index);
      if (last)
        return WrongPath(path, absl::StrCat("is one of a list; accepted: a value in it, or ", here, " for all of it"));
      message = element;
    } else if (!last) {
      if (field->message_type() == nullptr) return WrongPath(here, "has no parts");
      if (field->is_repeated()) return WrongPath(here, absl::StrCat("is a list; accepted: ", here, "[0] and so on"));
      message = reflection->MutableMessage(message, field);
    } else if (absl::Status set = SetLeaf(message, field, text); !set.ok()) {
      return WrongPath(path, set.message());
    }
  }
  return mask.empty() ? path : mask;
}

}  // namespace coilwright::cli
