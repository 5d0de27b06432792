#pragma once

#include <chrono>

#include "absl/status/status.h"
#include "grpcpp/grpcpp.h"
#include "rpc/guard.h"
#include "rpc/status.h"
#include "rpc/workers.h"

namespace coilwright::rpc {

// The body of a call: message in, engine call, message out. No gRPC in it, so that it is tested without a socket.
template <typename Request, typename Response>
using Method = absl::Status (*)(const Request&, Response*);

// Runs a body with the guards every call needs: unreadable numbers refused, exceptions held back (gRPC would
// answer UNIMPLEMENTED), errors turned into one kind of status.
template <typename Request, typename Response>
grpc::Status Run(Method<Request, Response> method, const Request& request, Response* response) {
  return ToGrpcStatus(Guarded(request, [&] { return method(request, response); }));
}

// A call that takes microseconds: answered on the gRPC thread.
template <typename Request, typename Response>
grpc::ServerUnaryReactor* Answer(grpc::CallbackServerContext* context, Method<Request, Response> method,
                                 const Request* request, Response* response) {
  grpc::ServerUnaryReactor* reactor = context->DefaultReactor();
  reactor->Finish(Run(method, *request, response));
  return reactor;
}

// A call that may take milliseconds: answered on a worker, so that no gRPC thread waits. A full queue says so at once;
// a call whose caller has gone or whose deadline has passed is not computed.
template <typename Request, typename Response>
grpc::ServerUnaryReactor* AnswerLater(Workers& workers, grpc::CallbackServerContext* context,
                                      Method<Request, Response> method, const Request* request, Response* response) {
  grpc::ServerUnaryReactor* reactor = context->DefaultReactor();
  const bool queued = workers.Post([context, reactor, method, request, response] {
    if (context->IsCancelled()) {
      reactor->Finish(grpc::Status(grpc::StatusCode::CANCELLED, "the caller has gone"));
    } else if (context->deadline() < std::chrono::system_clock::now()) {
      reactor->Finish(grpc::Status(grpc::StatusCode::DEADLINE_EXCEEDED, "the deadline passed in the queue"));
    } else {
      reactor->Finish(Run(method, *request, response));
    }
  });
  if (!queued)
    reactor->Finish(ToGrpcStatus(absl::ResourceExhaustedError("too many calls are waiting; try again later")));
  return reactor;
}

}  // namespace coilwright::rpc
