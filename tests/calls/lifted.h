#pragma once

#include "calls/edges.h"
#include "calls/walk.h"

namespace coilwright::calls {

// A field named below one of many things in a request, as the path from the top: "rated_volts" is
// "machines[0].limits.rated_volts". As given where it is one already, or none can be found.
inline std::string FromTheTop(const Descriptor* request, const std::string& field) {
  if (PathExists(request, field)) return field;
  for (const Place& place : PlacesOf(request)) {
    const std::string path = absl::StrCat(PathOf(place), ".", field);
    if (PathExists(request, path)) return path;
  }
  return field;
}

// The first status that an OK answer holds for one of many things, as if the whole call had ended with it; OK where it
// holds none. What any answer must be is looked at here, since nobody looks at an answer beside an error.
inline grpc::Status Lifted(const Descriptor* request, const Message& answer) {
  v1::StatusDetails first;
  ForEachMessage(answer, "", [&](const Message& message, const std::string&) {
    if (first.code() == 0 && message.GetDescriptor() == v1::StatusDetails::descriptor())
      first = static_cast<const v1::StatusDetails&>(message);
  });
  if (first.code() == 0) return grpc::Status::OK;
  if (const std::vector<std::string> faults = FaultsOf(answer); !faults.empty())
    return grpc::Status(grpc::StatusCode::UNKNOWN, faults.front());
  for (auto& any : *first.mutable_details()) {
    v1::FieldViolations violations;
    violations.ParseFromString(any.value());
    for (auto& violation : *violations.mutable_field_violations()) {
      if (!violation.field().empty()) violation.set_field(FromTheTop(request, violation.field()));
    }
    violations.SerializeToString(any.mutable_value());
  }
  // Beside the details, as in a trailer, not in them too.
  const std::string message = std::move(*first.mutable_message());
  first.clear_message();
  return grpc::Status(static_cast<grpc::StatusCode>(first.code()), message, first.SerializeAsString());
}

}  // namespace coilwright::calls
