#pragma once

#include <string>

#include "coilwright/v1/reading_service.pb.h"

namespace coilwright::cli {

// Verdict first, then every test, what to do next, and the cautions.
std::string PrintJudgement(const v1::JudgeReadingsRequest& request, const v1::JudgeReadingsResponse& answer);

}  // namespace coilwright::cli
