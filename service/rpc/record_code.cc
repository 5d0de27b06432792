#include "rpc/record_code.h"

#include <openssl/sha.h>

#include <cstdint>

namespace coilwright::rpc {

std::string CodeOf(const google::protobuf::Message& message) {
  constexpr char kDigits[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
  const std::string bytes = message.SerializeAsString();
  unsigned char digest[SHA256_DIGEST_LENGTH];
  SHA256(reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(), digest);
  uint64_t bits = 0;
  for (int i = 0; i < 5; ++i) bits = bits << 8 | digest[i];
  std::string code;
  for (int shift = 35; shift >= 0; shift -= 5) {
    code += kDigits[bits >> shift & 31];
    if (shift == 20) code += '-';
  }
  return code;
}

}  // namespace coilwright::rpc
