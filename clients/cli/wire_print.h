#pragma once

#include <string>

#include "coilwright/v1/wire_service.pb.h"
#include "units.h"

namespace coilwright::cli {

std::string PrintWire(const v1::LookUpWireResponse& answer, const Units& units);
std::string PrintWires(const v1::ListWiresResponse& answer, const Units& units);
std::string PrintCandidates(const v1::IdentifyWireResponse& answer, bool over_film, const Units& units);
std::string PrintStrandChoices(const v1::ChooseStrandsResponse& answer, const Units& units);

}  // namespace coilwright::cli
