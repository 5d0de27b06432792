#include "rpc/message_paths.h"

#include <algorithm>
#include <memory>

#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "google/protobuf/field_mask.pb.h"

namespace coilwright::rpc {
namespace {

using google::protobuf::Descriptor;
using google::protobuf::FieldDescriptor;
using google::protobuf::Message;
using google::protobuf::Reflection;

constexpr int kMostPaths = 200;

// The field that begins most like the name; null where none does.
const FieldDescriptor* Nearest(const Descriptor& type, absl::string_view name) {
  const FieldDescriptor* nearest = nullptr;
  size_t most = 3;
  for (int i = 0; i < type.field_count(); ++i) {
    const std::string& known = type.field(i)->name();
    const size_t shorter = std::min(known.size(), name.size());
    const size_t alike = static_cast<size_t>(
        std::mismatch(known.begin(), known.begin() + static_cast<long>(shorter), name.begin()).first - known.begin());
    if (alike > most) nearest = type.field(i), most = alike;
  }
  return nearest;
}

// One step in words; index -1 where it has none or one that is none.
Step StepOf(const Descriptor& type, absl::string_view part) {
  const size_t bracket = part.find('[');
  Step step{type.FindFieldByName(std::string(part.substr(0, bracket))), -1};
  if (step.field == nullptr || bracket == absl::string_view::npos || !step.field->is_repeated() || part.back() != ']')
    return step;
  int index = -1;
  if (absl::SimpleAtoi(part.substr(bracket + 1, part.size() - bracket - 2), &index) && index >= 0) step.index = index;
  return step;
}

// Everything but one field taken off.
std::unique_ptr<Message> Only(const Message& holder, const FieldDescriptor* field) {
  std::unique_ptr<Message> only(holder.New());
  only->CopyFrom(holder);
  std::vector<const FieldDescriptor*> set;
  only->GetReflection()->ListFields(*only, &set);
  for (const FieldDescriptor* other : set) {
    if (other != field) only->GetReflection()->ClearField(only.get(), other);
  }
  return only;
}

void PutOver(const Message& from, const Path& path, Message* to) {
  const FieldDescriptor* last = path.back().field;
  const Message* source = HolderOf(from, path);
  const bool given = source != nullptr && (last->is_repeated() ? source->GetReflection()->FieldSize(*source, last) > 0
                                                               : source->GetReflection()->HasField(*source, last));
  Message* holder = to;
  for (size_t i = 0; i + 1 < path.size(); ++i) {
    const Reflection* reflection = holder->GetReflection();
    if (!given && !reflection->HasField(*holder, path[i].field)) return;
    holder = reflection->MutableMessage(holder, path[i].field);
  }
  holder->GetReflection()->ClearField(holder, last);
  if (given) holder->MergeFrom(*Only(*source, last));
}

}  // namespace

std::optional<Path> PathBelow(const Descriptor& type, absl::string_view text, absl::string_view of,
                              std::string* meant) {
  const Descriptor* message = &type;
  Path path;
  for (const absl::string_view part : absl::StrSplit(text, '.')) {
    if (message == nullptr) {
      *meant = absl::StrCat("the path of a field of ", of, "; ", InWords(path), " ends it");
      return std::nullopt;
    }
    const Step step = StepOf(*message, part);
    if (step.field == nullptr) {
      const FieldDescriptor* nearest = Nearest(*message, part.substr(0, part.find('[')));
      *meant = nearest == nullptr
                   ? absl::StrCat("the path of a field of ", of)
                   : absl::StrCat("did you mean \"", InWords(path), path.empty() ? "" : ".", nearest->name(), "\"?");
      return std::nullopt;
    }
    path.push_back(step);
    message = step.field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE ? step.field->message_type() : nullptr;
  }
  return path;
}

std::string InWords(const Path& path) {
  return absl::StrJoin(path, ".", [](std::string* out, const Step& step) {
    absl::StrAppend(out, step.field->name());
    if (step.index >= 0) absl::StrAppend(out, "[", step.index, "]");
  });
}

const Message* HolderOf(const Message& root, const Path& path) {
  const Message* holder = &root;
  for (size_t i = 0; i + 1 < path.size(); ++i) {
    const Step& step = path[i];
    const Reflection* reflection = holder->GetReflection();
    if (step.field->is_repeated() != (step.index >= 0)) return nullptr;
    if (!step.field->is_repeated()) {
      if (!reflection->HasField(*holder, step.field)) return nullptr;
      holder = &reflection->GetMessage(*holder, step.field);
    } else {
      if (step.index >= reflection->FieldSize(*holder, step.field)) return nullptr;
      holder = &reflection->GetRepeatedMessage(*holder, step.field, step.index);
    }
  }
  return holder;
}

bool ApplyMask(const Reader& request, std::initializer_list<absl::string_view> allowed, const Message& from,
               Message* to) {
  const auto& mask = static_cast<const google::protobuf::FieldMask&>(request.At("update_mask").message());
  const std::string accepted =
      absl::StrCat("one of, or a path below, ", absl::StrJoin(allowed.begin(), allowed.end(), ", "));
  if (mask.paths().empty()) request.Wrong("update_mask", "nothing", accepted);
  if (mask.paths_size() > kMostPaths)
    request.Wrong("update_mask", absl::StrCat(mask.paths_size(), " paths"), absl::StrCat("at most ", kMostPaths));
  bool right = !mask.paths().empty() && mask.paths_size() <= kMostPaths;
  std::vector<Path> paths;
  for (int i = 0; i < mask.paths_size() && mask.paths_size() <= kMostPaths; ++i) {
    std::string meant = accepted;
    std::optional<Path> path = PathBelow(*from.GetDescriptor(), mask.paths(i), "what may be changed", &meant);
    if (path && std::find(allowed.begin(), allowed.end(), path->front().field->name()) == allowed.end()) {
      meant = accepted;
      path.reset();
    }
    const auto inside = [](const Step& step) { return step.field->is_repeated(); };
    if (path && (path->back().index >= 0 || std::any_of(path->begin(), path->end() - 1, inside))) {
      meant = "repeated fields are replaced whole: the path that ends with the field";
      path.reset();
    }
    if (path) {
      paths.push_back(*std::move(path));
    } else {
      request.Wrong(absl::StrCat("update_mask.paths[", i, "]"), absl::StrCat("\"", mask.paths(i), "\""), meant);
      right = false;
    }
  }
  if (!right) return false;
  for (const Path& path : paths) PutOver(from, path, to);
  return true;
}

}  // namespace coilwright::rpc
