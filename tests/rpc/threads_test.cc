// Bodies called from threads of our own, the first calls at once: tables and rules that load on first use are shared.
#include <gtest/gtest.h>

#include <thread>

#include "calls/samples.h"

namespace coilwright::calls {
namespace {

TEST(Threads, EveryMethodAtOnceGivesEveryThreadTheSameBytes) {
  constexpr size_t kThreads = 4;
  std::vector<std::vector<std::string>> answers(kThreads);
  std::vector<std::thread> threads;
  for (size_t t = 0; t < kThreads; ++t) {
    threads.emplace_back([&answers, t] {
      for (size_t i = 0; i < Methods().size(); ++i) {
        // Each thread begins with another method.
        const AnyMethod& method = Methods()[(i + 3 * t) % Methods().size()];
        // What an archive answers is changed by the others.
        if (method.archived) continue;
        for (const auto& request : GoodRequests(method.name)) {
          const std::unique_ptr<Message> answer(method.response->New());
          const grpc::Status status = method.body(*request, answer.get());
          answers[t].push_back(method.name + (status.ok() ? answer->SerializeAsString() : status.error_message()));
        }
      }
      std::sort(answers[t].begin(), answers[t].end());
    });
  }
  for (std::thread& thread : threads) thread.join();
  for (size_t t = 1; t < kThreads; ++t) EXPECT_EQ(answers[t], answers[0]);
}

}  // namespace
}  // namespace coilwright::calls
