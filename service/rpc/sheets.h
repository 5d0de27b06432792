#pragma once

#include <functional>
#include <string>
#include <vector>

#include "absl/status/statusor.h"
#include "coilwright/v1/sheet_service.pb.h"
#include "print/units.h"
#include "rpc/reader.h"
#include "sheet/canvas.h"
#include "sheet/document.h"

namespace coilwright::rpc {

// How a document was asked for.
struct SheetChoice {
  sheet::Paper paper = sheet::Paper::kA4;
  sheet::Format format = sheet::Format::kPdf;
  std::string title;
  print::Units units{false};
};
// `otherwise` is its title where the choice gives none.
SheetChoice ReadSheetChoice(const Reader& choice, absl::string_view otherwise);

// Makes a document by what draws on its canvas and says what it left out, and writes both. Errors of drawing, and
// UNAVAILABLE without what documents are drawn with.
using Drawing = std::function<absl::StatusOr<std::vector<std::string>>(sheet::Canvas& canvas)>;
absl::Status MakeDocument(const SheetChoice& choice, const Drawing& draw, v1::Document* document,
                          google::protobuf::RepeatedPtrField<std::string>* left_out);

// Likewise of what is laid out as text; `size` is that of its pages, and its code goes into the answer.
absl::Status MakeDocument(const SheetChoice& choice, sheet::PageSize size, const sheet::Document& laid_out,
                          v1::Document* document);

}  // namespace coilwright::rpc
