#include "rpc/field_differences.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "rpc/message_paths.h"
#include "rpc/quantities.h"

namespace coilwright::rpc {
namespace {

using google::protobuf::FieldDescriptor;
using google::protobuf::Message;
using google::protobuf::Reflection;

// One value as it is shown and compared.
struct Leaf {
  std::string text;
  std::optional<double> number;
  bool ratio = true;  // of such numbers means something
};

struct Suffix {
  absl::string_view name, unit;
};

// The glossary of names, longest first where one ends like another.
constexpr Suffix kUnits[] = {
    {"volts_dc", "V dc"},     {"amps_rms", "A rms"},   {"amps_peak", "A peak"}, {"amps_dc", "A dc"},
    {"_nm_per_arms", "Nm/A"}, {"volts", "V"},          {"ohms", "ohms"},        {"_hz", "Hz"},
    {"_rpm", "rpm"},          {"torque_nm", "Nm"},     {"_mh", "mH"},           {"_percent", "%"},
    {"_watts", "W"},          {"_degrees", "degrees"}, {"_slots", "slots"},
};

std::string UnitOf(const FieldDescriptor& field) {
  for (const Suffix& suffix : kUnits) {
    if (absl::EndsWith(field.name(), suffix.name)) return absl::StrCat(" ", suffix.unit);
  }
  return "";
}

// One value of a field; `index` below zero for one that is not repeated.
Leaf LeafOf(const Message& message, const FieldDescriptor* field, int index) {
  const Reflection* r = message.GetReflection();
  const bool element = index >= 0;
  switch (field->cpp_type()) {
    case FieldDescriptor::CPPTYPE_MESSAGE: {
      const auto read =
          QuantityOf(element ? r->GetRepeatedMessage(message, field, index) : r->GetMessage(message, field));
      if (!read) return {};
      const bool temperature = read->unit == "celsius" || read->unit == "fahrenheit";
      return {absl::StrCat(Digits(read->given), " ", read->unit), read->value, !temperature};
    }
    case FieldDescriptor::CPPTYPE_DOUBLE: {
      const double value = element ? r->GetRepeatedDouble(message, field, index) : r->GetDouble(message, field);
      return {absl::StrCat(Digits(value), UnitOf(*field)), value};
    }
    case FieldDescriptor::CPPTYPE_INT32: {
      const int value = element ? r->GetRepeatedInt32(message, field, index) : r->GetInt32(message, field);
      // A year is no quantity.
      return {absl::StrCat(value, UnitOf(*field)), value, !absl::EndsWith(field->name(), "year")};
    }
    case FieldDescriptor::CPPTYPE_BOOL:
      return {(element ? r->GetRepeatedBool(message, field, index) : r->GetBool(message, field)) ? "yes" : "no", {}};
    case FieldDescriptor::CPPTYPE_ENUM:
      return {(element ? r->GetRepeatedEnum(message, field, index) : r->GetEnum(message, field))->name(), {}};
    case FieldDescriptor::CPPTYPE_STRING:
      return {element ? r->GetRepeatedString(message, field, index) : r->GetString(message, field), {}};
    default:
      return {};
  }
}

// All values of a field in one, where it is set.
Leaf WholeOf(const Message& message, const FieldDescriptor* field) {
  const Reflection* r = message.GetReflection();
  if (!field->is_repeated()) return r->HasField(message, field) ? LeafOf(message, field, -1) : Leaf();
  std::vector<std::string> texts;
  for (int i = 0; i < r->FieldSize(message, field); ++i) texts.push_back(LeafOf(message, field, i).text);
  return {absl::StrJoin(texts, ", "), {}};
}

// Readings in two units agree to what is lost in converting.
bool Agree(const Leaf& first, const Leaf& second) {
  if (!first.number || !second.number) return first.text == second.text;
  return std::abs(*first.number - *second.number) <= 1e-9 * std::max(std::abs(*first.number), std::abs(*second.number));
}

void Hold(const Leaf& first, const Leaf& second, const Path& path, FieldDifferences* out) {
  if (first.text.empty() && second.text.empty()) return;
  if (!first.text.empty() && !second.text.empty() && Agree(first, second)) {
    ++out->same;
    return;
  }
  FieldDifference difference{InWords(path), first.text, second.text, std::nullopt};
  if (first.number && second.number && first.ratio && *first.number > 0 && *second.number > 0) {
    const double ratio = *second.number / *first.number;
    if (std::isfinite(ratio)) difference.ratio = ratio;
  }
  out->differences.push_back(std::move(difference));
}

void Walk(const Message& first, const Message& second, Path* path, FieldDifferences* out) {
  const auto& type = *first.GetDescriptor();
  const Reflection* r = first.GetReflection();
  for (int f = 0; f < type.field_count(); ++f) {
    const FieldDescriptor* field = type.field(f);
    path->push_back({field, -1});
    const bool below = field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE && !IsQuantity(*field->message_type());
    if (!below) {
      Hold(WholeOf(first, field), WholeOf(second, field), *path, out);
    } else if (!field->is_repeated()) {
      if (r->HasField(first, field) || r->HasField(second, field))
        Walk(r->GetMessage(first, field), r->GetMessage(second, field), path, out);
    } else {
      const int in_first = r->FieldSize(first, field), in_second = r->FieldSize(second, field);
      for (int i = 0; i < std::max(in_first, in_second); ++i) {
        path->back().index = i;
        const Message& some = r->GetRepeatedMessage(i < in_first ? first : second, field, i);
        const std::unique_ptr<Message> nothing(some.New());
        Walk(i < in_first ? some : *nothing, i < in_second ? r->GetRepeatedMessage(second, field, i) : *nothing, path,
             out);
      }
    }
    path->pop_back();
  }
}

}  // namespace

FieldDifferences DifferencesOf(const Message& first, const Message& second) {
  FieldDifferences out;
  Path path;
  Walk(first, second, &path, &out);
  return out;
}

}  // namespace coilwright::rpc
