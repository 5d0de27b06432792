#pragma once

#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "sheet/canvas.h"

namespace coilwright::sheet {

// Texts that have broken programs before: markup, right to left, joined and combining letters, what no font has, what
// is no text at all.
const std::vector<std::string>& OddTexts();

// A document of two pages with every kind of figure, fill and text.
absl::StatusOr<std::vector<std::string>> DrawSample(Format format);

}  // namespace coilwright::sheet
