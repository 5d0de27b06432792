#include "rpc/quantities.h"

#include <charconv>

#include "absl/strings/string_view.h"
#include "standards/units.h"

namespace coilwright::rpc {
namespace {

using google::protobuf::Descriptor;
using google::protobuf::FieldDescriptor;

struct Factor {
  absl::string_view unit;
  double times;
  double over = 1;
};

// A line of flux is 1e-8 Wb. Fahrenheit has no factor.
constexpr Factor kFactors[] = {
    {"mm", 1},
    {"inches", standards::kMmPerInch},
    {"mils", standards::kMmPerMil},
    {"metres", 1000},
    {"feet", standards::kMetresPerFoot * 1000},
    {"mm2", 1},
    {"in2", standards::kMmPerInch* standards::kMmPerInch},
    {"cmil", standards::kMm2PerCmil},
    {"kg", 1},
    {"grams", 1, 1000},
    {"pounds", standards::kKgPerPound},
    {"ounces", standards::kKgPerPound, 16},
    {"kw", 1},
    {"watts", 1, 1000},
    {"hp", standards::kWattsPerHorsepower, 1000},
    {"teslas", 1},
    {"lines_per_in2", 1e-2, standards::kMmPerInch* standards::kMmPerInch},
};

double InOneUnit(absl::string_view unit, double given) {
  if (unit == "fahrenheit") return standards::CelsiusFromFahrenheit(given);
  for (const Factor& factor : kFactors) {
    if (factor.unit == unit) return given * factor.times / factor.over;
  }
  return given;
}

}  // namespace

bool IsQuantity(const Descriptor& type) {
  if (type.oneof_decl_count() != 1 || type.oneof_decl(0)->field_count() != type.field_count()) return false;
  for (int i = 0; i < type.field_count(); ++i) {
    if (type.field(i)->cpp_type() != FieldDescriptor::CPPTYPE_DOUBLE) return false;
  }
  return true;
}

std::optional<Quantity> QuantityOf(const google::protobuf::Message& message) {
  const Descriptor& type = *message.GetDescriptor();
  if (!IsQuantity(type)) return std::nullopt;
  const FieldDescriptor* unit = message.GetReflection()->GetOneofFieldDescriptor(message, type.oneof_decl(0));
  if (unit == nullptr) return std::nullopt;
  const double given = message.GetReflection()->GetDouble(message, unit);
  return Quantity{given, unit->name(), InOneUnit(unit->name(), given)};
}

std::string Digits(double value) {
  char digits[32];
  return std::string(digits, std::to_chars(digits, digits + sizeof digits, value).ptr);
}

}  // namespace coilwright::rpc
