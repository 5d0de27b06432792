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

}  // namespace coilwright::simulated
