#include "json.h"

#include <algorithm>
#include <memory>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"
#include "google/protobuf/descriptor.h"
#include "google/protobuf/util/json_util.h"
#include "google/protobuf/util/type_resolver_util.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using google::protobuf::Descriptor;
using google::protobuf::FieldDescriptor;

// No message of the contract nests nearly as deep.
constexpr size_t kDeepest = 100;

absl::Status At(const std::string& name, int line, absl::string_view what) {
  return absl::InvalidArgumentError(line > 0 ? absl::StrCat(name, ": line ", line, ": ", what)
                                             : absl::StrCat(name, ": ", what));
}

// Index of the closing quote of the string that opens at `at`, or the end of the text.
size_t EndOfString(absl::string_view text, size_t at) {
  for (size_t i = at + 1; i < text.size(); ++i) {
    if (text[i] == '\\')
      ++i;
    else if (text[i] == '"')
      return i;
  }
  return text.size();
}

std::string WithoutComments(absl::string_view text) {
  std::string plain(text);
  for (size_t i = 0; i < plain.size(); ++i) {
    if (plain[i] == '"') {
      i = EndOfString(plain, i);
    } else if (plain[i] == '/' && i + 1 < plain.size() && plain[i + 1] == '/') {
      for (; i < plain.size() && plain[i] != '\n'; ++i) plain[i] = ' ';
    }
  }
  return plain;
}

// Keys by path. The parser judges the syntax; this walk only has to survive whatever it meets.
absl::StatusOr<std::map<std::string, int>> KeyLines(const std::string& name, absl::string_view text) {
  struct Open {
    bool object;
    std::string path;  // of what it holds; of the current key within an object
    std::string base;  // of itself
    int index;
    bool key_next;
  };
  std::map<std::string, int> lines;
  std::vector<Open> open;
  int line = 1;
  const auto child = [&]() -> std::string {
    if (open.empty()) return "";
    return open.back().object ? open.back().path : absl::StrCat(open.back().base, "[", open.back().index, "]");
  };
  for (size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '\n') {
      ++line;
    } else if (c == '{' || c == '[') {
      if (open.size() == kDeepest) return lines;  // the parser refuses it
      const std::string base = child();
      open.push_back({c == '{', base, base, 0, c == '{'});
    } else if (c == '}' || c == ']') {
      if (!open.empty()) open.pop_back();
    } else if (c == ',' && !open.empty()) {
      ++open.back().index;
      open.back().key_next = open.back().object;
    } else if (c == '"') {
      const size_t end = EndOfString(text, i);
      if (!open.empty() && open.back().key_next) {
        const absl::string_view key = text.substr(i + 1, end - i - 1);
        open.back().path = absl::StrCat(open.back().base, open.back().base.empty() ? "" : ".", key);
        open.back().key_next = false;
        if (!lines.emplace(open.back().path, line).second) {
          return At(name, line,
                    absl::StrCat(open.back().path, " stands twice, first in line ", lines[open.back().path]));
        }
      }
      line +=
          static_cast<int>(std::count(text.begin() + static_cast<std::ptrdiff_t>(i),
                                      text.begin() + static_cast<std::ptrdiff_t>(std::min(end, text.size())), '\n'));
      i = end;
    }
  }
  return lines;
}

// Field of the contract at a path as the parser prints it; null where there is none. "" leaves the root.
const FieldDescriptor* FieldAt(const Descriptor* root, absl::string_view path) {
  const Descriptor* message = root;
  const FieldDescriptor* field = nullptr;
  for (absl::string_view step : absl::StrSplit(path, '.')) {
    const std::string key(step.substr(0, step.find('[')));
    field = message == nullptr ? nullptr : message->FindFieldByName(key);
    if (field == nullptr && message != nullptr) field = message->FindFieldByCamelcaseName(key);
    if (field == nullptr) return nullptr;
    message = field->message_type();
  }
  return field;
}

std::string Accepted(const FieldDescriptor* field) {
  if (field == nullptr) return "a value of the contract";
  switch (field->cpp_type()) {
    case FieldDescriptor::CPPTYPE_INT32:
      return "a whole number";
    case FieldDescriptor::CPPTYPE_DOUBLE:
      return "a number";
    case FieldDescriptor::CPPTYPE_BOOL:
      return "true or false";
    case FieldDescriptor::CPPTYPE_STRING:
      return "a text in double quotes";
    case FieldDescriptor::CPPTYPE_ENUM: {
      std::vector<std::string> values;
      for (int i = 0; i < field->enum_type()->value_count(); ++i) {
        if (field->enum_type()->value(i)->number() != 0) values.push_back(field->enum_type()->value(i)->name());
      }
      return absl::StrJoin(values, ", ");
    }
    case FieldDescriptor::CPPTYPE_MESSAGE: {
      std::vector<std::string> names;
      for (int i = 0; i < field->message_type()->field_count(); ++i)
        names.push_back(field->message_type()->field(i)->name());
      return absl::StrCat("an object { ... } with ", absl::StrJoin(names, ", "));
    }
    default:
      return "a value of the contract";
  }
}

// The parser shows the text around a syntax error and a caret below it; this finds the line of the caret.
int LineOfCaret(absl::string_view text, absl::string_view shown, size_t caret) {
  const size_t start = text.find(shown);
  if (start == absl::string_view::npos) return 0;
  const size_t at = std::min(start + caret, text.size());
  return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}

// One line from what the parser says, which takes three forms:
//   "<what>.\n<text around it>\n    ^"      a slip of syntax
//   "(path) key: Cannot find field."        without "(path) " at the root
//   "(path): invalid value V for type T"
absl::Status Explain(const JsonSource& source, const Descriptor* root, absl::string_view message) {
  const size_t first = message.find('\n');
  const size_t last = message.rfind('\n');
  if (first != last) {
    const int line = LineOfCaret(source.text, message.substr(first + 1, last - first - 1), message.size() - last - 2);
    return At(source.name, line, absl::StrCat("not JSON: ", absl::StripSuffix(message.substr(0, first), ".")));
  }
  const size_t closing = absl::StartsWith(message, "(") ? message.find(')') : absl::string_view::npos;
  const std::string parent(closing == absl::string_view::npos ? "" : message.substr(1, closing - 1));
  absl::string_view rest = closing == absl::string_view::npos ? message : message.substr(closing + 1);
  const auto line_of = [&](const std::string& path) {
    const auto found = source.lines.find(path);
    return found == source.lines.end() ? 0 : found->second;
  };
  if (absl::ConsumeSuffix(&rest, ": Cannot find field.")) {
    const std::string key(absl::StripPrefix(rest, " "));
    const std::string path = parent.empty() ? key : absl::StrCat(parent, ".", key);
    const FieldDescriptor* holder = parent.empty() ? nullptr : FieldAt(root, parent);
    return At(source.name, line_of(path), NoSuchField(holder == nullptr ? root : holder->message_type(), path, key));
  }
  if (absl::ConsumePrefix(&rest, ": invalid value ")) {
    if (absl::StrContains(rest, "is already set")) {
      return At(source.name, line_of(parent), absl::StrCat(parent, ": two units given, accepted: one"));
    }
    const absl::string_view value = rest.substr(0, rest.rfind(" for type "));
    return At(source.name, line_of(parent),
              absl::StrCat(parent, ": got ", value, ", accepted: ", Accepted(FieldAt(root, parent))));
  }
  return At(source.name, line_of(parent), absl::StripPrefix(message, ": "));
}

// The types of the contract, and for details of an error the contract's own copy of the common one (status.proto): a
// status that is kept, with the fields that were wrong, goes out and comes in again.
class Types : public google::protobuf::util::TypeResolver {
 public:
  google::protobuf::util::Status ResolveMessageType(const std::string& url, google::protobuf::Type* type) override {
    return types_->ResolveMessageType(
        url == "type.googleapis.com/google.rpc.BadRequest" ? "type.googleapis.com/coilwright.v1.FieldViolations" : url,
        type);
  }
  google::protobuf::util::Status ResolveEnumType(const std::string& url, google::protobuf::Enum* type) override {
    return types_->ResolveEnumType(url, type);
  }

 private:
  std::unique_ptr<google::protobuf::util::TypeResolver> types_{google::protobuf::util::NewTypeResolverForDescriptorPool(
      "type.googleapis.com", google::protobuf::DescriptorPool::generated_pool())};
};

google::protobuf::util::TypeResolver* ContractTypes() {
  static auto* const types = new Types();
  return types;
}

std::string TypeUrl(const google::protobuf::Message& message) {
  return absl::StrCat("type.googleapis.com/", message.GetDescriptor()->full_name());
}

std::string Printed(const google::protobuf::Message& message, bool lines) {
  google::protobuf::util::JsonPrintOptions options;
  options.add_whitespace = lines;
  options.preserve_proto_field_names = true;
  std::string json;
  // Fails only for times out of range and details of a type that is not ours; the contract's answers hold neither.
  const auto printed = google::protobuf::util::BinaryToJsonString(ContractTypes(), TypeUrl(message),
                                                                  message.SerializeAsString(), &json, options);
  return printed.ok() ? json : "{}";
}

}  // namespace

std::string NoSuchField(const Descriptor* message, const std::string& path, const std::string& key) {
  std::vector<std::string> known;
  for (int i = 0; message != nullptr && i < message->field_count(); ++i) known.push_back(message->field(i)->name());
  // The nearest of units is seldom the one that was meant.
  const bool unit = message != nullptr && message->FindOneofByName("as_read") != nullptr;
  const std::string nearest = unit ? "" : Nearest(key, known);
  return absl::StrCat(path, ": no such field; ",
                      nearest.empty() ? absl::StrCat("accepted: ", absl::StrJoin(known, ", "))
                                      : absl::StrCat("did you mean ", nearest, "?"));
}

absl::StatusOr<JsonSource> ReadJson(absl::string_view name, absl::string_view text) {
  JsonSource source{std::string(name), "", {}};
  if (const int line = FirstLineNotUtf8(text); line > 0) {
    return At(source.name, line, "not UTF-8; save the file as UTF-8");
  }
  source.text = WithoutComments(absl::StripPrefix(text, "\xEF\xBB\xBF"));
  if (source.text.find_first_not_of(" \t\r\n") == std::string::npos)
    return At(source.name, 0, "empty; accepted: a JSON object");
  auto lines = KeyLines(source.name, source.text);
  if (!lines.ok()) return lines.status();
  source.lines = *std::move(lines);
  return source;
}

absl::Status ParseJson(const JsonSource& source, google::protobuf::Message* message) {
  std::string bytes;
  const auto status =
      google::protobuf::util::JsonToBinaryString(ContractTypes(), TypeUrl(*message), source.text, &bytes);
  if (status.ok() && message->ParseFromString(bytes)) return absl::OkStatus();
  const std::string what(status.message().data(), status.message().size());
  return Explain(source, message->GetDescriptor(), what);
}

namespace {

// Line of a key, or of the first key of an object in a list, which has none of its own; 0 where it is not there.
int LineOf(const JsonSource& source, absl::string_view path) {
  const auto line = source.lines.find(std::string(path));
  if (line != source.lines.end()) return line->second;
  if (!absl::EndsWith(path, "]")) return 0;
  const std::string within = absl::StrCat(path, ".");
  int first = 0;
  for (auto at = source.lines.lower_bound(within); at != source.lines.end() && absl::StartsWith(at->first, within);
       ++at)
    first = first == 0 ? at->second : std::min(first, at->second);
  return first;
}

}  // namespace

std::string PlaceOf(const JsonSource& source, absl::string_view holder, const std::string& field) {
  absl::string_view path = field;
  if (!holder.empty() && !(absl::ConsumePrefix(&path, holder) && absl::ConsumePrefix(&path, "."))) return field;
  for (absl::string_view at = path; !at.empty(); at = at.substr(0, at.find_last_of(".["))) {
    const int line = LineOf(source, at);
    if (line > 0) return absl::StrCat(source.name, ": line ", line, ": ", path);
    if (at.find_last_of(".[") == absl::string_view::npos) break;
  }
  return absl::StrCat(source.name, ": ", path);
}

std::string ToJson(const google::protobuf::Message& message) {
  const std::string json = Printed(message, true);
  return absl::EndsWith(json, "\n") ? json : json + "\n";
}

std::string ToJsonLine(const google::protobuf::Message& message) { return Printed(message, false); }

bool ParseJsonLine(const std::string& line, google::protobuf::Message* message) {
  std::string bytes;
  return google::protobuf::util::JsonToBinaryString(ContractTypes(), TypeUrl(*message), line, &bytes).ok() &&
         message->ParseFromString(bytes);
}

}  // namespace coilwright::cli
