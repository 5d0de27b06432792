#pragma once

#include <set>
#include <string>

#include "coilwright/v1/testing.pb.h"
#include "page.h"

namespace coilwright::cli {

// Every step with what to prepare, connect, apply and require.
void PrintProgramme(const v1::TestProgramme& programme, Page* page, std::set<std::string>* rules);
// All stages as one table of levels, and below it what each test has to show; preparation, connection, cautions and
// notes are left to the programme of a stage.
void PrintProgrammes(const google::protobuf::RepeatedPtrField<v1::TestProgramme>& programmes, Page* page);

}  // namespace coilwright::cli
