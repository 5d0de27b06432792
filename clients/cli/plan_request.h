#pragma once

#include <functional>
#include <vector>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "command.h"

namespace coilwright::cli {

// What a command takes that reads one.
inline constexpr char kRecordFile[] =
    "a FILE with the record, or - for standard input; coilwright plan --template prints one";

// A file that holds a record, or a whole request with "record" at its top, into `request`, whose field "record" the
// former fills. Flags that name fields come on top. `name` then tells a wrong field by its flag, or by its line in the
// file; it points into `session`.
absl::Status ReadRecordOrRequest(Session& session, google::protobuf::Message* request, FieldNamer* name);

// The plan for the file and flags given; `more` adds to the request what no flag says by itself. `name`, where given,
// as above.
absl::Status AskForPlan(Session& session, const std::function<absl::Status(v1::PlanRewindRequest*)>& more,
                        v1::PlanRewindRequest* request, v1::PlanRewindResponse* plan, FieldNamer* name = nullptr);

// Flags of every command that plans: wires to choose from, tests, settings of the shop.
std::vector<Flag> PlanFlags();
// What the new winding shall differ in, of `plan` and of a plan for a job.
std::vector<Flag> ChangeFlags();

}  // namespace coilwright::cli
