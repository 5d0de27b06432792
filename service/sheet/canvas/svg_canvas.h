#pragma once

#include <memory>

#include "absl/strings/string_view.h"
#include "sheet/canvas.h"
#include "sheet/canvas/fonts.h"

namespace coilwright::sheet {

std::unique_ptr<Canvas> NewSvgCanvas(const Fonts& fonts, absl::string_view title);

}  // namespace coilwright::sheet
