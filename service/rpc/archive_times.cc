#include "rpc/archive_times.h"

#include <algorithm>
#include <chrono>

#include "absl/strings/str_cat.h"
#include "absl/time/civil_time.h"
#include "absl/time/time.h"

namespace coilwright::rpc {
namespace {

// 0001-01-01T00:00:00Z and 9999-12-31T23:59:59Z, the range of google.protobuf.Timestamp.
constexpr int64_t kFirstSecond = -62135596800;
constexpr int64_t kLastSecond = 253402300799;
constexpr int64_t kMicros = 1000000;
constexpr int kFirstYear = 1900;
constexpr int64_t kDayMicros = 86400 * kMicros;

}  // namespace

int64_t NowMicros() {
  return std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::system_clock::now().time_since_epoch())
      .count();
}

void WriteTime(int64_t micros, google::protobuf::Timestamp* out) {
  // Nanoseconds count forward from the second, before 1970 too.
  int64_t seconds = micros / kMicros;
  int64_t rest = micros % kMicros;
  if (rest < 0) {
    --seconds;
    rest += kMicros;
  }
  out->set_seconds(seconds);
  out->set_nanos(static_cast<int>(rest * 1000));
}

int64_t MicrosOf(const google::protobuf::Timestamp& time) {
  return std::clamp<int64_t>(time.seconds(), kFirstSecond, kLastSecond) * kMicros + time.nanos() / 1000;
}

std::optional<int64_t> ReadTime(const Reader& parent, absl::string_view field) {
  if (!parent.Has(field)) return std::nullopt;
  const Reader reader = parent.At(field);
  const auto& time = static_cast<const google::protobuf::Timestamp&>(reader.message());
  if (time.seconds() < kFirstSecond || time.seconds() > kLastSecond)
    reader.Wrong("seconds", absl::StrCat(time.seconds()), "a time from the year 0001 to 9999");
  if (time.nanos() < 0 || time.nanos() > 999999999) reader.Wrong("nanos", absl::StrCat(time.nanos()), "0 to 999999999");
  if (reader.HasErrorAt("")) return std::nullopt;
  return MicrosOf(time);
}

void RefuseTooEarly(const Reader& parent, absl::string_view field, int64_t micros, const v1::Machine& machine) {
  // A year begins earlier in other zones.
  const auto day = absl::ToCivilDay(absl::FromUnixMicros(micros + kDayMicros), absl::UTCTimeZone());
  const int built = machine.nameplate().has_built_year() ? machine.nameplate().built_year() : 0;
  const int first = std::max(kFirstYear, built);
  if (day.year() >= first) return;
  parent.Wrong(absl::StrCat(field, ".seconds"), absl::StrCat("a time in ", absl::FormatCivilTime(absl::CivilYear(day))),
               first == built ? absl::StrCat(first, ", when the machine was built, or later")
                              : absl::StrCat(first, " or later"));
}

std::optional<int64_t> ReadPastTime(const Reader& parent, absl::string_view field, const v1::Machine& machine) {
  if (parent.HasErrorAt(field)) return std::nullopt;
  const std::optional<int64_t> micros = ReadTime(parent, field);
  if (!micros) return std::nullopt;
  if (*micros > NowMicros() + kDayMicros) {
    parent.Wrong(absl::StrCat(field, ".seconds"), "a time that is still to come", "one that has been");
  } else {
    RefuseTooEarly(parent, field, *micros, machine);
  }
  return parent.HasErrorAt(field) ? std::nullopt : micros;
}

}  // namespace coilwright::rpc
