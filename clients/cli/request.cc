#include "request.h"

#include <cmath>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "google/protobuf/descriptor.h"

namespace coilwright::cli {
namespace {

using google::protobuf::EnumDescriptor;
using google::protobuf::EnumValueDescriptor;
using google::protobuf::FieldDescriptor;
using google::protobuf::Message;

// Units a person writes, and the field of the as_read one-of that holds them. Case matters to nobody.
struct Unit {
  const char* message;
  const char* written;
  const char* field;
};
const std::vector<Unit>& WrittenUnits() {
  static const std::vector<Unit>* const units = new std::vector<Unit>{{"Length", "mm", "mm"},
                                                                      {"Length", "in", "inches"},
                                                                      {"Length", "inch", "inches"},
                                                                      {"Length", "inches", "inches"},
                                                                      {"Length", "mil", "mils"},
                                                                      {"Length", "mils", "mils"},
                                                                      {"Length", "m", "metres"},
                                                                      {"Length", "ft", "feet"},
                                                                      {"Area", "mm2", "mm2"},
                                                                      {"Area", "in2", "in2"},
                                                                      {"Area", "cmil", "cmil"},
                                                                      {"Temperature", "C", "celsius"},
                                                                      {"Temperature", "F", "fahrenheit"},
                                                                      {"Mass", "kg", "kg"},
                                                                      {"Mass", "g", "grams"},
                                                                      {"Mass", "lb", "pounds"},
                                                                      {"Mass", "oz", "ounces"},
                                                                      {"Power", "kW", "kw"},
                                                                      {"Power", "W", "watts"},
                                                                      {"Power", "hp", "hp"},
                                                                      {"FluxDensity", "T", "teslas"},
                                                                      {"FluxDensity", "lines/in2", "lines_per_in2"}};
  return *units;
}

// Value whose words hold those of `text`: the whole value, or the only one that has them in a row.
absl::StatusOr<const EnumValueDescriptor*> FindValue(const EnumDescriptor* type, absl::string_view text) {
  const std::string wanted =
      absl::StrReplaceAll(absl::AsciiStrToLower(absl::StripAsciiWhitespace(text)), {{"-", "_"}, {" ", "_"}});
  std::vector<const EnumValueDescriptor*> fits;
  for (int i = 0; i < type->value_count() && !wanted.empty(); ++i) {
    const EnumValueDescriptor* value = type->value(i);
    if (value->number() == 0) continue;
    if (wanted == EnumName(value)) return value;
    if (absl::StrContains(absl::StrCat("_", EnumName(value), "_"), absl::StrCat("_", wanted, "_")))
      fits.push_back(value);
  }
  if (fits.size() == 1) return fits[0];
  return Got(text, absl::StrJoin(EnumWords(type), ", "));
}

// Whether a decimal comma, or one between thousands, keeps the text from being a number.
bool HasCommaInNumber(absl::string_view text) {
  const size_t comma = text.find(',');
  return comma != absl::string_view::npos && comma > 0 && comma + 1 < text.size() &&
         absl::ascii_isdigit(static_cast<unsigned char>(text[comma - 1])) &&
         absl::ascii_isdigit(static_cast<unsigned char>(text[comma + 1]));
}

constexpr char kPoint[] = "a decimal point, not a comma, and none between thousands";

absl::Status SetQuantity(Message* quantity, absl::string_view text) {
  if (HasCommaInNumber(text)) return Got(text, kPoint);
  const absl::string_view trimmed = absl::StripAsciiWhitespace(text);
  const size_t end = trimmed.find_first_not_of("0123456789.+-");
  const absl::string_view number = trimmed.substr(0, end);
  const absl::string_view unit = end == absl::string_view::npos ? "" : absl::StripAsciiWhitespace(trimmed.substr(end));
  std::vector<std::string> accepted;
  for (const Unit& known : WrittenUnits()) {
    if (quantity->GetDescriptor()->name() != known.message) continue;
    accepted.emplace_back(known.written);
    double value = 0;
    if (!absl::EqualsIgnoreCase(unit, known.written) || !absl::SimpleAtod(number, &value)) continue;
    quantity->GetReflection()->SetDouble(quantity, quantity->GetDescriptor()->FindFieldByName(known.field), value);
    return absl::OkStatus();
  }
  return Got(text, absl::StrCat("a number with its unit, one of ", absl::StrJoin(accepted, ", ")));
}

absl::Status SetScalar(Message* message, const FieldDescriptor* field, absl::string_view text) {
  const auto* reflection = message->GetReflection();
  const bool list = field->is_repeated();
  switch (field->cpp_type()) {
    case FieldDescriptor::CPPTYPE_DOUBLE: {
      double value = 0;
      if (HasCommaInNumber(text)) return Got(text, kPoint);
      if (!absl::SimpleAtod(text, &value) || !std::isfinite(value)) return Got(text, "a number");
      list ? reflection->AddDouble(message, field, value) : reflection->SetDouble(message, field, value);
      return absl::OkStatus();
    }
    case FieldDescriptor::CPPTYPE_INT32: {
      int value = 0;
      if (!absl::SimpleAtoi(text, &value)) {
        double any = 0;
        const bool too_large = absl::SimpleAtod(text, &any) && std::floor(any) == any;
        return Got(text, too_large ? "a whole number from -2147483648 to 2147483647" : "a whole number");
      }
      list ? reflection->AddInt32(message, field, value) : reflection->SetInt32(message, field, value);
      return absl::OkStatus();
    }
    case FieldDescriptor::CPPTYPE_BOOL: {
      if (text != "true" && text != "false") return Got(text, "true, false");
      reflection->SetBool(message, field, text == "true");
      return absl::OkStatus();
    }
    case FieldDescriptor::CPPTYPE_STRING:
      list ? reflection->AddString(message, field, std::string(text))
           : reflection->SetString(message, field, std::string(text));
      return absl::OkStatus();
    case FieldDescriptor::CPPTYPE_ENUM: {
      const auto value = FindValue(field->enum_type(), text);
      if (!value.ok()) return value.status();
      list ? reflection->AddEnum(message, field, *value) : reflection->SetEnum(message, field, *value);
      return absl::OkStatus();
    }
    case FieldDescriptor::CPPTYPE_MESSAGE:
      return SetQuantity(list ? reflection->AddMessage(message, field) : reflection->MutableMessage(message, field),
                         text);
    default:
      return absl::InternalError(absl::StrCat(field->full_name(), " cannot be set from a flag"));
  }
}

}  // namespace

absl::Status Got(absl::string_view text, absl::string_view accepted) {
  return absl::InvalidArgumentError(absl::StrCat("got \"", text, "\", accepted: ", accepted));
}

absl::Status SetField(Message* request, absl::string_view path, absl::string_view text) {
  const std::vector<std::string> steps = absl::StrSplit(path, '.');
  Message* message = request;
  for (size_t i = 0; i < steps.size(); ++i) {
    const FieldDescriptor* field = message->GetDescriptor()->FindFieldByName(steps[i]);
    if (field == nullptr) return absl::InternalError(absl::StrCat("the contract has no field ", path));
    const auto* reflection = message->GetReflection();
    if (i + 1 < steps.size()) {
      message = reflection->MutableMessage(message, field);
      continue;
    }
    const auto* one_of = field->real_containing_oneof();
    if (one_of != nullptr && reflection->HasOneof(*message, one_of)) {
      return absl::InvalidArgumentError("the same is already given in another unit");
    }
    if (!field->is_repeated()) return SetScalar(message, field, text);
    // A list of lengths would take 0,71 for two of them.
    if (field->message_type() != nullptr && HasCommaInNumber(text)) return Got(text, kPoint);
    for (absl::string_view item : absl::StrSplit(text, ',')) {
      if (absl::Status set = SetScalar(message, field, absl::StripAsciiWhitespace(item)); !set.ok()) return set;
    }
  }
  return absl::OkStatus();
}

absl::Status FillRequest(const Arguments& arguments, Message* request) {
  for (const auto& [flag, value] : arguments.given()) {
    if (flag.field[0] == '\0' || flag.read_by_command) continue;
    const absl::Status set = SetField(request, flag.field, value);
    // The help of a flag holds its range or unit.
    if (!set.ok()) {
      return absl::Status(set.code(), absl::StrCat("--", flag.name, ": ", set.message(), " (", flag.help, ")"));
    }
  }
  return absl::OkStatus();
}

std::vector<std::string> EnumWords(const EnumDescriptor* type) {
  std::vector<std::string> words;
  for (int i = 0; i < type->value_count(); ++i) {
    if (type->value(i)->number() != 0) words.push_back(absl::StrReplaceAll(EnumName(type->value(i)), {{"_", "-"}}));
  }
  return words;
}

}  // namespace coilwright::cli
