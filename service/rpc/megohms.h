#pragma once

#include "coilwright/v1/megohm_service.pb.h"
#include "insulation/judgement.h"
#include "rpc/reader.h"

// What the services that judge megohms share.
namespace coilwright::rpc {

insulation::MegohmReading ReadMegohmReading(const Reader& reading);
void Write(const insulation::Ratio& ratio, v1::MegohmRatio* out);
void Write(const insulation::JudgedReading& judged, v1::JudgedMegohms* out);

}  // namespace coilwright::rpc
