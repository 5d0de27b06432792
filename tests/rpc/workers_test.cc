#include "rpc/workers.h"

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <future>

namespace coilwright::rpc {
namespace {

TEST(Workers, DoWhatTheyAreGivenOnTheirOwnThreads) {
  std::promise<std::thread::id> done;
  Workers workers(1, 4);
  ASSERT_TRUE(workers.Post([&] { done.set_value(std::this_thread::get_id()); }));
  EXPECT_NE(done.get_future().get(), std::this_thread::get_id());
}

TEST(Workers, RefuseAtOnceWhatTheQueueCannotHold) {
  std::promise<void> started, go;
  const std::shared_future<void> gate = go.get_future().share();
  std::atomic<int> done = 0;
  {
    Workers workers(1, 2);
    ASSERT_TRUE(workers.Post([&, gate] {
      started.set_value();
      gate.wait();
      ++done;
    }));
    started.get_future().wait();  // the queue is empty again, the only thread busy
    EXPECT_TRUE(workers.Post([&] { ++done; }));
    EXPECT_TRUE(workers.Post([&] { ++done; }));
    EXPECT_FALSE(workers.Post([&] { ++done; }));
    go.set_value();
  }
  EXPECT_EQ(done, 3) << "what was taken is finished before the workers go";
}

TEST(Workers, WorkSideBySide) {
  // Each waits for the other: with one thread neither would come back.
  std::promise<void> first, second;
  Workers workers(2, 4);
  std::promise<bool> met;
  workers.Post([&] {
    first.set_value();
    met.set_value(second.get_future().wait_for(std::chrono::seconds(20)) == std::future_status::ready);
  });
  workers.Post([&] {
    first.get_future().wait();
    second.set_value();
  });
  EXPECT_TRUE(met.get_future().get());
}

TEST(Workers, TakeWorkFromManyThreads) {
  std::atomic<int> done = 0;
  std::atomic<int> taken = 0;
  {
    Workers workers(3, 10);
    std::vector<std::thread> callers;
    for (int i = 0; i < 4; ++i) {
      callers.emplace_back([&] {
        for (int k = 0; k < 500; ++k) taken += workers.Post([&] { ++done; });
      });
    }
    for (std::thread& caller : callers) caller.join();
  }
  EXPECT_EQ(done, taken);
  EXPECT_GT(done, 0);
}

}  // namespace
}  // namespace coilwright::rpc
