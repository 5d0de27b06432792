#pragma once

#include <atomic>
#include <chrono>
#include <memory>
#include <string>
#include <vector>

#include "grpcpp/grpcpp.h"

namespace coilwright::simulated {

struct Played {
  long long answers = 0;
  int ended_ok = 0;
  std::vector<grpc::Status> ended_otherwise;
  std::vector<std::string> faults;  // of answers: out of order, missing, or not what this winding must be told
};

// One stream of limits per winding, all open at once; each bench asks for its machine and, answered, for the next, so
// many messages in all, and closes its side. Blocks until every stream is over. `all_answered_once` is set as soon as
// every stream has had an answer.
Played PlayLimits(const std::shared_ptr<grpc::Channel>& channel, int windings, int messages,
                  std::chrono::milliseconds deadline, std::atomic<bool>* all_answered_once = nullptr);

// One insulation run per winding, all at once: ten minutes of readings one a second, ten to a message, with repeated
// and late ones among them. Some windings flash over. Every mark and verdict to stop is held against what the winding
// is.
Played PlayRuns(const std::shared_ptr<grpc::Channel>& channel, int windings, std::chrono::milliseconds deadline);

}  // namespace coilwright::simulated
