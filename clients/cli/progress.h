#pragma once

#include <chrono>
#include <cstdint>
#include <iosfwd>
#include <string>

namespace coilwright::cli {

// Columns of the terminal that standard error is, 0 where it is none; set once, before anything is told.
int ProgressColumns();
void SetProgressColumns(int columns);

// How far a long command has come: on a terminal a bar that is drawn over and taken away at the end, else a line every
// ten seconds. Nothing before the first half second, so that short work stays quiet.
class Progress {
 public:
  // `doing` is a word or two: "export".
  Progress(std::ostream& out, std::string doing);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  // `share` of the work is done, 0 to 1; below 0 where nobody knows. Cheap enough to be told after every page.
  void Tell(double share, int64_t entries);

 private:
  std::ostream& out_;
  std::string doing_;
  std::chrono::steady_clock::time_point start_, next_;
  bool drawn_ = false;
};

// The line of a bar: "export  [#####.....]  48 %  48000 entries  5210 a second  10 s left", cut to `columns`.
std::string ProgressLine(const std::string& doing, double share, int64_t entries, double seconds, int columns);

}  // namespace coilwright::cli
