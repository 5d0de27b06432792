#pragma once

#include "archive/archive.h"
#include "coilwright/v1/archive.pb.h"

namespace coilwright::rpc {

// Where readings of resistance are of the winding that was recorded, and nothing is planned or wound in this job: lets
// them be held against what was measured of it then. Left as it is where another job has rewound the machine since, the
// record is of another machine or voltage, or nothing usable was measured.
void ExpectAsRecorded(archive::Archive& archive, const v1::Job& job, const v1::ArchivedWinding& winding,
                      v1::JudgeReadingsRequest* request);

}  // namespace coilwright::rpc
