#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "coilwright/v1/roles_file.pb.h"
#include "google/protobuf/descriptor.h"
#include "grpcpp/security/auth_context.h"

namespace coilwright::rpc {

// What a client certificate may do; each role may do what those before it may.
enum class Role { kNone, kRead, kRecord, kSignOff };
// "read", "record", "sign off".
absl::string_view Name(Role role);

// A method of the contract and the role it needs: read for what computes or reads, record for what writes, sign off for
// what can release a machine.
struct MethodEntry {
  absl::string_view name;  // "coilwright.v1.JobService/SignOffJob"
  Role needs;
  bool stream = false;
};
// All of them. The one place that says who may do what.
const std::vector<MethodEntry>& MethodTable();
// The method that takes this request, of which every method has a type of its own. One that the table lacks needs sign
// off.
const MethodEntry& EntryTaking(const google::protobuf::Descriptor& request);
template <typename Request>
const MethodEntry& EntryTaking() {
  static const MethodEntry& entry = EntryTaking(*Request::descriptor());
  return entry;
}

// The owner of a client certificate that was verified.
struct Client {
  std::string name;         // its common name, fit to be printed
  std::string fingerprint;  // SHA-256 of the certificate, 64 small hexadecimal digits
  Role role = Role::kNone;  // none where the roles file does not list it
};

// Who may call what on a server that verifies client certificates. Safe from any thread.
class Access {
 public:
  // By a roles file; null: every verified client may do everything. INVALID_ARGUMENT with every wrong field.
  static absl::StatusOr<std::shared_ptr<const Access>> Make(const v1::RolesFile* roles);

  // Null where the caller showed no certificate.
  std::shared_ptr<const Client> ClientOf(const grpc::AuthContext& caller) const;
  // OK, UNAUTHENTICATED for null, or PERMISSION_DENIED naming the certificate and the role that the method needs.
  static absl::Status Permits(const Client* client, const MethodEntry& method);

 private:
  Access() = default;

  bool all_ = false;
  // By common name and by fingerprint; a fingerprint says more and wins.
  std::map<std::string, Role> named_;
  std::map<std::string, Role> fingerprinted_;
  // Certificates met before, in PEM, so that each is read once and not at every call.
  mutable std::mutex mutex_;
  mutable std::map<std::string, std::shared_ptr<const Client>, std::less<>> met_;
};

}  // namespace coilwright::rpc
