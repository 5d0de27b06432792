#pragma once

#include <string>
#include <vector>

#include "coilwright/v1/reading_service.pb.h"
#include "command.h"

namespace coilwright::cli {

// Readings of a file ("" for none), and after them those of ReadingFlags. `name` then tells a wrong field by its flag
// or its line in the file.
absl::Status ReadReadings(Session& session, const std::string& file, v1::JudgeReadingsRequest* request,
                          FieldNamer* name);
std::vector<Flag> ReadingFlags();

// --template of the commands that read such a file.
Flag TemplateFlag();
absl::Status PrintReadingsTemplate(Session& session);

}  // namespace coilwright::cli
