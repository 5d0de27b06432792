#include "golden/golden.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <stdexcept>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "calls/walk.h"
#include "google/protobuf/message.h"
#include "grpcpp/generic/generic_stub.h"
#include "json.h"

namespace coilwright::golden {
namespace {

using google::protobuf::Message;
using google::protobuf::MethodDescriptor;

std::unique_ptr<Message> New(const google::protobuf::Descriptor* type) {
  return std::unique_ptr<Message>(google::protobuf::MessageFactory::generated_factory()->GetPrototype(type)->New());
}

grpc::ByteBuffer Bytes(const MethodDescriptor& method, const Json& request) {
  const auto message = New(method.input_type());
  // A case is written by hand: what is wrong with it is told as to anybody who writes JSON.
  const auto source = cli::ReadJson("request", request.dump());
  const absl::Status parsed = source.ok() ? cli::ParseJson(*source, message.get()) : source.status();
  if (!parsed.ok()) throw std::invalid_argument(absl::StrCat(method.full_name(), ": ", std::string(parsed.message())));
  const grpc::Slice slice(message->SerializeAsString());
  return grpc::ByteBuffer(&slice, 1);
}

Json Answer(const MethodDescriptor& method, const grpc::ByteBuffer& bytes) {
  grpc::Slice slice;
  const auto message = New(method.output_type());
  if (!bytes.DumpToSingleSlice(&slice).ok() || !message->ParseFromArray(slice.begin(), static_cast<int>(slice.size())))
    throw std::runtime_error(absl::StrCat(method.full_name(), ": an answer that is no message"));
  return Json::parse(cli::ToJsonLine(*message));
}

Json ErrorOf(const grpc::Status& status) {
  // The codes of both are numbered alike.
  const auto code = static_cast<absl::StatusCode>(status.error_code());
  Json error = {{"code", absl::StatusCodeToString(code)}, {"message", status.error_message()}};
  const calls::Violations violations = calls::ViolationsOf(status);
  for (size_t i = 0; i < violations.fields.size(); ++i)
    error["violations"].push_back({{"field", violations.fields[i]}, {"description", violations.descriptions[i]}});
  if (!violations.more.empty()) error["violations"].push_back({{"field", ""}, {"description", violations.more}});
  return error;
}

// Waits for what is done next, and says whether it went well.
bool Next(grpc::CompletionQueue* queue, void** done) {
  bool ok = false;
  return queue->Next(done, &ok) && ok;
}

bool IsStream(const MethodDescriptor& method) { return method.client_streaming() || method.server_streaming(); }

}  // namespace

// On the wire a call with one answer is a stream of one message each way, so one way of calling serves for all.
Json Played(const std::shared_ptr<grpc::Channel>& channel, const MethodDescriptor& method, const Json& asked) {
  const bool stream = IsStream(method);
  std::vector<grpc::ByteBuffer> requests;
  for (const Json& request : stream ? asked.at("requests") : Json::array({asked.at("request")}))
    requests.push_back(Bytes(method, request));
  grpc::ClientContext context;
  context.set_deadline(std::chrono::system_clock::now() + std::chrono::seconds(60));
  grpc::CompletionQueue queue;
  void* done = nullptr;
  grpc::GenericStub stub(channel);
  const auto call =
      stub.PrepareCall(&context, absl::StrCat("/", method.service()->full_name(), "/", method.name()), &queue);
  call->StartCall(nullptr);
  Next(&queue, &done);

  // Answers are read while requests are written: a service reads no further while its last answer is not.
  char reading = 0;
  char writing = 0;
  size_t sent = 0;
  const auto send = [&] {
    if (sent < requests.size()) {
      call->Write(requests[sent], &writing);
    } else {
      call->WritesDone(&writing);
    }
    ++sent;
  };
  grpc::ByteBuffer answer;
  std::vector<grpc::ByteBuffer> answered;
  call->Read(&answer, &reading);
  send();
  for (bool reads = true, writes = true; reads || writes;) {
    const bool ok = Next(&queue, &done);
    if (done == &writing) {
      writes = ok && sent <= requests.size();
      if (writes) send();
    } else {
      reads = ok;
      if (!ok) continue;
      answered.push_back(answer);
      call->Read(&answer, &reading);
    }
  }
  grpc::Status status;
  call->Finish(&status, nullptr);
  Next(&queue, &done);

  Json answers = Json::array();
  for (const grpc::ByteBuffer& bytes : answered) answers.push_back(Answer(method, bytes));
  Json played = {{"name", asked.at("name")}};
  played[stream ? "requests" : "request"] = asked.at(stream ? "requests" : "request");
  if (stream) {
    played["answers"] = answers;
  } else if (status.ok()) {
    played["answer"] = answers.at(0);
  }
  if (!status.ok()) played["error"] = ErrorOf(status);
  return played;
}

std::string DifferenceOf(const Json& expected, const Json& actual) {
  if (expected.is_number() && actual.is_number()) {
    const double a = expected.get<double>();
    const double b = actual.get<double>();
    if (std::abs(a - b) <= 1e-9 * std::max(std::abs(a), std::abs(b))) return "";
  } else if (expected.is_object() && actual.is_object()) {
    for (const auto& [key, value] : expected.items()) {
      const std::string inside = actual.contains(key) ? DifferenceOf(value, actual[key]) : ": left out";
      if (!inside.empty()) return absl::StrCat(".", key, inside);
    }
    for (const auto& [key, value] : actual.items()) {
      if (!expected.contains(key)) return absl::StrCat(".", key, ": not expected");
    }
    return "";
  } else if (expected.is_array() && actual.is_array() && expected.size() == actual.size()) {
    for (size_t i = 0; i < expected.size(); ++i) {
      const std::string inside = DifferenceOf(expected[i], actual[i]);
      if (!inside.empty()) return absl::StrCat("[", i, "]", inside);
    }
    return "";
  } else if (expected == actual) {
    return "";
  }
  return absl::StrCat(": ", actual.dump(), ", expected ", expected.dump());
}

}  // namespace coilwright::golden
