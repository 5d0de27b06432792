// planted_race handlers|workers|guarded
// A service that counts its calls, over a socket: without a guard in methods answered on gRPC's threads or on workers,
// which the thread sanitizer must report, or under a lock of the packaged Abseil, where it must be silent.
#include <iostream>
#include <string>
#include <thread>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/synchronization/mutex.h"
#include "coilwright/v1/rule_service.grpc.pb.h"
#include "rpc/call.h"

namespace coilwright {
namespace {

int unguarded_calls = 0;
int guarded_calls = 0;
absl::Mutex guard;

template <typename Request, typename Response>
absl::Status CountUnguarded(const Request&, Response*) {
  ++unguarded_calls;
  std::this_thread::sleep_for(std::chrono::milliseconds(1));
  return absl::OkStatus();
}

template <typename Request, typename Response>
absl::Status CountGuarded(const Request&, Response*) {
  const absl::MutexLock lock(&guard);
  ++guarded_calls;
  return absl::OkStatus();
}

class CountingService final : public v1::RuleService::CallbackService {
 public:
  explicit CountingService(bool guarded) : guarded_(guarded) {}

 private:
  grpc::ServerUnaryReactor* GetRule(grpc::CallbackServerContext* context, const v1::GetRuleRequest* request,
                                    v1::GetRuleResponse* response) override {
    return rpc::Answer(calls_, context, BodyOf(request, response), request, response);
  }
  grpc::ServerUnaryReactor* ListRules(grpc::CallbackServerContext* context, const v1::ListRulesRequest* request,
                                      v1::ListRulesResponse* response) override {
    return rpc::AnswerLater(calls_, workers_, context, BodyOf(request, response), request, response);
  }

  template <typename Request, typename Response>
  rpc::Method<Request, Response> BodyOf(const Request*, Response*) const {
    return guarded_ ? CountGuarded<Request, Response> : CountUnguarded<Request, Response>;
  }

  const bool guarded_;
  rpc::Calls calls_;
  rpc::Workers workers_{2, 256};
};

void Call(int port, bool on_handlers, bool on_workers) {
  constexpr int kCalls = 100;
  grpc::ChannelArguments arguments;
  arguments.SetInt(GRPC_ARG_USE_LOCAL_SUBCHANNEL_POOL, 1);
  const auto stub = v1::RuleService::NewStub(
      grpc::CreateCustomChannel(absl::StrCat("127.0.0.1:", port), grpc::InsecureChannelCredentials(), arguments));
  for (int i = 0; i < kCalls; ++i) {
    if (on_handlers) {
      grpc::ClientContext context;
      v1::GetRuleResponse answer;
      if (!stub->GetRule(&context, {}, &answer).ok()) std::abort();
    }
    if (on_workers) {
      grpc::ClientContext context;
      v1::ListRulesResponse answer;
      if (!stub->ListRules(&context, {}, &answer).ok()) std::abort();
    }
  }
}

int Main(const std::string& where) {
  const bool guarded = where == "guarded";
  CountingService service(guarded);
  int port = 0;
  grpc::ServerBuilder builder;
  builder.AddListeningPort("127.0.0.1:0", grpc::InsecureServerCredentials(), &port);
  builder.RegisterService(&service);
  const std::unique_ptr<grpc::Server> server = builder.BuildAndStart();
  if (server == nullptr) return 1;
  std::vector<std::thread> callers;
  for (int i = 0; i < 4; ++i)
    callers.emplace_back(Call, port, guarded || where == "handlers", guarded || where == "workers");
  for (std::thread& caller : callers) caller.join();
  server->Shutdown();
  std::cout << "calls counted: " << unguarded_calls + guarded_calls << "\n";
  return 0;
}

}  // namespace
}  // namespace coilwright

int main(int argc, char** argv) { return coilwright::Main(argc == 2 ? argv[1] : ""); }
