#pragma once

#include <optional>

#include "coilwright/v1/layout_service.pb.h"
#include "winding/compare.h"
#include "winding/connection.h"
#include "winding/field.h"
#include "winding/layout.h"

namespace coilwright::rpc {

// Engine structures of a layout into messages of the contract.

void Write(const winding::Placement& placement, v1::LayoutPattern* out);
// What the coils of a traced layout say of its pattern.
void Write(const winding::Layout& traced, v1::LayoutPattern* out);
void Write(const winding::Symmetry& symmetry, v1::DescribeLayoutResponse* out);
void Write(const winding::Neighbours& near, v1::BalancedNeighbours* out);
void WriteCoils(const winding::Layout& layout, const winding::ConnectionList& list, v1::DescribeLayoutResponse* out);
// Without a form, which coils traced over more than one tooth lack, nothing says which side of a slot lies on top.
void WriteSlots(const winding::Layout& layout, std::optional<winding::CoilForm> form, v1::DescribeLayoutResponse* out);
// The list with what follows from its joints alone.
void Write(const winding::Layout& layout, const winding::ConnectionList& list, v1::ConnectionList* out);
// After the layout is written.
void Write(const winding::Field& field, winding::PhaseEnds ends, v1::DescribeLayoutResponse* out);
void Write(const std::vector<winding::Wave>& waves, v1::DescribeLayoutResponse* out);
void Write(const winding::Comparison& comparison, v1::CompareLayoutsResponse* out);

}  // namespace coilwright::rpc
