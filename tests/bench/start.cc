// bench_start PAIRS BARE_ECHO COMMAND...
// Start of a command-line call in its own process, to the last byte of its answer and to its end, in turn with a bare
// echo in its own process. "Cold" is a new process; the programs themselves are in the page cache. Prints one row of a
// Markdown table.

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "bench/child.h"
#include "bench/spread.h"

namespace {

using coilwright::bench::Child;
using coilwright::bench::Now;
using coilwright::bench::Spread;

struct Start {
  double answered_ms = 0, ended_ms = 0;
};

Start Run(const std::vector<std::string>& command) {
  const double begin = Now();
  double answered = 0;
  Child child(command);
  child.Finish(&answered);
  if (answered == 0) {
    std::fprintf(stderr, "%s: no answer\n", command[0].c_str());
    std::exit(1);
  }
  return {1e3 * (answered - begin), 1e3 * (Now() - begin)};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::fputs("usage: bench_start PAIRS BARE_ECHO COMMAND...\n", stderr);
    return 2;
  }
  const std::vector<std::string> bare = {argv[2], "once"};
  const std::vector<std::string> command(argv + 3, argv + argc);
  Run(bare);  // into the page cache
  Run(command);
  Spread ours_ms, ours_end_ms, bare_ms, ratio;
  for (int pair = 0; pair < std::max(1, std::atoi(argv[1])); ++pair) {
    const Start theirs = Run(bare);
    const Start ours = Run(command);
    ours_ms.Add(ours.answered_ms);
    ours_end_ms.Add(ours.ended_ms);
    bare_ms.Add(theirs.answered_ms);
    ratio.Add(ours.answered_ms / theirs.answered_ms);
  }
  std::string name = "coilwright";
  for (size_t i = 1; i < command.size(); ++i) name += " " + command[i];
  std::printf(
      "| `%s`, start to printed answer | at most 20 ms | %s ms; to its end %s ms; bare echo %s ms, ratio %s |\n",
      name.c_str(), ours_ms.Text("%.1f").c_str(), ours_end_ms.Text("%.1f").c_str(), bare_ms.Text("%.1f").c_str(),
      ratio.Text("%.2f").c_str());
  return 0;
}
