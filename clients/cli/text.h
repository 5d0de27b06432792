#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"

namespace coilwright::cli {

// Number of characters (code points), which is the width a terminal gives the texts printed here.
int Width(absl::string_view utf8);

// Lines of at most `width` characters, broken at spaces; a longer word stands on a line of its own.
std::vector<std::string> Wrap(absl::string_view text, int width);

// The text with a question mark for every control character, so that no recorded text can steer a terminal.
std::string Printable(absl::string_view text);

// First line (from 1) that is not valid UTF-8, 0 when all are. Surrogates and overlong forms count as invalid.
int FirstLineNotUtf8(absl::string_view text);

// The known word closest to `word`, empty when none is within a third of its letters (at least one) of edits.
std::string Nearest(absl::string_view word, const std::vector<std::string>& known);

// `value` to `figures` significant figures, never as a power of ten. Digits before the point are kept whatever their
// number. Trailing zeros of a fraction are dropped where `trim`.
std::string Figures(double value, int figures = 4, bool trim = true);

// `value` with `decimals` places after the point.
std::string Fixed(double value, int decimals);

// 0.0123 -> "+1.2 %" where `sign`, else "1.2 %".
std::string Percent(double ratio, bool sign = false);

}  // namespace coilwright::cli
