#include "progress.h"

#include <algorithm>
#include <cmath>
#include <ostream>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"

namespace coilwright::cli {
namespace {

constexpr auto kFirst = std::chrono::milliseconds(500);
constexpr auto kRedraw = std::chrono::milliseconds(100);
constexpr auto kNextLine = std::chrono::seconds(10);

int& ColumnsInUse() {
  static int columns = 0;
  return columns;
}

}  // namespace

int ProgressColumns() { return ColumnsInUse(); }
void SetProgressColumns(int columns) { ColumnsInUse() = columns; }

Progress::Progress(std::ostream& out, std::string doing)
    : out_(out), doing_(std::move(doing)), start_(std::chrono::steady_clock::now()), next_(start_ + kFirst) {}

Progress::~Progress() {
  if (drawn_) out_ << "\r" << std::string(static_cast<size_t>(ProgressColumns() - 1), ' ') << "\r" << std::flush;
}

void Progress::Tell(double share, int64_t entries) {
  const auto now = std::chrono::steady_clock::now();
  if (now < next_) return;
  const std::string line =
      ProgressLine(doing_, share, entries, std::chrono::duration<double>(now - start_).count(), ProgressColumns());
  if (ProgressColumns() > 0) {
    out_ << "\r" << line << std::flush;
    drawn_ = true;
    next_ = now + kRedraw;
  } else {
    out_ << "coilwright: " << line << "\n" << std::flush;
    next_ = now + kNextLine;
  }
}

std::string ProgressLine(const std::string& doing, double share, int64_t entries, double seconds, int columns) {
  std::string told = absl::StrCat("  ", entries, " entries");
  if (seconds > 0) absl::StrAppendFormat(&told, "  %.0f a second", static_cast<double>(entries) / seconds);
  if (share > 0 && share < 1) absl::StrAppendFormat(&told, "  %.0f s left", std::ceil(seconds * (1 - share) / share));
  const std::string percent =
      share < 0 ? "" : absl::StrFormat("  %3.0f %%", std::floor(100 * std::clamp(share, 0.0, 1.0)));
  std::string bar;
  const int room = columns - 1 - static_cast<int>(doing.size() + told.size() + percent.size()) - 4;
  if (share >= 0 && room >= 10) {
    const int width = std::min(room, 40);
    const auto full = static_cast<size_t>(std::clamp(share, 0.0, 1.0) * width);
    bar = absl::StrCat("  [", std::string(full, '#'), std::string(static_cast<size_t>(width) - full, '.'), "]");
  }
  std::string line = absl::StrCat(doing, bar, percent, told);
  if (columns > 0) {
    // One less, so that no terminal breaks it; filled up, so that a longer one before it is gone.
    line.resize(static_cast<size_t>(columns - 1), ' ');
  }
  return line;
}

}  // namespace coilwright::cli
