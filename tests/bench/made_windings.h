#pragma once

#include <cstdint>
#include <string>

#include "archive/entry.h"
#include "archive/find.h"
#include "coilwright/v1/archive.pb.h"

namespace coilwright::bench {

// Numbers that follow from a seed alone, whatever the library.
class Draw {
 public:
  explicit Draw(uint64_t seed) : state_(seed) {}
  uint64_t Bits();
  double Within(double low, double high);
  bool Chance(double share) { return Within(0, 1) < share; }
  int Below(int count) { return static_cast<int>(Bits() % static_cast<uint64_t>(count)); }
  // 0 most often, the k-th about 1/(k + 1) as often.
  int Ranked(int count);

 private:
  uint64_t state_;
};

// The winding of this number of an archive that a seed makes: plate, core and texts as a trade has them (few frames and
// voltages, many makers, notes of common and of rare words), the record complete, the check with it. Not physically
// consistent: stored and found, never judged. About 0.6 to 2 kB.
v1::ArchivedWinding MadeWinding(uint64_t seed, int64_t number);
std::string MadeName(int64_t number);
// As the service hands it to the archive.
archive::NewEntry MadeEntry(uint64_t seed, int64_t number);

}  // namespace coilwright::bench
