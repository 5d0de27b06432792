#pragma once

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "google/protobuf/message.h"

// Values at and beyond the edge, for every field that a request can hold.
namespace coilwright::calls {

using google::protobuf::Descriptor;
using google::protobuf::FieldDescriptor;
using google::protobuf::Message;
using google::protobuf::Reflection;

// A field of a request by the way to it; repeated fields are taken at their first element.
using Place = std::vector<const FieldDescriptor*>;

inline std::string PathOf(const Place& place) {
  std::string path;
  for (const FieldDescriptor* field : place)
    absl::StrAppend(&path, path.empty() ? "" : ".", field->name(), field->is_repeated() ? "[0]" : "");
  return path;
}

// Every field below a type, messages before what they hold.
inline void AddPlaces(const Descriptor* type, const Place& above, std::vector<Place>* places) {
  for (int i = 0; i < type->field_count(); ++i) {
    Place place = above;
    place.push_back(type->field(i));
    places->push_back(place);
    if (type->field(i)->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE)
      AddPlaces(type->field(i)->message_type(), place, places);
  }
}

inline std::vector<Place> PlacesOf(const Descriptor* type) {
  std::vector<Place> places;
  AddPlaces(type, {}, &places);
  return places;
}

// The message that holds the field; made where it is absent, null where `make` is false.
inline Message* Holder(Message* root, const Place& place, bool make) {
  Message* at = root;
  for (size_t i = 0; i + 1 < place.size(); ++i) {
    const Reflection* reflection = at->GetReflection();
    const FieldDescriptor* field = place[i];
    if (field->is_repeated()) {
      if (reflection->FieldSize(*at, field) == 0) {
        if (!make) return nullptr;
        reflection->AddMessage(at, field);
      }
      at = reflection->MutableRepeatedMessage(at, field, 0);
    } else {
      if (!make && !reflection->HasField(*at, field)) return nullptr;
      at = reflection->MutableMessage(at, field);
    }
  }
  return at;
}

// One wrong or odd value; only the member of the field's type is used.
struct Edge {
  std::string what;
  double number = 0;
  int integer = 0;
  std::string text{};
  bool unreadable = false;  // to be refused by name: NaN, infinity, unknown enum number
};

inline const std::vector<Edge>& EdgesOf(const FieldDescriptor* field) {
  using Double = std::numeric_limits<double>;
  using Int = std::numeric_limits<int>;
  static const auto* const doubles = new std::vector<Edge>{{"NaN", Double::quiet_NaN(), 0, "", true},
                                                           {"infinity", Double::infinity(), 0, "", true},
                                                           {"minus infinity", -Double::infinity(), 0, "", true},
                                                           {"-1", -1.0},
                                                           {"0", 0.0},
                                                           {"-0", -0.0},
                                                           {"1e300", 1e300},
                                                           {"-1e300", -1e300},
                                                           {"1e6", 1e6},
                                                           {"1e-6", 1e-6},
                                                           {"the least normal number", Double::min()},
                                                           {"the least denormal", Double::denorm_min()}};
  static const auto* const integers = new std::vector<Edge>{
      {"the least int", 0, Int::min()},   {"-1", 0, -1}, {"0", 0, 0}, {"1", 0, 1}, {"7", 0, 7}, {"10^9", 0, 1000000000},
      {"the greatest int", 0, Int::max()}};
  static const auto* const enums =
      new std::vector<Edge>{{"unspecified", 0, 0}, {"unknown 99", 0, 99, "", true}, {"unknown -1", 0, -1, "", true}};
  static const auto* const flags = new std::vector<Edge>{{"false", 0, 0}, {"true", 0, 1}};
  // A hundred bytes into each of the first two stands half a letter in one of them.
  static const auto* const texts = [] {
    std::string letters;
    for (int i = 0; i < 99; ++i) letters += "\xc3\xb6";
    return new std::vector<Edge>{{"empty text", 0, 0, ""},
                                 {"two-byte letters", 0, 0, "rules/" + letters},
                                 {"two-byte letters, one on", 0, 0, "rules/x" + letters},
                                 {"control characters", 0, 0, "rules/a\x01\x1e\x1f"},
                                 {"1 MB of text", 0, 0, std::string(1000000, 'x')},
                                 {"AWG 99", 0, 0, "AWG 99 heavy"},
                                 {"a hundred digits", 0, 0, "AWG " + std::string(100, '9')}};
  }();
  static const auto* const none = new std::vector<Edge>;
  switch (field->cpp_type()) {
    case FieldDescriptor::CPPTYPE_DOUBLE:
      return *doubles;
    case FieldDescriptor::CPPTYPE_INT32:
    case FieldDescriptor::CPPTYPE_INT64:
      return *integers;
    case FieldDescriptor::CPPTYPE_ENUM:
      return *enums;
    case FieldDescriptor::CPPTYPE_BOOL:
      return *flags;
    case FieldDescriptor::CPPTYPE_STRING:
      return *texts;
    default:
      return *none;
  }
}

// Puts the value into the field of its holder; the first element of a repeated one.
inline void Put(Message* holder, const FieldDescriptor* field, const Edge& edge) {
  const Reflection* reflection = holder->GetReflection();
  const bool repeated = field->is_repeated();
  if (repeated) reflection->ClearField(holder, field);
  switch (field->cpp_type()) {
    case FieldDescriptor::CPPTYPE_DOUBLE:
      repeated ? reflection->AddDouble(holder, field, edge.number) : reflection->SetDouble(holder, field, edge.number);
      break;
    case FieldDescriptor::CPPTYPE_INT32:
      repeated ? reflection->AddInt32(holder, field, edge.integer) : reflection->SetInt32(holder, field, edge.integer);
      break;
    case FieldDescriptor::CPPTYPE_INT64:
      // The least and the greatest of 32 bits stand for those of 64.
      if (!repeated)
        reflection->SetInt64(
            holder, field,
            edge.integer > 2000000000 || edge.integer < -2000000000 ? edge.integer * (1ll << 32) : edge.integer);
      break;
    case FieldDescriptor::CPPTYPE_ENUM:
      repeated ? reflection->AddEnumValue(holder, field, edge.integer)
               : reflection->SetEnumValue(holder, field, edge.integer);
      break;
    case FieldDescriptor::CPPTYPE_BOOL:
      repeated ? reflection->AddBool(holder, field, edge.integer != 0)
               : reflection->SetBool(holder, field, edge.integer != 0);
      break;
    case FieldDescriptor::CPPTYPE_STRING:
      repeated ? reflection->AddString(holder, field, edge.text) : reflection->SetString(holder, field, edge.text);
      break;
    default:
      break;
  }
}

}  // namespace coilwright::calls
