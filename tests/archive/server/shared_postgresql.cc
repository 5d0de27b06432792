// shared_postgresql start FILE | stop FILE
// The database server that all test programs of one CTest run share: "start" leaves it running and writes its folder to
// FILE; "stop" ends it, and so does the end of the program that called "start".

#include <fcntl.h>
#include <signal.h>
#include <sys/types.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <fstream>
#include <iostream>
#include <string>

#include "archive/server/postgresql_server.h"

namespace {

using coilwright::archive::PostgresqlServer;

// Keeps the server until it is told to end, or until `caller` is gone.
void Keep(const std::string& file, pid_t caller, int ready) {
  sigset_t ends;
  sigemptyset(&ends);
  for (const int signal : {SIGTERM, SIGINT, SIGHUP}) sigaddset(&ends, signal);
  sigprocmask(SIG_BLOCK, &ends, nullptr);
  const PostgresqlServer server({/*durable=*/false, /*loopback=*/false});
  std::ofstream(file) << server.folder() << "\n" << getpid() << "\n";
  // CTest waits for whoever holds its pipes.
  const int nothing = open("/dev/null", O_RDWR);
  for (const int stream : {0, 1, 2}) dup2(nothing, stream);
  if (write(ready, "1", 1) != 1) return;
  close(ready);
  const timespec second = {1, 0};
  while (sigtimedwait(&ends, nullptr, &second) < 0 && (kill(caller, 0) == 0 || errno == EPERM)) {
  }
  std::remove(file.c_str());
}

int Start(const std::string& file) {
  const pid_t caller = getppid();
  int ends[2];
  if (pipe(ends) != 0) return 1;
  const pid_t keeper = fork();
  if (keeper == 0) {
    close(ends[0]);
    setsid();
    Keep(file, caller, ends[1]);
    std::exit(0);
  }
  close(ends[1]);
  char answer = 0;
  return keeper > 0 && read(ends[0], &answer, 1) == 1 ? 0 : 1;
}

int Stop(const std::string& file) {
  std::string folder;
  pid_t keeper = 0;
  if (!(std::ifstream(file) >> folder >> keeper) || keeper <= 1) {
    std::cerr << "no server is named in " << file << "\n";
    return 1;
  }
  kill(keeper, SIGTERM);
  for (int tenths = 0; tenths < 1000; ++tenths) {
    if (access(folder.c_str(), F_OK) != 0) return 0;
    usleep(100'000);
  }
  std::cerr << "the server in " << folder << " does not end\n";
  return 1;
}

}  // namespace

int main(int count, char** words) {
  const std::string what = count == 3 ? words[1] : "";
  if (what == "start") return Start(words[2]);
  if (what == "stop") return Stop(words[2]);
  std::cerr << "usage: shared_postgresql start|stop FILE\n";
  return 2;
}
