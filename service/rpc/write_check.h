#pragma once

#include "coilwright/v1/record_check_service.pb.h"
#include "plan/check.h"

namespace coilwright::rpc {

// The check of a record as a message of the contract.
void Write(const plan::RecordCheck& check, v1::RecordCheck* out);

}  // namespace coilwright::rpc
