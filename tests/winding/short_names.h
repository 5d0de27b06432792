#pragma once

#include "winding/winding.h"

// What the tables of these tests name in every row.
namespace coilwright::winding {

inline constexpr Layers kOne = Layers::kSingle, kTwo = Layers::kDouble;
inline constexpr CoilForm kLap = CoilForm::kLap, kTooth = CoilForm::kToothCoil;

}  // namespace coilwright::winding
