#include "insulation/current_watch.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace coilwright::insulation {
namespace {

constexpr double kShortestBlockSeconds = 0.25;
constexpr double kLeastRise = 0.048790164169432;  // ln 1.05
constexpr double kLeastSlopeInErrors = 8;
constexpr size_t kRunOfBlocks = 7;
constexpr double kLeastRunRise = 0.182321556793955;  // ln 1.2
constexpr double kRunInScatters = 10;

constexpr double kLeastJump = 0.693147180559945;  // ln 2
constexpr double kJumpInScatters = 12;
constexpr size_t kLevelsBeforeJump = 5;
constexpr int kHeldForJump = 3;

}  // namespace

std::optional<Climb> ClimbWatch::Rise(const Scale& scale, double slack) {
  if (scale.closed < kBlocks) return std::nullopt;
  const auto block = [&](size_t i) -> const Block& { return scale.ring[(scale.closed + i) % kBlocks]; };
  const auto explained_since = [&](size_t i) {
    return std::max(block(kBlocks - 1).warmth - block(i).warmth, 0.0) + slack;
  };
  double mean_t = 0, mean_y = 0;
  for (const Block& one : scale.ring) {
    mean_t += one.seconds / kBlocks;
    mean_y += one.level / kBlocks;
  }
  double tt = 0, ty = 0, yy = 0;
  for (const Block& one : scale.ring) {
    tt += (one.seconds - mean_t) * (one.seconds - mean_t);
    ty += (one.seconds - mean_t) * (one.level - mean_y);
    yy += (one.level - mean_y) * (one.level - mean_y);
  }
  const double slope = ty / tt;
  const double rise = slope * (block(kBlocks - 1).seconds - block(0).seconds);
  const double error = std::sqrt(std::max(yy - slope * ty, 0.0) / (kBlocks - 2) / tt);
  if (rise >= kLeastRise + explained_since(0) && slope >= kLeastSlopeInErrors * error) {
    return Climb{block(0).seconds, block(kBlocks - 1).seconds, std::expm1(rise)};
  }
  constexpr size_t kFirst = kBlocks - kRunOfBlocks;
  for (size_t i = kFirst + 1; i < kBlocks; ++i) {
    if (block(i).level <= block(i - 1).level) return std::nullopt;
  }
  double differences = 0;
  for (size_t i = 1; i < kFirst; ++i) differences += std::pow(block(i).level - block(i - 1).level, 2);
  const double scatter = std::sqrt(differences / 2 / (kFirst - 1));
  const double run = block(kBlocks - 1).level - block(kFirst).level;
  if (run < std::max(kLeastRunRise, kRunInScatters * scatter) + explained_since(kFirst)) return std::nullopt;
  return Climb{block(kFirst).seconds, block(kBlocks - 1).seconds, std::expm1(run)};
}

std::optional<Climb> ClimbWatch::Add(double seconds, double level, double warmth, double slack) {
  std::optional<Climb> found;
  double length = kShortestBlockSeconds;
  for (Scale& scale : scales_) {
    if (scale.samples > 0 && seconds - scale.begins >= length) {
      scale.ring[scale.closed % kBlocks] = {scale.sum_seconds / scale.samples, scale.sum_level / scale.samples,
                                            scale.sum_warmth / scale.samples};
      ++scale.closed;
      scale.samples = scale.sum_seconds = scale.sum_level = scale.sum_warmth = 0;
      if (!found) found = Rise(scale, slack);
    }
    if (scale.samples == 0) scale.begins = seconds;
    scale.sum_seconds += seconds;
    scale.sum_level += level;
    scale.sum_warmth += warmth;
    ++scale.samples;
    length *= 2;
  }
  return found;
}

JumpWatch::Verdict JumpWatch::Add(double level) {
  if (taken_ >= kLevelsBeforeJump) {
    const size_t known = std::min(taken_, kLevels);
    const double before = std::accumulate(recent_.begin(), recent_.begin() + known, 0.0) / static_cast<double>(known);
    if (level - before > std::max(kLeastJump, kJumpInScatters * std::sqrt(scatter_square_))) {
      if (++held_ < kHeldForJump) return Verdict::kHeld;
      Restart();
      return Verdict::kJump;
    }
  }
  const bool flash = held_ > 0;
  held_ = 0;
  Take(level);
  return flash ? Verdict::kFlash : Verdict::kOrdinary;
}

void JumpWatch::Take(double level) {
  if (taken_ > 0) {
    // Half the squared difference of neighbours is the scatter of one; a tenth of the new one keeps it current.
    const double difference = level - recent_[(taken_ - 1) % kLevels];
    const double share = std::max(1.0 / static_cast<double>(taken_), 0.1);
    scatter_square_ += share * (difference * difference / 2 - scatter_square_);
  }
  recent_[taken_ % kLevels] = level;
  ++taken_;
}

}  // namespace coilwright::insulation
