#pragma once

#include <cmath>
#include <functional>
#include <limits>
#include <set>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "coilwright/v1/quantities.pb.h"
#include "coilwright/v1/status.pb.h"
#include "google/protobuf/message.h"
#include "grpcpp/support/status.h"

// What must be true of any answer and any error of the contract, found by reflection.
namespace coilwright::calls {

using google::protobuf::Descriptor;
using google::protobuf::FieldDescriptor;
using google::protobuf::Message;
using google::protobuf::Reflection;

// Every message of the tree with its path, the root ("") first.
inline void ForEachMessage(const Message& message, const std::string& path,
                           const std::function<void(const Message&, const std::string&)>& visit) {
  visit(message, path);
  std::vector<const FieldDescriptor*> fields;
  message.GetReflection()->ListFields(message, &fields);
  for (const FieldDescriptor* field : fields) {
    if (field->cpp_type() != FieldDescriptor::CPPTYPE_MESSAGE) continue;
    const std::string here = path.empty() ? field->name() : absl::StrCat(path, ".", field->name());
    if (!field->is_repeated()) {
      ForEachMessage(message.GetReflection()->GetMessage(message, field), here, visit);
      continue;
    }
    for (int i = 0; i < message.GetReflection()->FieldSize(message, field); ++i) {
      ForEachMessage(message.GetReflection()->GetRepeatedMessage(message, field, i), absl::StrCat(here, "[", i, "]"),
                     visit);
    }
  }
}

// Doubles of this message itself, bands among its fields included.
inline std::vector<double> DoublesOf(const Message& message) {
  std::vector<double> doubles;
  std::vector<const FieldDescriptor*> fields;
  message.GetReflection()->ListFields(message, &fields);
  for (const FieldDescriptor* field : fields) {
    const bool repeated = field->is_repeated();
    if (field->cpp_type() == FieldDescriptor::CPPTYPE_DOUBLE) {
      if (!repeated) doubles.push_back(message.GetReflection()->GetDouble(message, field));
      for (int i = 0; repeated && i < message.GetReflection()->FieldSize(message, field); ++i)
        doubles.push_back(message.GetReflection()->GetRepeatedDouble(message, field, i));
    } else if (!repeated && field->message_type() == v1::Band::descriptor()) {
      const auto& band = static_cast<const v1::Band&>(message.GetReflection()->GetMessage(message, field));
      doubles.insert(doubles.end(), {band.low(), band.nominal(), band.high()});
    }
  }
  return doubles;
}

// What is wrong with an OK answer whatever was asked: numbers that are none, bands out of order, an enum left out of
// the contract, numbers without a rule. One line each.
inline std::vector<std::string> FaultsOf(const Message& answer) {
  std::vector<std::string> faults;
  ForEachMessage(answer, "", [&](const Message& message, const std::string& path) {
    for (const double value : DoublesOf(message)) {
      if (!std::isfinite(value)) faults.push_back(absl::StrCat(path, ": a number that is none"));
    }
    // An export gives what was imported as it came.
    if (absl::StartsWith(path, "entries[")) return;
    if (message.GetDescriptor() == v1::Band::descriptor()) {
      const auto& band = static_cast<const v1::Band&>(message);
      // What was asked is kept as it came.
      if (!absl::StrContains(path, "request.") && !(band.low() <= band.nominal() && band.nominal() <= band.high()))
        faults.push_back(
            absl::StrCat(path, ": ", band.low(), ", ", band.nominal(), ", ", band.high(), " out of order"));
    }
    const FieldDescriptor* uses = message.GetDescriptor()->FindFieldByName("rule_uses");
    if (uses != nullptr && !DoublesOf(message).empty() && message.GetReflection()->FieldSize(message, uses) == 0)
      faults.push_back(absl::StrCat(path, ": computed numbers without a rule"));
  });
  // What an archive keeps has the revision it was computed by inside.
  const FieldDescriptor* revision = answer.GetDescriptor()->FindFieldByName("data_revision");
  const std::string& file = answer.GetDescriptor()->file()->name();
  const bool kept = absl::EndsWith(file, "archive_service.proto") || absl::EndsWith(file, "job_service.proto");
  if (revision == nullptr && kept) return faults;
  if (revision == nullptr || answer.GetReflection()->GetString(answer, revision).empty())
    faults.emplace_back("no data revision");
  return faults;
}

// Every rule id an answer names, wherever it stands.
inline std::set<std::string> RulesNamed(const Message& answer) {
  std::set<std::string> rules;
  ForEachMessage(answer, "", [&](const Message& message, const std::string&) {
    std::vector<const FieldDescriptor*> fields;
    message.GetReflection()->ListFields(message, &fields);
    for (const FieldDescriptor* field : fields) {
      if (field->type() != FieldDescriptor::TYPE_STRING || field->is_repeated()) continue;
      if (field->name() == "rule" || absl::EndsWith(field->name(), "_rule"))
        rules.insert(message.GetReflection()->GetString(message, field));
    }
  });
  return rules;
}

// Whether "record.winding.groups[0].turns" names a field of the contract below `type`.
inline bool PathExists(const Descriptor* type, const std::string& path) {
  for (const absl::string_view part : absl::StrSplit(path, '.')) {
    if (type == nullptr) return false;
    const std::vector<std::string> name_index = absl::StrSplit(part, '[');
    const FieldDescriptor* field = type->FindFieldByName(name_index[0]);
    if (field == nullptr) return false;
    int index = 0;
    if (name_index.size() > 1 && (!field->is_repeated() || !absl::EndsWith(name_index[1], "]") ||
                                  !absl::SimpleAtoi(name_index[1].substr(0, name_index[1].size() - 1), &index)))
      return false;
    type = field->message_type();
  }
  return true;
}

struct Violations {
  std::vector<std::string> fields;
  std::vector<std::string> descriptions;
  std::string more;  // "and 80 more", empty where all are listed
};

// The violations of a status, read as standard tooling does: a google.rpc.Status with a google.rpc.BadRequest.
inline Violations ViolationsOf(const grpc::Status& status) {
  Violations violations;
  v1::StatusDetails details;
  if (!details.ParseFromString(status.error_details())) return violations;
  for (const auto& any : details.details()) {
    v1::FieldViolations bad_request;
    if (any.type_url() != "type.googleapis.com/google.rpc.BadRequest" || !bad_request.ParseFromString(any.value()))
      continue;
    for (const auto& violation : bad_request.field_violations()) {
      if (violation.field().empty()) {
        violations.more = violation.description();
      } else {
        violations.fields.push_back(violation.field());
        violations.descriptions.push_back(violation.description());
      }
    }
  }
  return violations;
}

// What is wrong with the outcome of a call, whatever was asked: a code our code never gives, an error that names no
// field of the request, an OK answer with faults.
inline std::vector<std::string> FaultsOf(const grpc::Status& status, const Descriptor* request, const Message& answer) {
  if (!status.ok()) {
    // Parsing fails on letters cut in half.
    v1::StatusDetails details;
    if (!details.ParseFromString(status.error_details()) || details.code() != status.error_code())
      return {"details that are no google.rpc.Status of the same code: " + status.error_message()};
  }
  switch (status.error_code()) {
    case grpc::StatusCode::OK:
      return FaultsOf(answer);
    case grpc::StatusCode::NOT_FOUND:
    case grpc::StatusCode::FAILED_PRECONDITION:
    case grpc::StatusCode::ALREADY_EXISTS:
    case grpc::StatusCode::ABORTED:
      return status.error_message().empty() ? std::vector<std::string>{"an error without words"}
                                            : std::vector<std::string>{};
    case grpc::StatusCode::INVALID_ARGUMENT:
      break;
    default:
      return {absl::StrCat("code ", static_cast<int>(status.error_code()), ": ", status.error_message())};
  }
  std::vector<std::string> faults;
  const Violations violations = ViolationsOf(status);
  if (violations.fields.empty()) faults.push_back(absl::StrCat("no field named: ", status.error_message()));
  for (const std::string& field : violations.fields) {
    if (!PathExists(request, field)) faults.push_back(absl::StrCat("no such field: ", field));
  }
  // Twice the trailer as sent: base64 and percent signs are for intermediaries that cannot carry it plain.
  if (status.error_details().size() > 3072 || status.error_message().size() > 512)
    faults.push_back(absl::StrCat("a trailer of ", status.error_details().size(), " bytes"));
  return faults;
}

}  // namespace coilwright::calls
