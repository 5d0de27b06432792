#include "connection.h"

#include <algorithm>
#include <chrono>
#include <random>
#include <thread>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_replace.h"
#include "coilwright/v1/status.pb.h"
#include "google/protobuf/descriptor.h"
#include "grpcpp/generic/generic_stub.h"
#include "text.h"

namespace coilwright::cli {
namespace {

grpc::Status UnaryCall(const std::shared_ptr<grpc::Channel>& channel, const std::string& path,
                       std::chrono::system_clock::time_point deadline, const std::string& request,
                       std::string* answer) {
  grpc::GenericStub stub(channel);
  grpc::ClientContext context;
  context.set_deadline(deadline);
  grpc::CompletionQueue queue;
  const grpc::Slice slice(request);
  const auto call = stub.PrepareUnaryCall(&context, path, grpc::ByteBuffer(&slice, 1), &queue);
  call->StartCall();
  grpc::ByteBuffer received;
  grpc::Status status;
  void* tag = nullptr;
  bool ok = false;
  call->Finish(&received, &status, &queue);
  queue.Next(&tag, &ok);
  if (!status.ok()) return status;
  std::vector<grpc::Slice> slices;
  if (!received.Dump(&slices).ok()) return {grpc::StatusCode::INTERNAL, "the answer could not be read"};
  for (const grpc::Slice& part : slices) answer->append(reinterpret_cast<const char*>(part.begin()), part.size());
  return grpc::Status::OK;
}

// A document needs the archive where it is of a job.
bool IsOfJob(const google::protobuf::Message& request) {
  const auto* job = request.GetDescriptor()->FindFieldByName("job");
  return job != nullptr && job->cpp_type() == google::protobuf::FieldDescriptor::CPPTYPE_STRING &&
         request.GetReflection()->HasField(request, job);
}

OwnArchive ArchiveFor(const google::protobuf::MethodDescriptor& method, const google::protobuf::Message& request) {
  const std::string& service = method.service()->name();
  const std::string& name = method.name();
  return {service == "WindingArchiveService" || service == "JobService" || service == "ArchiveService" ||
              (service == "SheetService" && IsOfJob(request)),
          name == "CreateWinding" || name == "CreateJob" || name == "ImportEntries"};
}

// The method of the contract that takes this request; every method has a request type of its own.
const google::protobuf::MethodDescriptor* MethodOf(const google::protobuf::Message& request) {
  const auto* file = request.GetDescriptor()->file();
  for (int s = 0; s < file->service_count(); ++s) {
    for (int m = 0; m < file->service(s)->method_count(); ++m) {
      const auto* method = file->service(s)->method(m);
      if (method->input_type() == request.GetDescriptor()) return method;
    }
  }
  return nullptr;
}

absl::Status NoMethodTakes(const google::protobuf::Message& request) {
  return absl::UnimplementedError(absl::StrCat("no method takes ", request.GetDescriptor()->full_name()));
}

// 128 bits that nobody else draws.
std::string NewRequestId() {
  std::random_device source;
  std::string id;
  for (int i = 0; i < 4; ++i) absl::StrAppendFormat(&id, "%08x", source());
  return id;
}

// A text of a server on one line.
std::string OneLine(const std::string& text) { return absl::StrJoin(Wrap(text, 1 << 20), " "); }

}  // namespace

FieldNamer FlagNamer(const Arguments& arguments) {
  return [&arguments](const std::string& field) {
    // A mask is made of what --set names.
    if (absl::StartsWith(field, "update_mask") && arguments.Has("set")) return std::string("--set");
    const std::string flag = arguments.FlagFor(field);
    return flag.empty() ? field : absl::StrCat(flag, " (", field, ")");
  };
}

absl::Status ErrorLines(const grpc::Status& error, const FieldNamer& name, const std::string& server) {
  const auto code = static_cast<absl::StatusCode>(error.error_code());
  v1::StatusDetails details;
  std::vector<std::string> lines;
  if (details.ParseFromString(error.error_details())) {
    for (const auto& detail : details.details()) {
      v1::FieldViolations violations;
      if (!absl::EndsWith(detail.type_url(), "/google.rpc.BadRequest") || !violations.ParseFromString(detail.value()))
        continue;
      for (const auto& violation : violations.field_violations()) {
        lines.push_back(OneLine(
            absl::StrCat(name(violation.field()), violation.field().empty() ? "" : ": ", violation.description())));
      }
    }
  }
  if (!lines.empty()) return absl::Status(code, absl::StrJoin(lines, "\n"));
  const std::string message = OneLine(error.error_message());
  switch (error.error_code()) {
    case grpc::StatusCode::UNAVAILABLE:
      // The service did answer where there are details: it lacks something itself.
      if (!error.error_details().empty()) return absl::Status(code, message);
      return absl::Status(code, absl::StrCat("no answer from ", server.empty() ? "the service in this process" : server,
                                             message.empty() ? "" : ": ", message));
    case grpc::StatusCode::DEADLINE_EXCEEDED:
      return absl::Status(code, "no answer within the deadline; --deadline gives it more seconds");
    case grpc::StatusCode::UNIMPLEMENTED:
      return absl::Status(code,
                          absl::StrCat("the server does not know this call", message.empty() ? "" : ": ", message));
    default:
      return absl::Status(code,
                          message.empty() ? absl::StrCat("the server failed, code ", error.error_code()) : message);
  }
}

absl::Status Connection::Told(const grpc::Status& error, const FieldNamer& name) const {
  absl::Status told = ErrorLines(error, name, server_);
  if (error.error_code() != grpc::StatusCode::UNAVAILABLE || !error.error_details().empty() || server_.empty())
    return told;
  const std::string hint = Hint(encryption_, error.error_message());
  return hint.empty() ? told : absl::Status(told.code(), absl::StrCat(told.message(), "\n", hint));
}

absl::Status Connection::Call(const google::protobuf::Message& request, google::protobuf::Message* answer,
                              const FieldNamer& name) {
  const auto* method = MethodOf(request);
  return method == nullptr ? NoMethodTakes(request) : Call(*method, request, answer, name);
}

absl::Status Connection::Write(google::protobuf::Message* request, google::protobuf::Message* answer,
                               const FieldNamer& name) {
  const auto* method = MethodOf(*request);
  if (method == nullptr) return NoMethodTakes(*request);
  // A service of our own that does not start will not start later.
  if (const auto channel = Channel(ArchiveFor(*method, *request)); !channel.ok()) return channel.status();
  const auto* id_field = request->GetDescriptor()->FindFieldByName("request_id");
  std::string id;
  if (id_field != nullptr) {
    id = request->GetReflection()->GetString(*request, id_field);
    if (id.empty()) id = NewRequestId();
    request->GetReflection()->SetString(request, id_field, id);
  }
  constexpr int kMostAttempts = 5;
  double pause_seconds = 0.2;
  double left = deadline_seconds_;
  absl::Status status;
  bool sent = false;
  for (int attempt = 1;; ++attempt) {
    const auto start = std::chrono::steady_clock::now();
    // An answer that got lost leaves time to ask for it again.
    status = CallFor(std::min(left, std::max(deadline_seconds_ / 3, 5.0)), *method, *request, answer, name);
    if (!absl::IsUnavailable(status) && !absl::IsDeadlineExceeded(status) && !absl::IsResourceExhausted(status)) {
      return status;
    }
    sent = sent || !absl::StrContains(status.message(), "failed to connect to all addresses");
    left -= std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count() + pause_seconds;
    if (attempt == kMostAttempts || left <= 0) break;
    std::this_thread::sleep_for(std::chrono::duration<double>(pause_seconds));
    pause_seconds *= 2;
  }
  if (id.empty() || !sent || absl::IsResourceExhausted(status)) return status;
  return absl::Status(status.code(), absl::StrCat(status.message(),
                                                  "\nwhether it was written is not known; the same "
                                                  "command with --request-id ",
                                                  id, " writes it once, however often"));
}

absl::StatusOr<std::shared_ptr<grpc::Channel>> Connection::Channel(OwnArchive archive) {
  archive.may_make = archive.may_make || may_make_archive_;
  if (server_.empty() && (channel_ == nullptr || (archive.kept && !keeps_archive_))) {
    channel_ = nullptr;
    keeps_archive_ = archive.kept;
    auto own = own_service_(archive);
    // Another command has the archive of this user for the length of a call; a server or a long one keeps it.
    for (int i = 0; i < 50 && !own.ok() && absl::StrContains(own.status().message(), " is held by "); ++i) {
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
      own = own_service_(archive);
    }
    // Wrong settings and a wrong name of the archive are the caller's to put right.
    if (absl::IsInvalidArgument(own.status()) || absl::IsNotFound(own.status())) return own.status();
    if (!own.ok()) return absl::UnavailableError(own.status().message());
    channel_ = *std::move(own);
  } else if (channel_ == nullptr) {
    // gRPC would take a port modulo 65536 and look a bare name up at port 443.
    const size_t colon = server_.rfind(':');
    int port = 0;
    const bool valid = colon != std::string::npos && colon > 0 && absl::SimpleAtoi(server_.substr(colon + 1), &port) &&
                       port >= 1 && port <= 65535 && (server_.front() == '[' || server_.find(':') == colon);
    if (!valid) {
      return absl::InvalidArgumentError(
          absl::StrCat("--server: got ", Printable(server_), ", accepted: HOST:PORT with a port from 1 to 65535"));
    }
    grpc::ChannelArguments settings;
    // A server that comes back is met by the next attempt of a write.
    settings.SetInt(GRPC_ARG_INITIAL_RECONNECT_BACKOFF_MS, 200);
    if (!encryption_.server_name.empty()) settings.SetSslTargetNameOverride(encryption_.server_name);
    channel_ = grpc::CreateCustomChannel(server_, encryption_.credentials, settings);
  }
  return channel_;
}

absl::Status Connection::Call(const google::protobuf::MethodDescriptor& method,
                              const google::protobuf::Message& request, google::protobuf::Message* answer,
                              const FieldNamer& name) {
  return CallFor(deadline_seconds_, method, request, answer, name);
}

absl::Status Connection::CallFor(double seconds, const google::protobuf::MethodDescriptor& method,
                                 const google::protobuf::Message& request, google::protobuf::Message* answer,
                                 const FieldNamer& name) {
  if (const auto channel = Channel(ArchiveFor(method, request)); !channel.ok()) return channel.status();
  const auto patience =
      std::chrono::duration_cast<std::chrono::system_clock::duration>(std::chrono::duration<double>(seconds));
  std::string bytes;
  const grpc::Status status =
      UnaryCall(channel_, absl::StrCat("/", method.service()->full_name(), "/", method.name()),
                std::chrono::system_clock::now() + patience, request.SerializeAsString(), &bytes);
  if (!status.ok()) return Told(status, name);
  if (!answer->ParseFromString(bytes)) return absl::InternalError("the answer is not of the contract's type");
  return absl::OkStatus();
}

}  // namespace coilwright::cli
