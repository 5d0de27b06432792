#include "rpc/reader.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/strip.h"
#include "rpc/quantities.h"

namespace coilwright::rpc {
namespace {

using google::protobuf::EnumDescriptor;
using google::protobuf::FieldDescriptor;
using google::protobuf::Message;
using google::protobuf::Reflection;

bool Inside(double value, const Range& range) {
  return std::isfinite(value) && (range.above_low ? value > range.low : value >= range.low) && value <= range.high;
}

std::string WithUnit(double value, absl::string_view unit) {
  return unit.empty() ? absl::StrFormat("%g", value) : absl::StrFormat("%g %s", value, unit);
}

std::string Join(absl::string_view path, absl::string_view field) {
  if (path.empty()) return std::string(field);
  return field.empty() ? std::string(path) : absl::StrCat(path, ".", field);
}

// Only the first few are ever shown; a message full of wrong fields must not cost more than it is worth.
constexpr size_t kEnough = 1000;

std::string Choices(const EnumDescriptor* type) {
  std::string choices;
  for (int i = 1; i < type->value_count(); ++i) absl::StrAppend(&choices, i > 1 ? ", " : "", type->value(i)->name());
  return choices;
}

}  // namespace

std::string Accepted(const Range& range) {
  if (range.above_low)
    return absl::StrCat("more than ", WithUnit(range.low, range.unit), ", at most ", WithUnit(range.high, range.unit));
  return absl::StrCat(WithUnit(range.low, range.unit), " to ", WithUnit(range.high, range.unit));
}

const FieldDescriptor* Reader::Find(absl::string_view field) const {
  // A message has few fields: comparing their names is quicker than the pool's map of all names.
  for (int i = 0; i < type_->field_count(); ++i) {
    if (type_->field(i)->name() == field) return type_->field(i);
  }
  std::fprintf(stderr, "%s has no field %.*s\n", message_->GetTypeName().c_str(), static_cast<int>(field.size()),
               field.data());
  std::abort();
}

std::string Reader::PathOf(absl::string_view field) const { return Join(path_, field); }

bool Reader::Has(absl::string_view field) const { return reflection_->HasField(*message_, Find(field)); }

bool Reader::HasErrorAt(absl::string_view field) const {
  const std::string path = PathOf(field);
  const auto here = [&](const standards::FieldError& error) { return absl::StartsWith(error.field, path); };
  return std::any_of(errors_->begin(), errors_->end(), here) ||
         (lacking_ != nullptr && std::any_of(lacking_->begin(), lacking_->end(), here));
}

Reader Reader::At(absl::string_view field) const {
  return Reader(reflection_->GetMessage(*message_, Find(field)), PathOf(field), errors_, lacking_);
}

std::vector<Reader> Reader::Each(absl::string_view field, int most) const {
  const FieldDescriptor* descriptor = Find(field);
  const int size = reflection_->FieldSize(*message_, descriptor);
  std::vector<Reader> readers;
  if (size > most) {
    Wrong(field, absl::StrCat(size, " entries"), absl::StrCat("at most ", most));
    return readers;
  }
  for (int i = 0; i < size; ++i) {
    readers.emplace_back(reflection_->GetRepeatedMessage(*message_, descriptor, i),
                         absl::StrCat(PathOf(field), "[", i, "]"), errors_, lacking_);
  }
  return readers;
}

std::optional<double> Reader::Number(absl::string_view field, const Range& range) const {
  const FieldDescriptor* descriptor = Find(field);
  if (!reflection_->HasField(*message_, descriptor)) return std::nullopt;
  const double value = reflection_->GetDouble(*message_, descriptor);
  if (Inside(value, range)) return value;
  // Not a number or infinite: RefuseUnreadable has said so.
  if (std::isfinite(value)) Wrong(field, WithUnit(value, range.unit), Accepted(range));
  return std::nullopt;
}

std::optional<int> Reader::Count(absl::string_view field, int low, int high) const {
  const FieldDescriptor* descriptor = Find(field);
  if (!reflection_->HasField(*message_, descriptor)) return std::nullopt;
  const int value = reflection_->GetInt32(*message_, descriptor);
  if (value >= low && value <= high) return value;
  Wrong(field, absl::StrCat(value), absl::StrCat(low, " to ", high));
  return std::nullopt;
}

std::optional<bool> Reader::Flag(absl::string_view field) const {
  const FieldDescriptor* descriptor = Find(field);
  if (!reflection_->HasField(*message_, descriptor)) return std::nullopt;
  return reflection_->GetBool(*message_, descriptor);
}

std::string Reader::Text(absl::string_view field, size_t most_bytes) const {
  std::string text = reflection_->GetString(*message_, Find(field));
  if (text.size() > most_bytes) {
    Wrong(field, absl::StrCat(text.size(), " bytes"), absl::StrCat("at most ", most_bytes, " bytes"));
    return "";
  }
  return text;
}

std::optional<double> Reader::AsRead(absl::string_view field, const Range& range) const {
  if (!Has(field)) return std::nullopt;
  const std::optional<Quantity> read = QuantityOf(reflection_->GetMessage(*message_, Find(field)));
  if (!read || !std::isfinite(read->given)) return std::nullopt;
  if (Inside(read->value, range)) return read->value;
  Wrong(field, WithUnit(read->given, read->unit), Accepted(range));
  return std::nullopt;
}

std::optional<double> Reader::Mm(absl::string_view field, const Range& range) const { return AsRead(field, range); }
std::optional<double> Reader::Mm2(absl::string_view field, const Range& range) const { return AsRead(field, range); }
std::optional<double> Reader::Celsius(absl::string_view field, double low, double high) const {
  return AsRead(field, {low, high, "C"});
}
std::optional<double> Reader::Kg(absl::string_view field, const Range& range) const { return AsRead(field, range); }
std::optional<double> Reader::Kw(absl::string_view field, const Range& range) const { return AsRead(field, range); }
std::optional<double> Reader::Teslas(absl::string_view field, const Range& range) const { return AsRead(field, range); }

int Reader::EnumNumber(absl::string_view field) const {
  const FieldDescriptor* descriptor = Find(field);
  const int number = reflection_->GetEnumValue(*message_, descriptor);
  return number == 0 || descriptor->enum_type()->FindValueByNumber(number) != nullptr ? number : 0;
}

std::string Reader::EnumChoices(absl::string_view field) const { return Choices(Find(field)->enum_type()); }

void Reader::Wrong(absl::string_view field, absl::string_view given, absl::string_view accepted) const {
  if (errors_->size() >= kEnough) return;
  errors_->push_back({PathOf(field), std::string(given), std::string(accepted)});
}

void Reader::WrongBeside(absl::string_view field, absl::string_view given, absl::string_view accepted) const {
  std::vector<standards::FieldError>* errors = lacking_ != nullptr ? lacking_ : errors_;
  if (errors->size() >= kEnough) return;
  errors->push_back({PathOf(field), std::string(given), std::string(accepted)});
}

void Reader::Add(absl::string_view field, const absl::Status& status) const {
  std::vector<standards::FieldError> wrong = standards::FieldErrorsOf(status);
  if (wrong.empty()) {
    Wrong(field, "what was given", status.message());
    return;
  }
  for (standards::FieldError& error : wrong) Wrong(Join(field, error.field), error.given, error.accepted);
}

namespace {

// Where a walk stands. A path in words is only made of it where something is wrong: a message may hold a million
// fields.
struct Place {
  const Place* above;
  const FieldDescriptor* field;
  int index;
};

std::string PathTo(const Place* place) {
  if (place == nullptr) return "";
  const std::string here = Join(PathTo(place->above), place->field->name());
  return place->field->is_repeated() ? absl::StrCat(here, "[", place->index, "]") : here;
}

void RefuseNumber(const Place& place, double value, std::vector<standards::FieldError>* errors) {
  if (std::isfinite(value)) return;
  const absl::string_view given = std::isnan(value) ? "not a number" : value > 0 ? "infinity" : "minus infinity";
  errors->push_back({PathTo(&place), std::string(given), "a finite number"});
}

void RefuseEnum(const Place& place, int number, std::vector<standards::FieldError>* errors) {
  const EnumDescriptor* type = place.field->enum_type();
  if (type->FindValueByNumber(number) == nullptr) {
    errors->push_back({PathTo(&place), absl::StrCat("unknown number ", number), Choices(type)});
  }
}

// Every scalar that is given, anywhere in a message; repeated ones one by one. Stops where `errors` are enough.
template <typename Visit>
void Walk(const Message& message, const Place* above, const std::vector<standards::FieldError>& errors,
          const Visit& visit) {
  std::vector<const FieldDescriptor*> fields;
  message.GetReflection()->ListFields(message, &fields);
  for (const FieldDescriptor* field : fields) {
    const int size = field->is_repeated() ? message.GetReflection()->FieldSize(message, field) : 1;
    const bool is_message = field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE;
    for (int i = 0; i < size && errors.size() < kEnough; ++i) {
      const Place place = {above, field, i};
      if (!is_message) {
        if (!visit(message, place)) break;
      } else {
        const Reflection* reflection = message.GetReflection();
        Walk(field->is_repeated() ? reflection->GetRepeatedMessage(message, field, i)
                                  : reflection->GetMessage(message, field),
             &place, errors, visit);
      }
    }
  }
}

}  // namespace

void RefuseUnreadable(const Message& message, std::vector<standards::FieldError>* errors) {
  Walk(message, nullptr, *errors, [&](const Message& holder, const Place& place) {
    const Reflection* reflection = holder.GetReflection();
    const bool repeated = place.field->is_repeated();
    if (place.field->cpp_type() == FieldDescriptor::CPPTYPE_DOUBLE) {
      RefuseNumber(place,
                   repeated ? reflection->GetRepeatedDouble(holder, place.field, place.index)
                            : reflection->GetDouble(holder, place.field),
                   errors);
    } else if (place.field->cpp_type() == FieldDescriptor::CPPTYPE_ENUM) {
      RefuseEnum(place,
                 repeated ? reflection->GetRepeatedEnumValue(holder, place.field, place.index)
                          : reflection->GetEnumValue(holder, place.field),
                 errors);
    } else {
      return false;  // what else there is can be read
    }
    return true;
  });
}

void Reader::RefuseLongTexts() const {
  std::vector<standards::FieldError> too_long;
  Walk(*message_, nullptr, too_long, [&](const Message& holder, const Place& place) {
    if (place.field->cpp_type() != FieldDescriptor::CPPTYPE_STRING) return false;
    std::string scratch;
    const Reflection* reflection = holder.GetReflection();
    const std::string& text = place.field->is_repeated()
                                  ? reflection->GetRepeatedStringReference(holder, place.field, place.index, &scratch)
                                  : reflection->GetStringReference(holder, place.field, &scratch);
    const size_t most = place.field->name() == "note" ? kMostNoteBytes : kMostTextBytes;
    if (text.size() > most)
      too_long.push_back(
          {PathTo(&place), absl::StrCat(text.size(), " bytes"), absl::StrCat("at most ", most, " bytes")});
    return true;
  });
  for (const standards::FieldError& error : too_long) {
    if (!HasErrorAt(error.field)) Wrong(error.field, error.given, error.accepted);
  }
}

}  // namespace coilwright::rpc
