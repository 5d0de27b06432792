#pragma once

#include <string>

#include "google/protobuf/descriptor.h"
#include "google/protobuf/generated_enum_reflection.h"

// The values of an enumeration of the contract in words.
namespace coilwright {

// CONNECTION_STAR -> "star", WINDING_CONDITION_FULLY_REWOUND -> "fully_rewound".
std::string EnumName(const google::protobuf::EnumValueDescriptor* value);

// The same with blanks and abbreviations in capitals, for print; "not stated" for the zero of every enumeration.
std::string EnumText(const google::protobuf::EnumValueDescriptor* value);

template <class Enum>
std::string EnumText(Enum value) {
  const auto* found = google::protobuf::GetEnumDescriptor<Enum>()->FindValueByNumber(static_cast<int>(value));
  return found == nullptr ? "unknown" : EnumText(found);
}

}  // namespace coilwright
