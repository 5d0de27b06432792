#pragma once

#include "coilwright/v1/megohm_service.pb.h"
#include "insulation/judgement.h"
#include "rpc/reader.h"

// What every service that takes megohm readings shares.
namespace coilwright::rpc {

insulation::MegohmReading ReadMegohmReading(const Reader& reading);
void Write(const insulation::JudgedReading& judged, v1::JudgedMegohms* out);

}  // namespace coilwright::rpc
