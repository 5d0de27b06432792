#pragma once

#include <sys/types.h>

#include <string>
#include <vector>

namespace coilwright::bench {

// A program under measurement: started on construction with its standard output on a pipe, ended with SIGTERM and
// waited for on destruction. Aborts, naming the program, where the system refuses anything: a benchmark has no use for
// half a measurement.
class Child {
 public:
  explicit Child(const std::vector<std::string>& command);
  ~Child();
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  // The address after "listening on " in the first line.
  std::string ListeningAddress();
  // The next line of its output, empty at the end.
  std::string Line() const;
  void Signal(int number) const;
  // Ends it without a word.
  void Kill();
  // Reads to the end of the output and waits; aborts unless the exit status is 0. `answered` receives the time of the
  // last byte in seconds of the monotonic clock, 0 where nothing was written.
  void Finish(double* answered);

  // Processor time of all its threads so far.
  double CpuSeconds() const;
  // Resident memory now.
  double ResidentMib() const;

 private:
  std::string program_;
  pid_t pid_ = 0;
  int output_ = -1;
};

// Seconds of the monotonic clock.
double Now();

// Processor time of all threads of this process.
double OwnCpuSeconds();

}  // namespace coilwright::bench
