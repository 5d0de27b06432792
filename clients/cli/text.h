#pragma once

#include <string>
#include <vector>

#include "absl/strings/string_view.h"
#include "print/figures.h"

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

using print::Figures;
using print::Fixed;
using print::Percent;

}  // namespace coilwright::cli
