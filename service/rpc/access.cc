#include "rpc/access.h"

#include <openssl/bio.h>
#include <openssl/evp.h>
#include <openssl/pem.h>

#include <algorithm>
#include <cstdlib>

#include "absl/strings/ascii.h"
#include "absl/strings/escaping.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "grpc/grpc_security_constants.h"
#include "rpc/reader.h"

namespace coilwright::rpc {
namespace {

constexpr int kMostClients = 10000;
// Certificates remembered; a shop has dozens.
constexpr size_t kMostMet = 1000;
constexpr size_t kMostClientBytes = 200;

absl::string_view View(const grpc::string_ref& text) { return {text.data(), text.size()}; }

// The first value of a property of the connection, or nothing.
absl::string_view Property(const grpc::AuthContext& caller, const char* name) {
  const std::vector<grpc::string_ref> values = caller.FindPropertyValues(name);
  return values.empty() ? absl::string_view() : View(values.front());
}

// SHA-256 of the certificate in this text, in small hexadecimal digits; empty where there is none.
std::string FingerprintOf(absl::string_view pem) {
  const std::unique_ptr<BIO, int (*)(BIO*)> text(BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())), BIO_free);
  char* name = nullptr;
  char* header = nullptr;
  unsigned char* bytes = nullptr;
  long size = 0;
  if (PEM_read_bio(text.get(), &name, &header, &bytes, &size) != 1) return "";
  unsigned char digest[EVP_MAX_MD_SIZE];
  unsigned digest_size = 0;
  const bool done =
      EVP_Digest(bytes, static_cast<size_t>(size), digest, &digest_size, EVP_sha256(), nullptr) == 1 && digest_size > 0;
  OPENSSL_free(name);
  OPENSSL_free(header);
  OPENSSL_free(bytes);
  return done ? absl::BytesToHexString({reinterpret_cast<const char*>(digest), digest_size}) : "";
}

// 64 small hexadecimal digits, or nothing where this is no fingerprint.
std::string ReadFingerprint(const std::string& text) {
  const std::string digits = absl::AsciiStrToLower(absl::StrReplaceAll(text, {{":", ""}}));
  return digits.size() == 64 && std::all_of(digits.begin(), digits.end(), absl::ascii_isxdigit) ? digits : "";
}

// A common name as it is printed: cut where it is longer than any real one, without what would break a line.
std::string Printed(absl::string_view name) {
  size_t size = std::min(name.size(), kMostClientBytes);
  while (size < name.size() && size > 0 && (static_cast<unsigned char>(name[size]) & 0xC0) == 0x80) --size;
  return absl::Utf8SafeCEscape(name.substr(0, size));
}

std::string Quoted(absl::string_view text) { return absl::StrCat("\"", absl::Utf8SafeCEscape(text), "\""); }

}  // namespace

absl::string_view Name(Role role) {
  switch (role) {
    case Role::kNone:
      return "none";
    case Role::kRead:
      return "read";
    case Role::kRecord:
      return "record";
    case Role::kSignOff:
      return "sign off";
  }
  std::abort();
}

const std::vector<MethodEntry>& MethodTable() {
  static const auto* const table =
      new std::vector<MethodEntry>{{"coilwright.v1.ArchiveService/GetArchive", Role::kRead},
                                   {"coilwright.v1.ArchiveService/ExportEntries", Role::kRead},
                                   // What is imported may hold releases.
                                   {"coilwright.v1.ArchiveService/ImportEntries", Role::kSignOff},
                                   {"coilwright.v1.CoreTestService/PlanCoreTest", Role::kRead},
                                   {"coilwright.v1.CoreTestService/CompareCoreTests", Role::kRead},
                                   {"coilwright.v1.CoreTestService/GetOvenLimit", Role::kRead},
                                   {"coilwright.v1.DriveStressService/AssessDriveStress", Role::kRead},
                                   {"coilwright.v1.InsulationRunService/RunInsulationTest", Role::kRead, true},
                                   {"coilwright.v1.JobService/CreateJob", Role::kRecord},
                                   {"coilwright.v1.JobService/GetJob", Role::kRead},
                                   {"coilwright.v1.JobService/ListJobs", Role::kRead},
                                   {"coilwright.v1.JobService/UpdateJob", Role::kRecord},
                                   {"coilwright.v1.JobService/DeleteJob", Role::kRecord},
                                   {"coilwright.v1.JobService/UndeleteJob", Role::kRecord},
                                   {"coilwright.v1.JobService/ListJobRevisions", Role::kRead},
                                   {"coilwright.v1.JobService/ReachStage", Role::kRecord},
                                   {"coilwright.v1.JobService/ChoosePlan", Role::kRecord},
                                   {"coilwright.v1.JobService/AddReadings", Role::kRecord},
                                   {"coilwright.v1.JobService/GetReadings", Role::kRead},
                                   {"coilwright.v1.JobService/ListReadings", Role::kRead},
                                   {"coilwright.v1.JobService/SignOffJob", Role::kSignOff},
                                   {"coilwright.v1.JobService/GetMegohmTrend", Role::kRead},
                                   {"coilwright.v1.LayoutService/DescribeLayout", Role::kRead},
                                   {"coilwright.v1.LayoutService/CompareLayouts", Role::kRead},
                                   {"coilwright.v1.MegohmService/JudgeMegohms", Role::kRead},
                                   {"coilwright.v1.ReadingService/JudgeReadings", Role::kRead},
                                   {"coilwright.v1.RecordCheckService/CheckRecord", Role::kRead},
                                   {"coilwright.v1.RecordCheckService/EstimateMissing", Role::kRead},
                                   {"coilwright.v1.RewindPlanService/PlanRewind", Role::kRead},
                                   {"coilwright.v1.RewindPlanService/ListReconnections", Role::kRead},
                                   {"coilwright.v1.RuleService/GetRule", Role::kRead},
                                   {"coilwright.v1.RuleService/ListRules", Role::kRead},
                                   {"coilwright.v1.SheetService/MakeWindingDrawing", Role::kRead},
                                   {"coilwright.v1.SheetService/MakeSlotDrawing", Role::kRead},
                                   {"coilwright.v1.SheetService/MakeRewindSheet", Role::kRead},
                                   {"coilwright.v1.SheetService/MakeTestCertificate", Role::kRead},
                                   {"coilwright.v1.SheetService/MakeConnectionLabel", Role::kRead},
                                   {"coilwright.v1.TestLimitService/GetTestLimits", Role::kRead},
                                   {"coilwright.v1.TestLimitService/GetTestProgramme", Role::kRead},
                                   {"coilwright.v1.TestLimitService/StreamTestLimits", Role::kRead, true},
                                   {"coilwright.v1.WindingArchiveService/CreateWinding", Role::kRecord},
                                   {"coilwright.v1.WindingArchiveService/GetWinding", Role::kRead},
                                   {"coilwright.v1.WindingArchiveService/ListWindings", Role::kRead},
                                   {"coilwright.v1.WindingArchiveService/UpdateWinding", Role::kRecord},
                                   {"coilwright.v1.WindingArchiveService/DeleteWinding", Role::kRecord},
                                   {"coilwright.v1.WindingArchiveService/UndeleteWinding", Role::kRecord},
                                   {"coilwright.v1.WindingArchiveService/ListWindingRevisions", Role::kRead},
                                   {"coilwright.v1.WindingArchiveService/FindNearestWindings", Role::kRead},
                                   {"coilwright.v1.WindingArchiveService/CompareWindings", Role::kRead},
                                   {"coilwright.v1.WireService/LookUpWire", Role::kRead},
                                   {"coilwright.v1.WireService/ListWires", Role::kRead},
                                   {"coilwright.v1.WireService/IdentifyWire", Role::kRead},
                                   {"coilwright.v1.WireService/ChooseStrands", Role::kRead},
                                   // Stands for every method that is not in the table.
                                   {"other", Role::kSignOff}};
  return *table;
}

const MethodEntry& EntryTaking(const google::protobuf::Descriptor& request) {
  const auto* file = request.file();
  for (int s = 0; s < file->service_count(); ++s) {
    for (int m = 0; m < file->service(s)->method_count(); ++m) {
      const auto* method = file->service(s)->method(m);
      if (method->input_type() != &request) continue;
      const std::string name = absl::StrCat(file->service(s)->full_name(), "/", method->name());
      for (const MethodEntry& entry : MethodTable()) {
        if (entry.name == name) return entry;
      }
    }
  }
  return MethodTable().back();
}

absl::StatusOr<std::shared_ptr<const Access>> Access::Make(const v1::RolesFile* roles) {
  std::shared_ptr<Access> access(new Access);
  if (roles == nullptr) {
    access->all_ = true;
    return access;
  }
  std::vector<standards::FieldError> errors;
  RefuseUnreadable(*roles, &errors);
  const Reader file(*roles, "", &errors);
  if (roles->clients().empty()) file.Missing("clients", "at least one client certificate with its role");
  for (const Reader& entry : file.Each("clients", kMostClients)) {
    const auto& client = static_cast<const v1::ClientRole&>(entry.message());
    entry.Text("note");
    const auto role = static_cast<Role>(entry.EnumNumber("role"));
    if (role == Role::kNone && !entry.HasErrorAt("role")) entry.Missing("role", entry.EnumChoices("role"));
    const bool by_fingerprint = client.certificate_case() == v1::ClientRole::kSha256Fingerprint;
    const char* field = by_fingerprint ? "sha256_fingerprint" : "common_name";
    const std::string given = entry.Text(field, kMostClientBytes);
    const std::string key = by_fingerprint ? ReadFingerprint(given) : given;
    if (entry.HasErrorAt(field)) continue;
    if (given.empty()) {
      entry.Missing("common_name", "the common name of a certificate, or its sha256_fingerprint");
    } else if (key.empty()) {
      entry.Wrong(field, Quoted(given), "64 hexadecimal digits, colons between them or not");
    } else if (!(by_fingerprint ? access->fingerprinted_ : access->named_).emplace(key, role).second) {
      entry.Wrong(field, Quoted(given), "each certificate once");
    }
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  return access;
}

std::shared_ptr<const Client> Access::ClientOf(const grpc::AuthContext& caller) const {
  const absl::string_view pem = Property(caller, GRPC_X509_PEM_CERT_PROPERTY_NAME);
  if (pem.empty()) return nullptr;
  const std::lock_guard<std::mutex> lock(mutex_);
  if (const auto met = met_.find(pem); met != met_.end()) return met->second;
  auto client = std::make_shared<Client>();
  const std::string name(Property(caller, GRPC_X509_CN_PROPERTY_NAME));
  client->name = Printed(name);
  client->fingerprint = FingerprintOf(pem);
  if (all_) {
    client->role = Role::kSignOff;
  } else if (const auto exact = fingerprinted_.find(client->fingerprint); exact != fingerprinted_.end()) {
    client->role = exact->second;
  } else if (const auto named = named_.find(name); named != named_.end()) {
    client->role = named->second;
  }
  if (met_.size() >= kMostMet) met_.clear();
  met_.emplace(std::string(pem), client);
  return client;
}

absl::Status Access::Permits(const Client* client, const MethodEntry& method) {
  if (client == nullptr) return absl::UnauthenticatedError("no client certificate was shown");
  if (client->role >= method.needs) return absl::OkStatus();
  return absl::PermissionDeniedError(absl::StrCat(
      "the certificate \"", client->name, "\" ",
      client->role == Role::kNone ? std::string("has no role here") : absl::StrCat("has the role ", Name(client->role)),
      "; ", method.name, " needs the role ", Name(method.needs)));
}

}  // namespace coilwright::rpc
