#include "rpc/server.h"

#include "absl/strings/str_cat.h"
#include "grpcpp/ext/proto_server_reflection_plugin.h"
#include "grpcpp/health_check_service_interface.h"
#include "rpc/access.h"
#include "rpc/archive_services.h"
#include "rpc/figures.h"
#include "rpc/services.h"
#include "rpc/shop.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

// Two computing threads keep both of a small machine's cores busy; the queue is what a second of them can work off.
constexpr int kWorkerThreads = 2;
constexpr size_t kQueueLimit = 256;

// Calls that wait for the archive: as many are committed together as threads wait for it.
constexpr int kStorageThreads = 64;
constexpr size_t kStorageQueueLimit = 1024;

// What the last words of streams have to reach their clients when the server stops.
constexpr std::chrono::milliseconds kFarewell(250);

}  // namespace

struct Server::Services {
  explicit Services(const ServerOptions& options)
      : calls(options.access, options.log),
        streams(calls, options.most_streams, options.stream_idle),
        archive(options.archive) {}

  Calls calls;
  Streams streams;
  Workers workers{kWorkerThreads, kQueueLimit};
  RuleService rules{calls};
  WireService wires{calls, workers};
  TestLimitService limits{calls, streams};
  MegohmService megohms{calls};
  InsulationRunService runs{streams};
  CoreTestService cores{calls};
  DriveStressService drives{calls};
  RewindPlanService plans{calls, workers};
  LayoutService layouts{calls, workers};
  RecordCheckService checks{calls, workers};
  ReadingService readings{calls, workers};
  // Before the threads that use it, so that it goes after them.
  const std::shared_ptr<archive::Archive> archive;
  Workers storage{kStorageThreads, kStorageQueueLimit};
  WindingArchiveService windings{{calls, storage, archive}};
  JobService jobs{{calls, storage, archive}};
  ArchiveService archives{{calls, storage, archive}};
  SheetService sheets{calls, workers, {calls, storage, archive}};

  std::vector<grpc::Service*> all() {
    return {&rules,   &wires,  &limits,   &megohms,  &runs, &cores,    &drives, &plans,
            &layouts, &checks, &readings, &windings, &jobs, &archives, &sheets};
  }
};

Server::Server(const ServerOptions& options) : services_(std::make_unique<Services>(options)) {}

Server::~Server() {
  if (server_ != nullptr) Shutdown(std::chrono::milliseconds(0));
}

absl::StatusOr<std::unique_ptr<Server>> Server::Start(const ServerOptions& options) {
  if (options.port < 0 || options.port > 65535) {
    return standards::InvalidField("port", absl::StrCat(options.port), "0 (a free port) to 65535");
  }
  if (absl::Status used = UseShop(options.settings); !used.ok()) return used;
  if (options.listen) {
    // Both must be asked for before the builder exists; a process-only server has no use for them.
    grpc::EnableDefaultHealthCheckService(true);
    grpc::reflection::InitProtoReflectionServerBuilderPlugin();
  }
  std::unique_ptr<Server> server(new Server(options));
  grpc::ServerBuilder builder;
  builder.AddChannelArgument(GRPC_ARG_ALLOW_REUSEPORT, 0);
  // Clients may ping every 20 s, with or without a call; without this they are told "too many pings".
  builder.AddChannelArgument(GRPC_ARG_HTTP2_MIN_RECV_PING_INTERVAL_WITHOUT_DATA_MS, 20000);
  builder.AddChannelArgument(GRPC_ARG_KEEPALIVE_PERMIT_WITHOUT_CALLS, 1);
  // A bench that lost its power says nothing: without pings its streams would stay open until they are idle.
  builder.AddChannelArgument(GRPC_ARG_KEEPALIVE_TIME_MS, 60000);
  builder.AddChannelArgument(GRPC_ARG_KEEPALIVE_TIMEOUT_MS, 20000);
  // What a stream may send before it is read stays at 64 KiB; gRPC would let it grow to megabytes on a fast line.
  builder.AddChannelArgument(GRPC_ARG_HTTP2_BDP_PROBE, 0);
  builder.SetMaxReceiveMessageSize(options.greatest_message_bytes);
  builder.SetMaxSendMessageSize(options.greatest_message_bytes);
  for (grpc::Service* service : server->services_->all()) builder.RegisterService(service);
  const std::string address = absl::StrCat(options.host, ":", options.port);
  if (options.listen) {
    builder.AddListeningPort(address,
                             options.credentials == nullptr ? grpc::InsecureServerCredentials() : options.credentials,
                             &server->port_);
  }
  server->server_ = builder.BuildAndStart();
  if (server->server_ == nullptr || (options.listen && server->port_ == 0)) {
    server->server_ = nullptr;
    return absl::UnavailableError(
        absl::StrCat("cannot listen on ", address, ": address in use, not an address of this machine, not permitted",
                     options.credentials == nullptr ? "" : ", or a certificate gRPC does not take"));
  }
  if (auto* health = server->server_->GetHealthCheckService()) {
    for (const char* name : {v1::RuleService::service_full_name(), v1::WireService::service_full_name(),
                             v1::TestLimitService::service_full_name(), v1::MegohmService::service_full_name(),
                             v1::InsulationRunService::service_full_name(), v1::CoreTestService::service_full_name(),
                             v1::DriveStressService::service_full_name(), v1::RewindPlanService::service_full_name(),
                             v1::LayoutService::service_full_name(), v1::RecordCheckService::service_full_name(),
                             v1::ReadingService::service_full_name(), v1::WindingArchiveService::service_full_name(),
                             v1::JobService::service_full_name(), v1::ArchiveService::service_full_name(),
                             v1::SheetService::service_full_name()}) {
      health->SetServingStatus(name, true);
    }
  }
  return server;
}

std::shared_ptr<grpc::Channel> Server::InProcessChannel() {
  return server_->InProcessChannel(grpc::ChannelArguments());
}

int Server::open_streams() const { return services_->streams.open(); }

ServerFigures Server::Figures() const {
  const Services& own = *services_;
  return {own.calls.Figures(),       own.streams.open(),    own.streams.most_open(),  own.workers.waiting(),
          own.workers.queue_limit(), own.storage.waiting(), own.storage.queue_limit()};
}

void Server::Shutdown(std::chrono::milliseconds grace) {
  if (auto* health = server_->GetHealthCheckService()) health->SetServingStatus(false);
  services_->streams.CloseAt(Streams::Clock::now() + grace);
  server_->Shutdown(std::chrono::system_clock::now() + grace + kFarewell);
  server_->Wait();
}

}  // namespace coilwright::rpc
