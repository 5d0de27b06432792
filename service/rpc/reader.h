#pragma once

#include <optional>
#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "google/protobuf/message.h"
#include "standards/errors.h"

namespace coilwright::rpc {

// What a number must lie in, and how it is said.
struct Range {
  double low = 0;
  double high = 0;
  absl::string_view unit;  // "mm", "V"; empty for a count
  bool above_low = false;  // low itself is refused
};

inline constexpr size_t kMostTextBytes = 2000;  // of a sentence or two
inline constexpr size_t kMostNoteBytes = 20000;

// Reads the fields of one request message by name, converts what was read in another unit, and collects every wrong
// field with its path; nothing is thrown away and nothing stops at the first error. An absent field is nullopt, never
// zero. Field names are checked when the program is tested: a name that the message lacks aborts.
class Reader {
 public:
  // `errors` outlives the reader; paths begin with `path` ("" at the top of a request). With `lacking`, what is missing
  // or only wrong beside something else goes there: who keeps a record takes it all the same.
  Reader(const google::protobuf::Message& message, std::string path, std::vector<standards::FieldError>* errors,
         std::vector<standards::FieldError>* lacking = nullptr)
      : message_(&message),
        type_(message.GetDescriptor()),
        reflection_(message.GetReflection()),
        path_(std::move(path)),
        errors_(errors),
        lacking_(lacking) {}

  // Sub-message; reads as empty where it is absent.
  Reader At(absl::string_view field) const;
  // Each element of a repeated message field. At most `most`, else an error and none.
  std::vector<Reader> Each(absl::string_view field, int most) const;
  bool Has(absl::string_view field) const;

  std::optional<double> Number(absl::string_view field, const Range& range) const;
  std::optional<int> Count(absl::string_view field, int low, int high) const;
  std::optional<bool> Flag(absl::string_view field) const;
  std::string Text(absl::string_view field, size_t most_bytes = kMostTextBytes) const;

  // As read, converted: mm, mm2, degrees Celsius, kg, kW, T.
  std::optional<double> Mm(absl::string_view field, const Range& range) const;
  std::optional<double> Mm2(absl::string_view field, const Range& range) const;
  std::optional<double> Celsius(absl::string_view field, double low = -60, double high = 300) const;
  std::optional<double> Kg(absl::string_view field, const Range& range) const;
  std::optional<double> Kw(absl::string_view field, const Range& range) const;
  std::optional<double> Teslas(absl::string_view field, const Range& range) const;

  // An enum of the contract as the engine's enum in the same order (the contract's zero is "unspecified": nullopt).
  template <typename E>
  std::optional<E> Enum(absl::string_view field) const {
    const int number = EnumNumber(field);
    return number > 0 ? std::optional<E>(static_cast<E>(number - 1)) : std::nullopt;
  }
  int EnumNumber(absl::string_view field) const;
  // The values an enum field accepts, in words for an error.
  std::string EnumChoices(absl::string_view field) const;

  // Says that a field is missing. For enums pass EnumChoices.
  void Missing(absl::string_view field, absl::string_view accepted) const { WrongBeside(field, "nothing", accepted); }
  // What could stand by itself and does not go with another field, or cannot be used yet.
  void WrongBeside(absl::string_view field, absl::string_view given, absl::string_view accepted) const;
  void Wrong(absl::string_view field, absl::string_view given, absl::string_view accepted) const;
  // Adds the wrong fields of an engine status below `field` ("" for this message).
  void Add(absl::string_view field, const absl::Status& status) const;

  // Value, or an error that it is missing and a stand-in that lets reading go on.
  template <typename T>
  T Need(absl::string_view field, const std::optional<T>& value, absl::string_view accepted, T stand_in) const {
    if (!value && !HasErrorAt(field)) Missing(field, accepted);
    return value.value_or(stand_in);
  }

  // Every text anywhere below that is longer than a text is, or a note, and not wrong already: whatever is only kept or
  // printed is bounded too.
  void RefuseLongTexts() const;

  std::string PathOf(absl::string_view field) const;
  bool HasErrorAt(absl::string_view field) const;
  const google::protobuf::Message& message() const { return *message_; }

 private:
  const google::protobuf::FieldDescriptor* Find(absl::string_view field) const;
  // A one-of "as_read" message: name of the set member and its number.
  std::optional<double> AsRead(absl::string_view field, const Range& range) const;

  const google::protobuf::Message* message_;
  const google::protobuf::Descriptor* type_;
  const google::protobuf::Reflection* reflection_;
  std::string path_;
  std::vector<standards::FieldError>* errors_;
  std::vector<standards::FieldError>* lacking_;
};

// Says how a range is accepted: "more than 0 mm, at most 2000 mm".
std::string Accepted(const Range& range);

// Every NaN, infinity and unknown enum number anywhere in a message, by path. They pass decoding and are refused here
// once.
void RefuseUnreadable(const google::protobuf::Message& message, std::vector<standards::FieldError>* errors);

}  // namespace coilwright::rpc
