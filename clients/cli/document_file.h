#pragma once

#include <string>
#include <vector>

#include "coilwright/v1/sheet_service.pb.h"
#include "command.h"

namespace coilwright::cli {

// Flags of every command that makes a document.
std::vector<Flag> DocumentFlags();

// What kind of file is wanted, by the end of the name after --out, or by --format; and, before the service is asked,
// that nothing is written over unless --force stands there. INVALID_ARGUMENT, one line.
absl::Status ChooseFormat(const Session& session, v1::DocumentChoice* choice);

// Writes the document where --out says and tells so, with what was left out and its warnings; standard output for "-".
// Pages of SVG go to files of their own, drawing-1.svg and drawing-2.svg for drawing.svg. A file is there whole or not
// at all.
absl::Status WriteDocument(Session& session, const v1::Document& document,
                           const google::protobuf::RepeatedPtrField<std::string>& left_out);

}  // namespace coilwright::cli
