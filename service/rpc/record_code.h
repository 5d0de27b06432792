#pragma once

#include <string>

#include "coilwright/v1/archive.pb.h"
#include "google/protobuf/message.h"

namespace coilwright::rpc {

// "7KQ2-M0XC": the first forty bits of the SHA-256 of a message's bytes, in the digits and the letters that are not
// taken for digits or each other. The same for equal messages (the contract has no maps), so that paper and archive are
// matched by it; it hides nothing and proves nothing.
std::string CodeOf(const google::protobuf::Message& message);

inline constexpr int kMostEarlierCodes = 100;
// After a change of the record: what it had before stays among the earlier codes, what it has now does not.
void KeepCode(const std::string& before, v1::ArchivedWinding* winding);
// Whether it could be one.
bool IsCode(const std::string& text);

}  // namespace coilwright::rpc
