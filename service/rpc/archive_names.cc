#include "rpc/archive_names.h"

#include <algorithm>
#include <cstdint>
#include <random>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/strip.h"

namespace coilwright::rpc {
namespace {

using archive::Kind;

constexpr size_t kMostIdBytes = 63;
constexpr absl::string_view kIdAccepted = "1 to 63 of a-z, A-Z, 0-9, \"-\" and \"_\"";
constexpr absl::string_view kReadings = "/readings/";

bool IsId(absl::string_view id) {
  const auto fits = [](char c) { return absl::ascii_isalnum(static_cast<unsigned char>(c)) || c == '-' || c == '_'; };
  return !id.empty() && id.size() <= kMostIdBytes && std::all_of(id.begin(), id.end(), fits);
}

bool IsNumber(absl::string_view text) {
  return !text.empty() && text.size() <= 9 && text[0] != '0' &&
         std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

// 60 random bits in letters that are not taken for each other.
std::string NewId() {
  constexpr absl::string_view kLetters = "abcdefghjkmnpqrstuvwxyz023456789";
  std::random_device random;
  std::string id;
  for (int i = 0; i < 12; ++i) id += kLetters[random() % kLetters.size()];
  return id;
}

}  // namespace

absl::string_view CollectionOf(Kind kind) { return kind == Kind::kWinding ? "windings/" : "jobs/"; }

std::string ReadingsOf(absl::string_view job) { return absl::StrCat(job, kReadings); }

std::string JobOf(absl::string_view readings) { return std::string(readings.substr(0, readings.find(kReadings))); }

bool IsName(Kind kind, absl::string_view name) {
  if (!absl::ConsumePrefix(&name, CollectionOf(kind))) return false;
  if (kind != Kind::kReadings) return IsId(name);
  const size_t at = name.find(kReadings);
  return at != absl::string_view::npos && IsId(name.substr(0, at)) && IsNumber(name.substr(at + kReadings.size()));
}

absl::string_view NameAccepted(Kind kind) {
  switch (kind) {
    case Kind::kWinding:
      return "windings/{id}, an id of 1 to 63 of a-z, A-Z, 0-9, \"-\" and \"_\"";
    case Kind::kJob:
      return "jobs/{id}, an id of 1 to 63 of a-z, A-Z, 0-9, \"-\" and \"_\"";
    case Kind::kReadings:
      break;
  }
  return "jobs/{id}/readings/{number}";
}

std::string ReadName(const Reader& reader, absl::string_view field, Kind kind) {
  std::string name = reader.Text(field);
  if (IsName(kind, name)) return name;
  if (name.empty() && !reader.HasErrorAt(field)) reader.Missing(field, NameAccepted(kind));
  if (!name.empty()) reader.Wrong(field, absl::StrCat("\"", name, "\""), NameAccepted(kind));
  return "";
}

std::string ReadNewName(const Reader& reader, absl::string_view field, Kind kind) {
  std::string id = reader.Text(field);
  if (id.empty()) id = NewId();
  if (!IsId(id)) reader.Wrong(field, absl::StrCat("\"", id, "\""), absl::StrCat(kIdAccepted, ", or nothing"));
  return absl::StrCat(CollectionOf(kind), id);
}

std::string Mark(absl::string_view bytes) {
  uint64_t hash = 14695981039346656037u;
  for (const char c : bytes) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211u;
  return absl::StrFormat("%016x", hash);
}

std::string EtagOf(absl::string_view name, int revision) {
  return absl::StrCat(revision, "-", Mark(absl::StrCat(name, "@", revision)).substr(0, 8));
}

bool IsEtag(absl::string_view text) {
  const size_t at = text.find('-');
  const auto hex = [](char c) { return absl::ascii_isxdigit(static_cast<unsigned char>(c)); };
  return at != absl::string_view::npos && IsNumber(text.substr(0, at)) && text.size() == at + 9 &&
         std::all_of(text.begin() + static_cast<std::ptrdiff_t>(at) + 1, text.end(), hex);
}

}  // namespace coilwright::rpc
