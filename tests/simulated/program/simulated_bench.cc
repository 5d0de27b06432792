// simulated_bench HOST:PORT [WINDINGS [MESSAGES]]: a test bench with so many windings at once against a live server.
// Prints "playing" once every winding has been answered, and what came of it at the end.
#include <cstdio>
#include <cstdlib>
#include <string>
#include <thread>

#include "simulated/play.h"

int main(int argc, char** argv) {
  const char usage[] = "usage: simulated_bench HOST:PORT [WINDINGS [MESSAGES]]\n";
  if (argc == 2 && std::string(argv[1]) == "--help") return std::fputs(usage, stdout), 0;
  if (argc < 2 || argc > 4 || argv[1][0] == '-') return std::fputs(usage, stderr), 2;
  const int windings = argc > 2 ? std::atoi(argv[2]) : 200;
  const int messages = argc > 3 ? std::atoi(argv[3]) : 100;
  if (windings < 1 || messages < 1) return std::fputs("simulated_bench: at least one of each\n", stderr), 2;
  const auto channel = grpc::CreateChannel(argv[1], grpc::InsecureChannelCredentials());
  std::atomic<bool> all_answered_once = false, over = false;
  std::thread announcer([&] {
    while (!all_answered_once && !over) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    if (all_answered_once) std::puts("playing");
    std::fflush(stdout);
  });
  const auto played =
      coilwright::simulated::PlayLimits(channel, windings, messages, std::chrono::hours(1), &all_answered_once);
  over = true;
  announcer.join();
  for (const std::string& fault : played.faults) std::printf("fault: %s\n", fault.c_str());
  for (const grpc::Status& status : played.ended_otherwise)
    std::printf("ended: %d %s\n", static_cast<int>(status.error_code()), status.error_message().c_str());
  std::printf("%d of %d windings played to the end, %lld answers\n", played.ended_ok, windings, played.answers);
  return played.faults.empty() && played.ended_otherwise.empty() ? 0 : 1;
}
