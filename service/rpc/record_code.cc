#include "rpc/record_code.h"

#include <openssl/sha.h>

#include <algorithm>
#include <cstdint>

#include "absl/strings/str_cat.h"

namespace coilwright::rpc {

namespace {

constexpr char kDigits[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

}  // namespace

std::string CodeOf(const google::protobuf::Message& message) {
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

void KeepCode(const std::string& before, v1::ArchivedWinding* winding) {
  const std::string now = CodeOf(winding->record());
  auto& earlier = *winding->mutable_earlier_codes();
  if (before == now) return;
  earlier.erase(std::remove_if(earlier.begin(), earlier.end(),
                               [&](const std::string& code) { return code == now || code == before; }),
                earlier.end());
  *earlier.Add() = before;
  if (earlier.size() > kMostEarlierCodes) earlier.erase(earlier.begin());
}

bool IsCode(const std::string& text) {
  return text.size() == 9 && text[4] == '-' && text.find_first_not_of(absl::StrCat(kDigits, "-")) == std::string::npos;
}

}  // namespace coilwright::rpc
