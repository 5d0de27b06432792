#pragma once

#include <vector>

#include "rpc/calls.h"

namespace coilwright::rpc {

// What a server has done since it started and what waits in it now.
struct ServerFigures {
  std::vector<MethodFigures> methods;
  int streams_open = 0, most_streams = 0;
  // Calls that wait for a thread that computes, or one that waits for the archive.
  size_t computing_waiting = 0, most_computing_waiting = 0;
  size_t storage_waiting = 0, most_storage_waiting = 0;
};

}  // namespace coilwright::rpc
