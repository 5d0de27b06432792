#pragma once

#include <optional>
#include <string>
#include <vector>

#include "google/protobuf/message.h"

namespace coilwright::rpc {

struct FieldDifference {
  std::string field;            // path: "machine.core.stack_length"
  std::string first, second;    // as recorded with unit; empty where it was not taken
  std::optional<double> ratio;  // second over first, where both are numbers of one quantity above 0
};

struct FieldDifferences {
  std::vector<FieldDifference> differences;  // in the order of the contract
  int same = 0;                              // fields that are in both and agree
};

// Two messages of one type field by field. Readings in different units are compared by what they are worth: 1 in and
// 25.4 mm are the same. Temperatures have no ratio. Elements of lists are held against each other in their order.
FieldDifferences DifferencesOf(const google::protobuf::Message& first, const google::protobuf::Message& second);

}  // namespace coilwright::rpc
