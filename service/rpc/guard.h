#pragma once

#include <exception>
#include <new>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "google/protobuf/message.h"
#include "rpc/reader.h"

namespace coilwright::rpc {

// The guards around every body, unary or streamed. No gRPC in them.

// Runs `body`, which returns an absl::Status, and turns what it throws into one.
template <typename Body>
absl::Status HoldBack(Body body) {
  try {
    return body();
  } catch (const std::bad_alloc&) {
    return absl::ResourceExhaustedError("out of memory for this request");
  } catch (const std::exception& error) {
    return absl::UnknownError(absl::StrCat("unexpected: ", error.what()));
  } catch (...) {
    return absl::UnknownError("unexpected");
  }
}

// `status` with the unreadable fields in front of what the body found. What cannot be read counts as absent in the
// body; what it says of the same fields is left out.
absl::Status WithUnreadable(std::vector<standards::FieldError> unreadable, const absl::Status& status);

// Runs `body` on `request` with exceptions held back and unreadable numbers refused whatever the body says. The
// response is to be ignored when the status is not OK.
template <typename Body>
absl::Status Guarded(const google::protobuf::Message& request, Body body) {
  return HoldBack([&] {
    std::vector<standards::FieldError> unreadable;
    RefuseUnreadable(request, &unreadable);
    absl::Status status = body();
    return unreadable.empty() ? status : WithUnreadable(std::move(unreadable), status);
  });
}

// Likewise for a body that writes: it is not run where something is unreadable.
template <typename Body>
absl::Status GuardedFirst(const google::protobuf::Message& request, Body body) {
  return HoldBack([&] {
    std::vector<standards::FieldError> unreadable;
    RefuseUnreadable(request, &unreadable);
    return unreadable.empty() ? body() : standards::InvalidFields(unreadable);
  });
}

}  // namespace coilwright::rpc
