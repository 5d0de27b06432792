#include <algorithm>
#include <cmath>

#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"
#include "coilwright/v1/quantities.pb.h"
#include "rpc/read_record.h"

namespace coilwright::rpc {
namespace {

using google::protobuf::FieldDescriptor;
using google::protobuf::Message;

// A number of the record that stands alone, by its path: nothing for quantities with units of their own.
struct Scalar {
  double value = 0;
  bool count = false;
};
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

// Counts of like coils differ by a turn or two, readings by a few percent (common practice, no source).
constexpr double kCountSpread = 0.1, kReadingSpread = 0.05;
constexpr double kCountLeastSpread = 2;

}  // namespace

void RefuseRepeatsThatContradict(const Reader& entry, const Message& record) {
  const auto& evidence = static_cast<const coilwright::v1::FieldEvidence&>(entry.message());
  const std::optional<Scalar> recorded = ScalarAt(record, evidence.field());
  // What is not a positive number is refused at its own field.
  if (evidence.repeats().empty() || !recorded || !std::isfinite(recorded->value) || recorded->value <= 0) return;
  const auto [low, high] = std::minmax_element(evidence.repeats().begin(), evidence.repeats().end());
  const double slack = recorded->count ? 0 : kReadingSpread * std::abs(recorded->value);
  const std::string given =
      absl::StrCat(absl::StrJoin(evidence.repeats(), ", "), " for ", evidence.field(), " ", recorded->value);
  if (recorded->value < *low - slack || recorded->value > *high + slack) {
    entry.Wrong("repeats", given, "counts or readings that the recorded value lies among; count again");
  } else if (recorded->count && *high - *low > std::max(kCountLeastSpread, kCountSpread * std::abs(recorded->value))) {
    entry.Wrong("repeats", given, "counts that agree within a tenth: count again, or record unlike coils as groups");
  }
}

}  // namespace coilwright::rpc
