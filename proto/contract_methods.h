#pragma once

#include <string>
#include <vector>

#include "google/protobuf/descriptor.h"

// The methods of the contract by their names.
namespace coilwright {

// Of every service, in order of their files.
std::vector<const google::protobuf::MethodDescriptor*> AllMethods();

// "WireService/LookUpWire", as people write it.
std::string MethodName(const google::protobuf::MethodDescriptor& method);

// The method of that short name, or of its whole one as gRPC has it, "/coilwright.v1.WireService/LookUpWire", with or
// without the slash in front; null where the contract has none.
const google::protobuf::MethodDescriptor* MethodNamed(const std::string& name);

}  // namespace coilwright
