#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "coilwright/v1/quantities.pb.h"
#include "coilwright/v1/winding.pb.h"
#include "plan/evidence.h"
#include "rpc/message_paths.h"
#include "rpc/quantities.h"
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
std::optional<Scalar> AsRead(const Message& message) {
  if (message.GetDescriptor() == v1::WireSize::descriptor()) {
    const auto& size = static_cast<const v1::WireSize&>(message);
    if (size.has_bare_diameter()) return AsRead(size.bare_diameter());
    const absl::StatusOr<wire::Wire> wire = wire::Parse(size.designation());
    return wire.ok() ? std::optional<Scalar>({wire->bare_mm.nominal, false}) : std::nullopt;
  }
  const std::optional<Quantity> quantity = QuantityOf(message);
  return quantity ? std::optional<Scalar>({quantity->given, false}) : std::nullopt;
}

std::optional<Scalar> ScalarAt(const Message& record, const Path& path) {
  const Message* holder = HolderOf(record, path);
  const FieldDescriptor* field = path.back().field;
  if (holder == nullptr || field->is_repeated() || !holder->GetReflection()->HasField(*holder, field))
    return std::nullopt;
  switch (field->cpp_type()) {
    case FieldDescriptor::CPPTYPE_INT32:
      return Scalar{static_cast<double>(holder->GetReflection()->GetInt32(*holder, field)), true};
    case FieldDescriptor::CPPTYPE_DOUBLE:
      return Scalar{holder->GetReflection()->GetDouble(*holder, field), false};
    case FieldDescriptor::CPPTYPE_MESSAGE:
      return AsRead(holder->GetReflection()->GetMessage(*holder, field));
    default:
      return std::nullopt;
  }
}

}  // namespace

void RefuseRepeatsThatContradict(const Reader& entry, const Message& record) {
  const auto& evidence = static_cast<const coilwright::v1::FieldEvidence&>(entry.message());
  if (evidence.field().empty()) return;
  std::string meant;
  const std::optional<Path> path =
      PathBelow(*record.GetDescriptor(), evidence.field(), "the record, as \"winding.turns_per_coil\"", &meant);
  if (!path) {
    entry.Wrong("field", evidence.field(), meant);
    return;
  }
  const std::optional<Scalar> recorded = ScalarAt(record, *path);
  // What is not a positive number is refused at its own field.
  if (evidence.repeats().empty() || !recorded || !std::isfinite(recorded->value) || recorded->value <= 0) return;
  const absl::string_view accepted =
      plan::RepeatsAccepted(recorded->value, recorded->count, {evidence.repeats().begin(), evidence.repeats().end()});
  if (accepted.empty()) return;
  entry.WrongBeside(
      "repeats", absl::StrCat(absl::StrJoin(evidence.repeats(), ", "), " for ", evidence.field(), " ", recorded->value),
      accepted);
}

}  // namespace coilwright::rpc
