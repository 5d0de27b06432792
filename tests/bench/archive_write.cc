// bench_archive_write FOLDER ROUNDS SECONDS
// Durable inserts per second of 64 writers at once, committed together and with one commit for each write, in turn
// within a round; every insert counted is on the disk. Files are made in FOLDER and taken away. Prints rows of a
// Markdown table.
#include <unistd.h>

#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "absl/strings/str_cat.h"
#include "archive/archive.h"
#include "bench/child.h"
#include "bench/made_windings.h"
#include "bench/spread.h"

namespace {

using coilwright::archive::Archive;
using coilwright::archive::ArchiveOptions;
using coilwright::bench::MadeEntry;
using coilwright::bench::Now;
using coilwright::bench::Spread;

constexpr int kWriters = 64;

// An archive in a file of its own, gone with the object.
class Store {
 public:
  Store(std::string file, int most_in_one_commit) : file_(std::move(file)) {
    Remove();
    ArchiveOptions options;
    options.most_in_one_commit = most_in_one_commit;
    const auto open = coilwright::archive::OpenSqlite(file_);
    if (!open.ok()) Fail(open.status());
    auto archive = Archive::Open(*open, options);
    if (!archive.ok()) Fail(archive.status());
    archive_ = *std::move(archive);
  }
  ~Store() {
    archive_.reset();
    Remove();
  }
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  double InsertsPerSecond(double seconds) {
    std::atomic<int64_t> done{0};
    const double begin = Now();
    std::vector<std::thread> writers;
    for (int i = 0; i < kWriters; ++i) {
      writers.emplace_back([&] {
        while (Now() < begin + seconds) {
          // Made outside the archive's one writer, as the service makes its entries.
          const auto written = archive_->Write(MadeEntry(7, next_++));
          if (!written.ok()) Fail(written.status());
          ++done;
        }
      });
    }
    for (std::thread& writer : writers) writer.join();
    return static_cast<double>(done) / (Now() - begin);
  }

 private:
  [[noreturn]] void Fail(const absl::Status& status) const {
    std::fprintf(stderr, "%s: %s\n", file_.c_str(), status.ToString().c_str());
    std::_Exit(1);
  }
  void Remove() const {
    for (const char* end : {"", "-wal", "-shm", ".lock"}) unlink((file_ + end).c_str());
  }

  std::string file_;
  std::unique_ptr<Archive> archive_;
  std::atomic<int64_t> next_{0};
};

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) {
    std::fputs("usage: bench_archive_write FOLDER ROUNDS SECONDS\n", stderr);
    return 2;
  }
  const std::string folder = argv[1];
  const double seconds = std::atof(argv[3]);
  Store together(folder + "/together.db", ArchiveOptions().most_in_one_commit);
  Store alone(folder + "/alone.db", 1);
  Spread together_rate, alone_rate, ratio;
  for (int round = 0; round < std::atoi(argv[2]); ++round) {
    const double a = together.InsertsPerSecond(seconds), b = alone.InsertsPerSecond(seconds);
    together_rate.Add(a);
    alone_rate.Add(b);
    ratio.Add(a / b);
  }
  std::printf("| durable inserts/s, 64 writers, committed together / one commit for each | | %s / %s |\n",
              together_rate.Text("%.0f").c_str(), alone_rate.Text("%.0f").c_str());
  std::printf("| the one over the other | at least 20 times | %s times |\n", ratio.Text("%.1f").c_str());
  return 0;
}
