// The bare service every budget is a ratio to, with the same libraries and server API as ours.
//   bench_bare_echo serve BYTES   listens on a free loopback port, prints "listening on ADDRESS", answers each call
//   with
//                                 BYTES of payload until SIGTERM
//   bench_bare_echo once          starts in this process only, makes one call, prints the answer

#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "echo.grpc.pb.h"
#include "grpcpp/grpcpp.h"
#include "rpc/arena.h"

namespace {

namespace bench = coilwright::bench;

class EchoService final : public bench::EchoService::CallbackService {
 public:
  explicit EchoService(size_t reply_bytes) : reply_(reply_bytes, 'e') { SetMessageAllocatorFor_Echo(&messages_); }

 private:
  grpc::ServerUnaryReactor* Echo(grpc::CallbackServerContext* context, const bench::EchoRequest* request,
                                 bench::EchoResponse* response) override {
    response->set_payload(reply_.empty() ? request->payload() : reply_);
    grpc::ServerUnaryReactor* reactor = context->DefaultReactor();
    reactor->Finish(grpc::Status::OK);
    return reactor;
  }

  const std::string reply_;  // empty: what was sent
  coilwright::rpc::ArenaAllocator<bench::EchoRequest, bench::EchoResponse> messages_;
};

int Serve(size_t reply_bytes) {
  sigset_t stop;
  sigemptyset(&stop);
  sigaddset(&stop, SIGTERM);
  pthread_sigmask(SIG_BLOCK, &stop, nullptr);
  EchoService service(reply_bytes);
  int port = 0;
  grpc::ServerBuilder builder;
  builder.AddListeningPort("127.0.0.1:0", grpc::InsecureServerCredentials(), &port);
  builder.RegisterService(&service);
  const auto server = builder.BuildAndStart();
  if (server == nullptr) return 1;
  std::printf("bench_bare_echo listening on 127.0.0.1:%d\n", port);
  std::fflush(stdout);
  int signal = 0;
  sigwait(&stop, &signal);
  server->Shutdown(std::chrono::system_clock::now());
  return 0;
}

int Once() {
  EchoService service(0);
  grpc::ServerBuilder builder;
  builder.RegisterService(&service);
  const auto server = builder.BuildAndStart();
  if (server == nullptr) return 1;
  const auto stub = bench::EchoService::NewStub(server->InProcessChannel({}));
  grpc::ClientContext context;
  bench::EchoRequest request;
  bench::EchoResponse response;
  request.set_payload("one call in this process\n");
  const grpc::Status status = stub->Echo(&context, request, &response);
  std::fputs(response.payload().c_str(), stdout);
  std::fflush(stdout);
  return status.ok() ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string how = argc > 1 ? argv[1] : "";
  if (how == "once" && argc == 2) return Once();
  if (how == "serve" && argc == 3) return Serve(std::strtoul(argv[2], nullptr, 10));
  std::fputs("usage: bench_bare_echo serve BYTES | once\n", stderr);
  return 2;
}
