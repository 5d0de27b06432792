#pragma once

#include "rpc/reader.h"
#include "testing/programme.h"

namespace coilwright::rpc {

// The programme case of a request with the fields stage, machine, star_open, rotor_fitted, winding_kind, choice,
// expected_line_to_line_ohms and expected_ke_volts_per_krpm.
testing::ProgrammeCase ReadProgrammeCase(const Reader& reader);

}  // namespace coilwright::rpc
