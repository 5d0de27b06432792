#include "rpc/sheets.h"

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"

namespace coilwright::rpc {
namespace {

static_assert(static_cast<int>(sheet::Paper::kLetter) + 1 == v1::PAPER_LETTER);
static_assert(static_cast<int>(sheet::Format::kSvg) + 1 == v1::DOCUMENT_FORMAT_SVG);

constexpr size_t kMostTitleBytes = 500;
constexpr size_t kMostSetBytes = 80000;  // some twenty pages, and half a second of one processor

}  // namespace

SheetChoice ReadSheetChoice(const Reader& choice, absl::string_view otherwise) {
  SheetChoice read;
  read.paper = choice.Enum<sheet::Paper>("paper").value_or(sheet::Paper::kA4);
  read.format = choice.Enum<sheet::Format>("format").value_or(sheet::Format::kPdf);
  read.units = print::Units(choice.EnumNumber("units") == v1::PRINT_UNITS_SHOP);
  read.title = choice.Text("title", kMostTitleBytes);
  if (read.title.empty()) read.title = std::string(otherwise);
  return read;
}

absl::Status MakeDocument(const SheetChoice& choice, const Drawing& draw, v1::Document* document,
                          google::protobuf::RepeatedPtrField<std::string>* left_out) {
  const absl::StatusOr<std::unique_ptr<sheet::Canvas>> canvas = sheet::NewCanvas(choice.format, choice.title);
  if (!canvas.ok()) return canvas.status();
  absl::StatusOr<std::vector<std::string>> left = draw(**canvas);
  if (!left.ok()) return left.status();
  if (const std::vector<std::string> lacking = (*canvas)->Lacking(); !lacking.empty()) {
    document->add_warnings(
        absl::StrCat("The font has no glyph for ", absl::StrJoin(lacking, " "), ": each stands as \uFFFD."));
  }
  absl::StatusOr<std::vector<std::string>> files = (*canvas)->Finish();
  if (!files.ok()) return files.status();
  for (std::string& file : *files) document->add_files(std::move(file));
  document->set_media_type(choice.format == sheet::Format::kSvg ? "image/svg+xml" : "application/pdf");
  for (std::string& what : *left) *left_out->Add() = std::move(what);
  return absl::OkStatus();
}

absl::Status MakeDocument(const SheetChoice& choice, sheet::PageSize size, const sheet::Document& laid_out,
                          v1::Document* document) {
  if (const size_t bytes = sheet::TextBytes(laid_out); bytes > kMostSetBytes) {
    return standards::InvalidField("document", absl::StrCat(bytes, " bytes of text to be set"),
                                   absl::StrCat("at most ", kMostSetBytes, ": fewer readings, or shorter notes"));
  }
  google::protobuf::RepeatedPtrField<std::string> nothing;
  const Drawing draw = [&](sheet::Canvas& canvas) -> absl::StatusOr<std::vector<std::string>> {
    sheet::Draw(laid_out, size, canvas);
    return std::vector<std::string>();
  };
  document->set_code(laid_out.code);
  for (const std::string& warning : laid_out.warnings) document->add_warnings(warning);
  return MakeDocument(choice, draw, document, &nothing);
}

}  // namespace coilwright::rpc
