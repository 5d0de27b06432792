#pragma once

#include <string>

// Numbers as people read them.
namespace coilwright::print {

// `value` to `figures` significant figures, never as a power of ten. Digits before the point are kept whatever their
// number. Trailing zeros of a fraction are dropped where `trim`.
std::string Figures(double value, int figures = 4, bool trim = true);

// `value` with `decimals` places after the point.
std::string Fixed(double value, int decimals);

// 0.0123 -> "+1.2 %" where `sign`, else "1.2 %".
std::string Percent(double ratio, bool sign = false);

}  // namespace coilwright::print
