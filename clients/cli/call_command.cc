#include <memory>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "command.h"
#include "contract_methods.h"
#include "google/protobuf/descriptor.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using google::protobuf::MethodDescriptor;

absl::StatusOr<const MethodDescriptor*> Find(const std::string& wanted) {
  if (const MethodDescriptor* method = MethodNamed(wanted); method != nullptr) return method;
  std::vector<std::string> known;
  for (const MethodDescriptor* method : AllMethods()) known.push_back(MethodName(*method));
  const std::string nearest = Nearest(wanted, known);
  return absl::InvalidArgumentError(
      absl::StrCat("no method ", wanted, "; ",
                   nearest.empty() ? "see coilwright call --list" : absl::StrCat("did you mean ", nearest, "?")));
}

absl::Status Call(Session& session) {
  if (session.arguments.Has("list")) {
    Table table({{"method", {}}, {"request", {}}, {"answer", {}}});
    for (const MethodDescriptor* method : AllMethods()) {
      table.Add({MethodName(*method), method->input_type()->name(), method->output_type()->name()});
    }
    Page page;
    page.Add(table);
    session.out = page.text();
    return absl::OkStatus();
  }
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "SERVICE/METHOD, see coilwright call --list");
      !words.ok())
    return words;
  const auto method = Find(session.arguments.words()[0]);
  if (!method.ok()) return method.status();
  if ((*method)->client_streaming() || (*method)->server_streaming()) {
    return absl::InvalidArgumentError(
        absl::StrCat(MethodName(**method), " is a stream; call sends one request and prints one answer"));
  }
  if (session.arguments.Has("data") && session.arguments.Has("file"))
    return absl::InvalidArgumentError("--file beside --data; accepted: one of the two");
  const auto source = session.arguments.Has("data") ? ReadJson("--data", session.arguments.Text("data"))
                                                    : ReadJsonFile(session.arguments.Text("file", "-"), session.in);
  if (!source.ok()) return source.status();
  auto* factory = google::protobuf::MessageFactory::generated_factory();
  const std::unique_ptr<google::protobuf::Message> request(factory->GetPrototype((*method)->input_type())->New());
  const std::unique_ptr<google::protobuf::Message> answer(factory->GetPrototype((*method)->output_type())->New());
  if (absl::Status parsed = ParseJson(*source, request.get()); !parsed.ok()) return parsed;
  if (absl::Status called = session.connection.Call(**method, *request, answer.get(), FlagNamer(session.arguments));
      !called.ok())
    return called;
  session.out = ToJson(*answer);
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> CallCommands() {
  return {{"call",
           "any method: JSON request in, JSON answer out",
           "SERVICE/METHOD < request.json",
           {{"data", "JSON", "", "the request, instead of standard input"},
            {"file", "FILE", "", "a file with the request, likewise"},
            {"list", "", "", "list the methods"}},
           Call,
           "Request and answer are proto3 JSON with the field names of the contract. Example: coilwright call "
           "RuleService/ListRules --data '{\"page_size\": 3}'"}};
}

}  // namespace coilwright::cli
