#include "enum_text.h"

#include "absl/strings/ascii.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/strip.h"

namespace coilwright {

std::string EnumName(const google::protobuf::EnumValueDescriptor* value) {
  const absl::string_view prefix = absl::StripSuffix(value->type()->FindValueByNumber(0)->name(), "UNSPECIFIED");
  return absl::AsciiStrToLower(absl::StripPrefix(value->name(), prefix));
}

std::string EnumText(const google::protobuf::EnumValueDescriptor* value) {
  if (value->number() == 0) return "not stated";
  return absl::StrReplaceAll(EnumName(value), {{"_", " "}, {"ptc_", "PTC "}, {"ntc_", "NTC "}, {"_rtd", " RTD"}});
}

}  // namespace coilwright
