#pragma once

// The three leads of a motor and what is read between them, in the order of every measurement by pairs.
namespace coilwright::testing {

inline constexpr const char* kPairs[] = {"U-V", "V-W", "W-U"};
inline constexpr const char* kPhaseLacking[] = {"W", "U", "V"};  // the phase that has no lead in that pair

}  // namespace coilwright::testing
