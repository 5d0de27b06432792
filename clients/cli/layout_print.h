#pragma once

#include <string>

#include "coilwright/v1/layout_service.pb.h"

namespace coilwright::cli {

// A layout: coils and connections first, then slots, axes, factors and field.
std::string PrintLayout(const v1::DescribeLayoutResponse& answer);

std::string PrintComparison(const v1::CompareLayoutsResponse& answer);

}  // namespace coilwright::cli
