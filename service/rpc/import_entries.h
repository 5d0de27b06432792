#pragma once

#include <vector>

#include "archive/entry.h"
#include "rpc/reader.h"

namespace coilwright::rpc {

// The entries of an ImportEntriesRequest as an archive takes them. Everything in them is held to what the calls that
// made them held it to, so that nothing gets in that could not be read again; wrong ones go to the reader's errors by
// their index.
std::vector<archive::NewEntry> ReadEntries(const Reader& request);

}  // namespace coilwright::rpc
