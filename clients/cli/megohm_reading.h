#pragma once

#include "absl/status/status.h"
#include "absl/strings/string_view.h"
#include "coilwright/v1/megohm_service.pb.h"

namespace coilwright::cli {

// A reading as it stands after --reading: "U to frame:>2000@22C,30s=610,10min=1900,volts=500,others=earthed".
absl::Status ReadMegohms(absl::string_view text, v1::MegohmReading* reading);

}  // namespace coilwright::cli
