#include <algorithm>
#include <cmath>

#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"
#include "coilwright/v1/quantities.pb.h"
#include "coilwright/v1/winding.pb.h"
#include "plan/evidence.h"
#include "rpc/read_record.h"
#include "wire/wire.h"

namespace coilwright::rpc {
namespace {

using google::protobuf::FieldDescriptor;
using google::protobuf::Message;

// A number of the record, by its path: a quantity in the unit it was read in, a wire by its bare diameter.
struct Scalar {
  double value = 0;
  bool count = false;
};
std::optional<Scalar> AsRead(const Message& quantity) {
  if (quantity.GetDescriptor() == v1::WireSize::descriptor()) {
    const auto& size = static_cast<const v1::WireSize&>(quantity);
    if (size.has_bare_diameter()) return AsRead(size.bare_diameter());
    const absl::StatusOr<wire::Wire> wire = wire::Parse(size.designation());
    return wire.ok() ? std::optional<Scalar>({wire->bare_mm.nominal, false}) : std::nullopt;
  }
  const google::protobuf::Descriptor& type = *quantity.GetDescriptor();
  if (type.oneof_decl_count() != 1 || type.oneof_decl(0)->field_count() != type.field_count()) return std::nullopt;
  const FieldDescriptor* unit = quantity.GetReflection()->GetOneofFieldDescriptor(quantity, type.oneof_decl(0));
  if (unit == nullptr || unit->cpp_type() != FieldDescriptor::CPPTYPE_DOUBLE) return std::nullopt;
  return Scalar{quantity.GetReflection()->GetDouble(quantity, unit), false};
}

std::optional<Scalar> ScalarAt(const Message& record, absl::string_view path) {
  const Message* message = &record;
  const std::vector<std::string> parts = absl::StrSplit(path, '.');
  for (size_t i = 0; i < parts.size(); ++i) {
    const std::vector<std::string> name_index = absl::StrSplit(parts[i], absl::MaxSplits('[', 1));
    const FieldDescriptor* field = message->GetDescriptor()->FindFieldByName(name_index[0]);
    if (field == nullptr || field->is_repeated() != (name_index.size() == 2)) return std::nullopt;
    const auto& reflection = *message->GetReflection();
    if (i + 1 == parts.size()) {
      if (field->is_repeated() || !reflection.HasField(*message, field)) return std::nullopt;
      if (field->cpp_type() == FieldDescriptor::CPPTYPE_INT32)
        return Scalar{static_cast<double>(reflection.GetInt32(*message, field)), true};
      if (field->cpp_type() == FieldDescriptor::CPPTYPE_DOUBLE)
        return Scalar{reflection.GetDouble(*message, field), false};
      if (field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE) return AsRead(reflection.GetMessage(*message, field));
      return std::nullopt;
    }
    if (field->cpp_type() != FieldDescriptor::CPPTYPE_MESSAGE) return std::nullopt;
    if (!field->is_repeated()) {
      message = &reflection.GetMessage(*message, field);
      continue;
    }
    int index = -1;
    absl::string_view number = name_index[1];
    if (!absl::ConsumeSuffix(&number, "]") || !absl::SimpleAtoi(number, &index) || index < 0 ||
        index >= reflection.FieldSize(*message, field))
      return std::nullopt;
    message = &reflection.GetRepeatedMessage(*message, field, index);
  }
  return std::nullopt;
}

// What a path below the record that names no field should have been; empty where it names one, or nothing was given.
std::string MeantInstead(const google::protobuf::Descriptor& record, absl::string_view path) {
  const google::protobuf::Descriptor* message = &record;
  std::string before;
  if (path.empty()) return "";
  for (const absl::string_view part : absl::StrSplit(path, '.')) {
    const absl::string_view name = part.substr(0, part.find('['));
    const FieldDescriptor* field = message == nullptr ? nullptr : message->FindFieldByName(std::string(name));
    if (field == nullptr && message == nullptr)
      return absl::StrCat("the path of a field of the record; ", before, " ends it");
    if (field == nullptr) {
      // The field that begins most like it.
      const FieldDescriptor* nearest = nullptr;
      size_t most = 3;
      for (int i = 0; i < message->field_count(); ++i) {
        const std::string& known = message->field(i)->name();
        const size_t shorter = std::min(known.size(), name.size());
        const size_t alike = static_cast<size_t>(
            std::mismatch(known.begin(), known.begin() + static_cast<long>(shorter), name.begin()).first -
            known.begin());
        if (alike > most) nearest = message->field(i), most = alike;
      }
      return nearest == nullptr
                 ? "the path of a field of the record, as \"winding.turns_per_coil\""
                 : absl::StrCat("did you mean \"", before, before.empty() ? "" : ".", nearest->name(), "\"?");
    }
    absl::StrAppend(&before, before.empty() ? "" : ".", part);
    message = field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE ? field->message_type() : nullptr;
  }
  return "";
}

}  // namespace

void RefuseRepeatsThatContradict(const Reader& entry, const Message& record) {
  const auto& evidence = static_cast<const coilwright::v1::FieldEvidence&>(entry.message());
  if (const std::string meant = MeantInstead(*record.GetDescriptor(), evidence.field()); !meant.empty()) {
    entry.Wrong("field", evidence.field(), meant);
    return;
  }
  const std::optional<Scalar> recorded = ScalarAt(record, evidence.field());
  // What is not a positive number is refused at its own field.
  if (evidence.repeats().empty() || !recorded || !std::isfinite(recorded->value) || recorded->value <= 0) return;
  const absl::string_view accepted =
      plan::RepeatsAccepted(recorded->value, recorded->count, {evidence.repeats().begin(), evidence.repeats().end()});
  if (accepted.empty()) return;
  entry.Wrong("repeats",
              absl::StrCat(absl::StrJoin(evidence.repeats(), ", "), " for ", evidence.field(), " ", recorded->value),
              accepted);
}

}  // namespace coilwright::rpc
