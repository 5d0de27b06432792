#pragma once

namespace coilwright {

// This process as the system sees it, from /proc; zero where that cannot be read.
struct ProcessFigures {
  double start_seconds = 0;  // since 1970
  double cpu_seconds = 0;
  double resident_bytes = 0;
  double open_files = 0;
};

ProcessFigures ReadProcess();

}  // namespace coilwright
