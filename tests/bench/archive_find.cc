// bench_archive_find [--go-on] FOLDER SECONDS SIZE...
// What finding costs in an archive of made windings (made_windings.h) as it grows to each SIZE in turn: every kind of
// question for SECONDS, a thousand times at most. The SQLite file is made anew in FOLDER and taken away; with --go-on
// it is kept, and one that is there is gone on from. Prints a Markdown table by size: median / 99th percentile in ms,
// in brackets the 99th percentile of processor time, which other programs on the machine do not lengthen, and that at
// the last size over that at the first; start-up, file and memory below. Questions are asked with the file in the page
// cache, the start without.
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "archive/archive.h"
#include "bench/child.h"
#include "bench/made_windings.h"
#include "bench/spread.h"

namespace {

using coilwright::archive::Archive;
using coilwright::archive::NewEntry;
using coilwright::archive::OpenDatabase;
using coilwright::archive::Query;
using coilwright::archive::Range;
using coilwright::bench::Draw;
using coilwright::bench::MadeEntry;
using coilwright::bench::MadeName;
using coilwright::bench::MadeWinding;
using coilwright::bench::Now;
using coilwright::bench::Spread;

constexpr uint64_t kSeed = 5;
constexpr int64_t kBatch = 500;
constexpr int kMost = 1000;

template <class T>
T Must(absl::StatusOr<T> answer, const char* what) {
  if (!answer.ok()) {
    std::fprintf(stderr, "%s: %s\n", what, answer.status().ToString().c_str());
    std::exit(1);
  }
  return *std::move(answer);
}

std::unique_ptr<Archive> Opened(const std::string& file) {
  return Must(Archive::Open(Must(coilwright::archive::OpenSqlite(file), "open")), "open");
}

// How much was found.
using Ask = std::function<size_t(Archive&, Draw&, int64_t size)>;
struct Question {
  const char* name;
  Ask ask;
};

size_t Count(Archive& archive, const Query& query) { return Must(archive.Find(query), "find").entries.size(); }

Range About(double value, double share) { return {value * (1 - share), value * (1 + share)}; }

// A winding that is there, so that what is asked for is as common as what is kept.
coilwright::v1::Machine Picked(Draw& draw, int64_t size) {
  return MadeWinding(kSeed, static_cast<int64_t>(draw.Bits() % static_cast<uint64_t>(size))).record().machine();
}

size_t OfWords(Archive& archive, std::string text) {
  Query query;
  query.text = std::move(text);
  return Count(archive, query);
}

std::vector<Question> Questions() {
  return {
      {"get by name",
       [](Archive& archive, Draw& draw, int64_t size) -> size_t {
         const auto number = static_cast<int64_t>(draw.Bits() % static_cast<uint64_t>(size));
         return Must(archive.Get(MadeName(number)), "get").payload.empty() ? 0 : 1;
       }},
      {"list: the newest", [](Archive& archive, Draw&, int64_t) { return Count(archive, {}); }},
      {"list: slots",
       [](Archive& archive, Draw& draw, int64_t size) {
         const double slots = Picked(draw, size).core().slots();
         Query query;
         query.slots = {slots, slots};
         return Count(archive, query);
       }},
      {"list: slots, poles and volts",
       [](Archive& archive, Draw& draw, int64_t size) {
         const auto machine = Picked(draw, size);
         const double slots = machine.core().slots(), poles = machine.nameplate().poles();
         Query query;
         query.slots = {slots, slots};
         query.poles = {poles, poles};
         query.rated_volts = About(machine.nameplate().rated_volts(), 0.01);
         return Count(archive, query);
       }},
      {"list: a narrow range of power",
       [](Archive& archive, Draw& draw, int64_t size) {
         Query query;
         query.rated_kw = About(Picked(draw, size).nameplate().rated_power().kw(), 0.03);
         return Count(archive, query);
       }},
      {"list: ranges of bore, outside and stack",
       [](Archive& archive, Draw& draw, int64_t size) {
         const auto core = Picked(draw, size).core();
         Query query;
         query.bore_mm = About(core.bore_diameter().mm(), 0.01);
         query.outer_mm = About(core.outer_diameter().mm(), 0.01);
         query.stack_length_mm = About(core.stack_length().mm(), 0.05);
         return Count(archive, query);
       }},
      {"list: none there is",
       [](Archive& archive, Draw& draw, int64_t) {
         Query query;
         query.slots = {37.0 + draw.Below(10), 47};
         return Count(archive, query);
       }},
      {"list: common facts that no winding joins",
       [](Archive& archive, Draw& draw, int64_t) {
         Query query;  // servos of the smallest frames at the power of the largest
         query.machine_kind = coilwright::v1::MACHINE_KIND_PERMANENT_MAGNET;
         query.bore_mm = {30, 44};
         query.rated_kw = {draw.Within(4, 6), 10};
         return Count(archive, query);
       }},
      {"text: a common word", [](Archive& archive, Draw&, int64_t) { return OfWords(archive, "pump"); }},
      {"text: two common words",
       [](Archive& archive, Draw& draw, int64_t) {
         return OfWords(archive, absl::StrCat(draw.Chance(0.5) ? "burnt " : "conveyor ", "cannery"));
       }},
      {"text: a serial number",
       [](Archive& archive, Draw& draw, int64_t size) {
         return OfWords(archive, Picked(draw, size).nameplate().serial_text());
       }},
      {"text: three letters of a maker",
       [](Archive& archive, Draw& draw, int64_t size) {
         return OfWords(archive, Picked(draw, size).nameplate().maker_text().substr(0, 3));
       }},
      {"text: maker, machine and slots",
       [](Archive& archive, Draw& draw, int64_t size) {
         const auto machine = Picked(draw, size);
         const double slots = machine.core().slots();
         Query query;
         query.text = absl::StrCat(machine.nameplate().maker_text(), " pump");
         query.slots = {slots, slots};
         return Count(archive, query);
       }},
      {"nearest: candidates",
       [](Archive& archive, Draw& draw, int64_t size) {
         const auto machine = Picked(draw, size);
         coilwright::archive::Near near;
         near.slots = machine.core().slots();
         near.machine_kind = machine.kind();
         near.bore_mm = machine.core().bore_diameter().mm() * draw.Within(0.97, 1.03);
         near.outer_mm = machine.core().outer_diameter().mm();
         near.stack_length_mm = machine.core().stack_length().mm();
         near.poles = machine.nameplate().poles();
         return Must(archive.Candidates(near), "candidates").size();
       }},
  };
}

void GrowTo(Archive& archive, int64_t size) {
  int64_t number = Must(archive.LastSequence(), "last sequence");
  if (number > size) {
    std::fprintf(stderr, "the archive holds %lld windings already: sizes in rising order, or another folder\n",
                 static_cast<long long>(number));
    std::exit(2);
  }
  const double begin = Now();
  const int64_t first = number;
  while (number < size) {
    std::vector<NewEntry> batch;
    for (; number < size && static_cast<int64_t>(batch.size()) < kBatch; ++number)
      batch.push_back(MadeEntry(kSeed, number));
    Must(archive.Import(std::move(batch)), "import");
    if (number % 50000 == 0)
      std::fprintf(stderr, "%lld windings, %.0f s\n", static_cast<long long>(number), Now() - begin);
  }
  if (number > first)
    std::fprintf(stderr, "made %lld windings in %.1f s\n", static_cast<long long>(number - first), Now() - begin);
}

// From nothing to the first answer, the file out of the page cache.
double StartMs(const std::string& file, int64_t size) {
  const int descriptor = open(file.c_str(), O_RDONLY | O_CLOEXEC);
  fsync(descriptor);
  posix_fadvise(descriptor, 0, 0, POSIX_FADV_DONTNEED);
  close(descriptor);
  const double begin = Now();
  const auto archive = Opened(file);
  Must(archive->Get(MadeName(size / 2)), "get");
  Must(archive->Count(), "count");
  return 1e3 * (Now() - begin);
}

// Readers work on the thread that asks.
double ThreadSeconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

void Remove(const std::string& file) {
  for (const char* end : {"", "-wal", "-shm", ".lock"}) unlink((file + end).c_str());
}

// As a service that has been asked for a while finds it.
void BringIntoMemory(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::vector<char> part(1 << 20);
  while (in.read(part.data(), static_cast<std::streamsize>(part.size()))) {
  }
}

double ResidentMib() {
  std::ifstream status("/proc/self/statm");
  double pages = 0;
  status >> pages >> pages;
  return pages * static_cast<double>(sysconf(_SC_PAGESIZE)) / (1 << 20);
}

}  // namespace

int main(int argc, char** argv) {
  const bool go_on = argc > 1 && std::string(argv[1]) == "--go-on";
  if (go_on) {
    --argc;
    ++argv;
  }
  if (argc < 4) {
    std::fputs("usage: bench_archive_find [--go-on] FOLDER SECONDS SIZE...\n", stderr);
    return 2;
  }
  const std::string file = absl::StrCat(argv[1], "/made.db");
  if (!go_on) Remove(file);
  const double seconds = std::atof(argv[2]);
  const std::vector<Question> questions = Questions();
  std::vector<std::string> rows(questions.size());
  std::vector<std::pair<double, double>> ends(questions.size());  // of processor time, first and last size
  std::string head = "| what | found |", rule = "|---|---|",
              start_row = "| start to the first answer, file not in memory | |", file_row = "| file, MiB | |",
              memory_row = "| resident memory, MiB | |";
  std::vector<size_t> found(questions.size());
  for (int i = 3; i < argc; ++i) {
    const int64_t size = std::atoll(argv[i]);
    std::unique_ptr<Archive> archive = Opened(file);
    GrowTo(*archive, size);
    archive.reset();  // what was written goes from the log into the file
    Spread start;
    for (int k = 0; k < 5; ++k) start.Add(StartMs(file, size));
    BringIntoMemory(file);
    archive = Opened(file);
    absl::StrAppend(&head, " ", size, " |");
    absl::StrAppend(&rule, "---|");
    for (size_t q = 0; q < questions.size(); ++q) {
      Draw draw(q + 1);
      Spread spread, processor;
      questions[q].ask(*archive, draw, size);  // pages into memory
      size_t all = 0;
      int asked = 0;
      for (const double end = Now() + seconds; asked < kMost && (asked < 3 || Now() < end); ++asked) {
        const double begin = Now(), worked = ThreadSeconds();
        all += questions[q].ask(*archive, draw, size);
        spread.Add(1e3 * (Now() - begin));
        processor.Add(1e3 * (ThreadSeconds() - worked));
      }
      found[q] = all / static_cast<size_t>(asked);
      absl::StrAppend(&rows[q],
                      absl::StrFormat(" %.2g / %.2g (%.2g) |", spread.Median(), spread.At(0.99), processor.At(0.99)));
      (i == 3 ? ends[q].first : ends[q].second) = processor.At(0.99);
      std::fprintf(stderr, "%lld: %s: %d asked, %zu found on average\n", static_cast<long long>(size),
                   questions[q].name, asked, found[q]);
    }
    struct stat status {};
    stat(file.c_str(), &status);
    absl::StrAppend(&start_row, absl::StrFormat(" %.3g / %.3g |", start.Median(), start.At(1)));
    absl::StrAppend(&file_row, absl::StrFormat(" %.4g |", static_cast<double>(status.st_size) / (1 << 20)));
    absl::StrAppend(&memory_row, absl::StrFormat(" %.4g |", ResidentMib()));
  }
  std::printf("%s last over first |\n%s---|\n", head.c_str(), rule.c_str());
  for (size_t q = 0; q < questions.size(); ++q) {
    std::printf("| %s | %zu |%s %s |\n", questions[q].name, found[q], rows[q].c_str(),
                argc > 4 ? absl::StrFormat("%.2g", ends[q].second / ends[q].first).c_str() : "");
  }
  std::printf("%s |\n%s |\n%s |\n", start_row.c_str(), file_row.c_str(), memory_row.c_str());
  if (!go_on) Remove(file);
  return 0;
}
