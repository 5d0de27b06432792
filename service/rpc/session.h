#pragma once

#include "absl/status/statusor.h"

namespace coilwright::rpc {

// One stream as its method sees it: messages in, answers out, no gRPC, so that it is tested without a socket. One
// object per stream, made when the stream opens and destroyed when it is over; its calls never overlap, whatever thread
// they come on. It takes microseconds per message and holds a bounded amount of memory however long the stream runs.
//
// What one message says wrongly is answered in the response (v1::StatusDetails beside it, see DetailsOf) and the stream
// goes on; an error returned ends the stream with that status.
template <typename Request, typename Response>
class Session {
 public:
  virtual ~Session() = default;

  // One message of the client. `response` is empty on entry; true: it is sent, and the next message is read only after
  // it has gone out. False: there is nothing to say yet. Bodies go through Guarded() item by item, which refuses
  // numbers that are none.
  virtual absl::StatusOr<bool> Take(const Request& request, Response* response) = 0;

  // Called once when no further message comes: the client has closed its side, the server is stopping, the stream was
  // idle for too long, or Take returned an error. True: `response` is sent last. Not called when the client has gone.
  virtual absl::StatusOr<bool> Finish(Response* /*response*/) { return false; }
};

}  // namespace coilwright::rpc
