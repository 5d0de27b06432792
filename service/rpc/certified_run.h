#pragma once

#include "absl/status/statusor.h"
#include "coilwright/v1/sheet_service.pb.h"

namespace coilwright::rpc {

// The samples of a certificate put through the engine of RunInsulationTest, as a run of the machine and the winding
// that `of` reads: its last answer. INVALID_ARGUMENT for a setup of another winding ("run_setup"), and for every sample
// that a run would refuse ("run_samples").
absl::StatusOr<v1::RunInsulationTestResponse> SumUpRun(const v1::MakeTestCertificateRequest& request,
                                                       const v1::JudgeReadingsRequest& of);

}  // namespace coilwright::rpc
