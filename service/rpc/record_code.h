#pragma once

#include <string>

#include "google/protobuf/message.h"

namespace coilwright::rpc {

// "7KQ2-M0XC": the first forty bits of the SHA-256 of a message's bytes, in the digits and the letters that are not
// taken for digits or each other. The same for equal messages (the contract has no maps), so that paper and archive are
// matched by it; it hides nothing and proves nothing.
std::string CodeOf(const google::protobuf::Message& message);

}  // namespace coilwright::rpc
