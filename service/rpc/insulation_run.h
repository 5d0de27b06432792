#pragma once

#include "absl/status/statusor.h"
#include "coilwright/v1/insulation_run_service.pb.h"
#include "insulation/run.h"

// An insulation run between the contract and the engine: what follows one and what certifies one share it.
namespace coilwright::rpc {

// INVALID_ARGUMENT with the fields of the setup.
absl::StatusOr<insulation::InsulationRun> StartRun(const v1::InsulationRunSetup& setup);
insulation::RunSample ReadSample(const v1::InsulationSample& in);
// Ends it and writes the last answer.
void FinishRun(insulation::InsulationRun& run, v1::RunInsulationTestResponse* response);

}  // namespace coilwright::rpc
