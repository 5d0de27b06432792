#pragma once

#include "print/units.h"

namespace coilwright::cli {

using print::Quantity;
using print::Units;

}  // namespace coilwright::cli
