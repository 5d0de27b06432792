#pragma once

#include <chrono>
#include <memory>

#include "absl/status/status.h"
#include "archive/archive.h"
#include "grpcpp/grpcpp.h"
#include "rpc/calls.h"
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
grpc::ServerUnaryReactor* Answer(Calls& calls, grpc::CallbackServerContext* context, Method<Request, Response> method,
                                 const Request* request, Response* response) {
  grpc::ServerUnaryReactor* reactor = context->DefaultReactor();
  Call call(calls, EntryTaking<Request>(), *context);
  const grpc::Status status = call.permitted().ok() ? Run(method, *request, response) : ToGrpcStatus(call.permitted());
  call.End(status, *request, *response);
  reactor->Finish(status);
  return reactor;
}

// Answers on a worker with what `run` returns, a grpc::Status, so that no gRPC thread waits. A full queue says so at
// once; a call whose caller has gone or whose deadline has passed is not computed.
template <typename Request, typename Response, typename Run>
grpc::ServerUnaryReactor* AnswerOn(Calls& calls, Workers& workers, grpc::CallbackServerContext* context,
                                   const Request* request, Response* response, Run run) {
  grpc::ServerUnaryReactor* reactor = context->DefaultReactor();
  Call call(calls, EntryTaking<Request>(), *context);
  const auto finish = [reactor, request, response](Call ended, const grpc::Status& status) {
    ended.End(status, *request, *response);
    reactor->Finish(status);
  };
  if (!call.permitted().ok()) {
    finish(call, ToGrpcStatus(call.permitted()));
    return reactor;
  }
  const bool queued = workers.Post([context, call, finish, run] {
    if (context->IsCancelled()) {
      finish(call, grpc::Status(grpc::StatusCode::CANCELLED, "the caller has gone"));
    } else if (context->deadline() < std::chrono::system_clock::now()) {
      finish(call, grpc::Status(grpc::StatusCode::DEADLINE_EXCEEDED, "the deadline passed in the queue"));
    } else {
      finish(call, run());
    }
  });
  if (!queued) finish(call, ToGrpcStatus(absl::ResourceExhaustedError("too many calls are waiting; try again later")));
  return reactor;
}

// A call that may take milliseconds.
template <typename Request, typename Response>
grpc::ServerUnaryReactor* AnswerLater(Calls& calls, Workers& workers, grpc::CallbackServerContext* context,
                                      Method<Request, Response> method, const Request* request, Response* response) {
  return AnswerOn(calls, workers, context, request, response,
                  [method, request, response] { return Run(method, *request, response); });
}

// The body of a call to the archive.
template <typename Request, typename Response>
using ArchiveMethod = absl::Status (*)(archive::Archive&, const Request&, Response*);

// What a service needs for such calls: the archive, null where the service keeps none, and threads that wait for it.
struct ArchiveAccess {
  Calls& calls;
  Workers& workers;
  std::shared_ptr<archive::Archive> archive;
};

inline absl::Status NoArchive() {
  return absl::FailedPreconditionError(
      "this service keeps no archive; start coilwrightd with --archive=FILE, or coilwright with --archive FILE");
}

// As Run, but that nothing is written where a number is unreadable. `archive` may be null.
template <typename Request, typename Response>
grpc::Status RunOnArchive(archive::Archive* archive, ArchiveMethod<Request, Response> method, const Request& request,
                          Response* response) {
  if (archive == nullptr) return ToGrpcStatus(NoArchive());
  return ToGrpcStatus(GuardedFirst(request, [&] { return method(*archive, request, response); }));
}

// A call that waits for a disk or a database.
template <typename Request, typename Response>
grpc::ServerUnaryReactor* AnswerFromArchive(const ArchiveAccess& access, grpc::CallbackServerContext* context,
                                            ArchiveMethod<Request, Response> method, const Request* request,
                                            Response* response) {
  archive::Archive* archive = access.archive.get();
  return AnswerOn(access.calls, access.workers, context, request, response,
                  [archive, method, request, response] { return RunOnArchive(archive, method, *request, response); });
}

// The body of a call that needs the archive for some of what it may be asked; null where the service keeps none.
template <typename Request, typename Response>
using SometimesArchiveMethod = absl::Status (*)(archive::Archive*, const Request&, Response*);

template <typename Request, typename Response>
grpc::Status RunWithArchive(archive::Archive* archive, SometimesArchiveMethod<Request, Response> method,
                            const Request& request, Response* response) {
  return ToGrpcStatus(GuardedFirst(request, [&] { return method(archive, request, response); }));
}

template <typename Request, typename Response>
grpc::ServerUnaryReactor* AnswerWithArchive(const ArchiveAccess& access, grpc::CallbackServerContext* context,
                                            SometimesArchiveMethod<Request, Response> method, const Request* request,
                                            Response* response) {
  archive::Archive* archive = access.archive.get();
  return AnswerOn(access.calls, access.workers, context, request, response,
                  [archive, method, request, response] { return RunWithArchive(archive, method, *request, response); });
}

}  // namespace coilwright::rpc
