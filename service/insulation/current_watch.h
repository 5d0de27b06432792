#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

namespace coilwright::insulation {

// A rise of the current at constant voltage.
struct Climb {
  double from_seconds = 0, to_seconds = 0;
  double rise_ratio = 0;  // current at the end over that at the beginning, less 1
};

// Looks for a sustained rise on every time scale at once, from a few readings to hours. A sound winding's current only
// falls, so any rise that is neither scatter nor small means something.
//
// Readings are gathered in blocks of 0.25 s, 0.5 s, 1 s, ... (an empty block does not count). On each scale a rise is
// told by either of
//   - a straight line through the last 32 blocks that rises by 5 % or more with a slope of 8 standard errors or more
//     (Student's t with 30 degrees of freedom: a chance of 3e-9 for one look at scatter without a trend);
//   - seven blocks in succession each above the one before, by 20 % and ten times the scatter of the blocks before
//   them.
// Either way the rise counts beyond what the warmth of the winding explains over the same blocks.
// Fixed memory; a constant number of steps per reading in the long run. Derived here; no standard sets figures.
class ClimbWatch {
 public:
  // `level` is the natural logarithm of the current per volt, at 40 C where the temperature is known. Times rise.
  // `warmth` is what the temperature may move that level by beyond its correction, and `slack` what it may without a
  // reading of the thermometer showing it; both logarithms of a current.
  std::optional<Climb> Add(double seconds, double level, double warmth = 0, double slack = 0);
  void Restart() { *this = ClimbWatch(); }

 private:
  static constexpr size_t kBlocks = 32, kScales = 20;
  struct Block {
    double seconds = 0, level = 0, warmth = 0;
  };
  struct Scale {
    double begins = 0;
    double sum_seconds = 0, sum_level = 0, sum_warmth = 0, samples = 0;
    std::array<Block, kBlocks> ring;  // the last blocks, oldest at `closed % kBlocks`
    size_t closed = 0;
  };
  static std::optional<Climb> Rise(const Scale& scale, double slack);

  std::array<Scale, kScales> scales_;
};

// Tells a jump of the level from a single flash. Readings that stand out are held back until three in succession agree
// (a jump) or one falls back (a flash, whose readings are dropped).
class JumpWatch {
 public:
  enum class Verdict { kOrdinary, kHeld, kFlash, kJump };
  // More than twice the level before and more than twelve times the scatter. The first five readings only set the
  // level. After kJump the watch starts anew.
  Verdict Add(double level);
  void Restart() { *this = JumpWatch(); }

 private:
  static constexpr size_t kLevels = 8;
  void Take(double level);

  std::array<double, kLevels> recent_{};
  size_t taken_ = 0;
  double scatter_square_ = 0;  // of one reading, from differences of neighbours
  int held_ = 0;
};

}  // namespace coilwright::insulation
