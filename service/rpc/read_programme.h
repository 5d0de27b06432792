#pragma once

#include "rpc/reader.h"
#include "testing/programme.h"

namespace coilwright::rpc {

// The programme case of a request with the fields stage, machine, star_open, rotor_fitted, winding_kind, choice,
// expected_line_to_line_ohms and expected_ke_volts_per_krpm.
testing::ProgrammeCase ReadProgrammeCase(const Reader& reader);

// Largest unbalance of the resistances: what the request says, else what the shop says, else what the winding asks for
// (ANSI/EASA AR100-2020: 2 % random wound, 1 % form wound).
double ReadUnbalancePercent(const Reader& choice, bool form_wound);

}  // namespace coilwright::rpc
