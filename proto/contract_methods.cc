#include "contract_methods.h"

#include "absl/strings/str_cat.h"
#include "coilwright/services.h"

namespace coilwright {

using google::protobuf::MethodDescriptor;

std::vector<const MethodDescriptor*> AllMethods() {
  std::vector<const MethodDescriptor*> methods;
  for (const auto* service : Services()) {
    for (int m = 0; m < service->method_count(); ++m) methods.push_back(service->method(m));
  }
  return methods;
}

std::string MethodName(const MethodDescriptor& method) {
  return absl::StrCat(method.service()->name(), "/", method.name());
}

const MethodDescriptor* MethodNamed(const std::string& name) {
  for (const MethodDescriptor* method : AllMethods()) {
    const std::string full = absl::StrCat("/", method->service()->full_name(), "/", method->name());
    if (name == MethodName(*method) || name == full || absl::StrCat("/", name) == full) return method;
  }
  return nullptr;
}

}  // namespace coilwright
