#pragma once

#include <optional>
#include <string>

#include "google/protobuf/message.h"

namespace coilwright::rpc {

// One reading with its unit: a Length, an Area, a Temperature, a Mass, a Power, ...
struct Quantity {
  double given = 0;
  std::string unit;  // of `given`, as the contract names it: "inches"
  double value = 0;  // in the one unit of its kind: mm, mm2, C, kg, kW, T; `given` for a kind without one
};

// Whether messages of this type are readings: a choice of numbers and nothing else.
bool IsQuantity(const google::protobuf::Descriptor& type);

// None where nothing was read, or the message is of another kind.
std::optional<Quantity> QuantityOf(const google::protobuf::Message& message);

// The shortest digits that read back as the same number.
std::string Digits(double value);

}  // namespace coilwright::rpc
