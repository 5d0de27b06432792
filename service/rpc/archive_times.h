#pragma once

#include <cstdint>
#include <optional>

#include "coilwright/v1/machine.pb.h"
#include "google/protobuf/timestamp.pb.h"
#include "rpc/reader.h"

namespace coilwright::rpc {

// Microseconds since 1970, UTC: what an archive keeps of a time.
int64_t NowMicros();
void WriteTime(int64_t micros, google::protobuf::Timestamp* out);
// A time outside of the years 0001 to 9999, which ReadTime refuses, counts as their end.
int64_t MicrosOf(const google::protobuf::Timestamp& time);

// A time of the years 0001 to 9999; absent where it is absent or wrong.
std::optional<int64_t> ReadTime(const Reader& parent, absl::string_view field);
// One that has been: later than a day from now, or before 1900, it is a slip of the pen. So it is before the year in
// which the machine was built, where its plate says that.
std::optional<int64_t> ReadPastTime(const Reader& parent, absl::string_view field, const v1::Machine& machine = {});
// Where it is too early, as there.
void RefuseTooEarly(const Reader& parent, absl::string_view field, int64_t micros, const v1::Machine& machine);

}  // namespace coilwright::rpc
