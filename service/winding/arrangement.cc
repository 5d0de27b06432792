#include "winding/arrangement.h"

#include <cstdint>
#include <cstdlib>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "standards/range_check.h"

namespace coilwright::winding {
namespace {

constexpr int kLeastSlots = 3, kMostSlots = 720, kLeastPoles = 2, kMostPoles = 120;

std::string Slots(int count) { return absl::StrCat(count, count == 1 ? " slot" : " slots"); }

// "2 2/3" for 8/3.
std::string Mixed(int numerator, int denominator) {
  const int divisor = std::gcd(numerator, denominator);
  const int num = numerator / divisor, den = denominator / divisor;
  if (den == 1) return absl::StrCat(num);
  return num < den ? absl::StrCat(num, "/", den) : absl::StrCat(num / den, " ", num % den, "/", den);
}

bool WholeSlotsPerPolePhase(int slots, int poles) { return slots % (3 * poles) == 0; }

std::string WhySlotsFail(const Pattern& pattern) {
  const int slots = pattern.slots, poles = pattern.poles;
  if (slots % 3 != 0) {
    return absl::StrCat(slots, " slots cannot be shared equally by three phases: ", slots, " is not a multiple of 3");
  }
  if (slots % (3 * std::gcd(slots, poles / 2)) != 0) {
    return absl::StrCat(slots, " slots with ", poles, " poles are ", Mixed(slots, 3 * poles),
                        " slots per pole and phase; where 3 divides the denominator of that fraction, no grouping puts "
                        "the three phases 120 electrical degrees apart");
  }
  if (slots % 2 != 0) {
    return absl::StrCat("a single layer needs two slots for every coil, and ", slots, " is odd");
  }
  if ((slots / 2) % (3 * std::gcd(slots / 2, poles / 2)) != 0) {
    return absl::StrCat("the ", slots / 2, " coils of a single layer in ", slots, " slots with ", poles,
                        " poles cannot be shared so that the three phases lie 120 electrical degrees apart");
  }
  return absl::StrCat("single-layer concentric groups need a whole number of slots per pole and phase; ", slots,
                      " slots with ", poles, " poles give ", Mixed(slots, 3 * poles));
}

// Belts of a whole q, joined whole (pitch tau) or in blocks of d slots (pitch tau - d or tau + d).
std::optional<Arrangement> FullBelts(const Pattern& pattern) {
  if (!WholeSlotsPerPolePhase(pattern.slots, pattern.poles)) return std::nullopt;
  const int q = pattern.slots / (3 * pattern.poles);
  const int shortening = 3 * q - pattern.coil_pitch;
  if (shortening == 0) return Arrangement{Starts::kWholeBelts, 0, false, q};
  const int block = std::abs(shortening);
  if (q % (2 * block) != 0) return std::nullopt;
  return Arrangement{Starts::kBlocks, block, shortening < 0, q};
}

// Chain of an odd q, 3 or 7 or 11, whose long coils span an even pitch: 36 slots, 4 poles, throws 1-9, 1-9, 1-8.
std::optional<Arrangement> CrossedChain(const Pattern& pattern) {
  if (!WholeSlotsPerPolePhase(pattern.slots, pattern.poles)) return std::nullopt;
  const int q = pattern.slots / (3 * pattern.poles);
  if (q % 4 != 3 || pattern.coil_pitch != 3 * q - (q - 1) / 2) return std::nullopt;
  return Arrangement{Starts::kCrossedChain, (q - 1) / 2, false, q};
}

std::optional<Arrangement> SingleLayer(const Pattern& pattern, std::string* why_not) {
  const std::optional<Arrangement> full = FullBelts(pattern);
  if (pattern.form == CoilForm::kConcentric) {
    const int q = pattern.slots / (3 * pattern.poles);
    if (full.has_value() && (full->starts == Starts::kWholeBelts || (2 * full->block_slots == q && !full->goes_first)))
      return full;
    *why_not = absl::StrCat("single-layer concentric groups here have a mean pitch of ", Slots(3 * q), " (groups of ",
                            q, " per pole pair)");
    if (q % 2 == 0) absl::StrAppend(why_not, " or of ", Slots(3 * q - q / 2), " (groups of ", q / 2, " per pole)");
    absl::StrAppend(why_not, ", not of ", Slots(pattern.coil_pitch));
    return std::nullopt;
  }
  const bool odd_pitch = pattern.coil_pitch % 2 != 0;
  if (pattern.form == CoilForm::kChain && !odd_pitch) {
    if (const std::optional<Arrangement> crossed = CrossedChain(pattern)) return crossed;
    *why_not = absl::StrCat(
        "every coil of a chain has one side in an odd and one in an even slot: its pitch must be odd, and it is ",
        pattern.coil_pitch, full.has_value() ? "; equal coils of that pitch lie in groups: form lap" : "");
    return std::nullopt;
  }
  if (full.has_value() && pattern.form != CoilForm::kChain) return full;
  if (odd_pitch) return Arrangement{Starts::kEverySecondSlot, 0, false, 0};
  *why_not = absl::StrCat(
      "equal coils in a single layer start in every second slot and must return in the slots "
      "between: the pitch must be odd, and it is ",
      pattern.coil_pitch);
  return std::nullopt;
}

}  // namespace

int BeltOf(const Pattern& pattern, int slot) {
  const int64_t angle = int64_t{pattern.poles / 2} * slot % pattern.slots;  // in units of 360/slots degrees
  return static_cast<int>(6 * angle / pattern.slots);
}

absl::Status CheckPattern(const Pattern& pattern) {
  standards::RangeCheck check;
  const bool slots_known = check.Within("slots", pattern.slots, kLeastSlots, kMostSlots, "slots");
  if (check.Within("poles", pattern.poles, kLeastPoles, kMostPoles, "poles") && pattern.poles % 2 != 0) {
    check.Refuse("poles", absl::StrCat(pattern.poles, " poles"), "an even number; enter poles, not pole pairs");
  }
  if (pattern.form == CoilForm::kToothCoil && pattern.coil_pitch != 1) {
    check.Refuse("coil_pitch", Slots(pattern.coil_pitch), "1 slot: a tooth coil spans one tooth");
  } else {
    check.Within("coil_pitch", pattern.coil_pitch, 1, slots_known ? pattern.slots - 1 : kMostSlots - 1, "slots");
  }
  if (pattern.form == CoilForm::kChain && pattern.layers == Layers::kDouble) {
    check.Refuse("form", "chain in two layers", "a chain winding has one layer; two layers are lap or concentric");
  }
  return check.status();
}

bool SlotsBalance(int slots, const Pattern& pattern) {
  const int pole_pairs = pattern.poles / 2;
  if (pattern.layers == Layers::kDouble) return slots % (3 * std::gcd(slots, pole_pairs)) == 0;
  if (slots % 2 != 0 || (slots / 2) % (3 * std::gcd(slots / 2, pole_pairs)) != 0) return false;
  return pattern.form != CoilForm::kConcentric || WholeSlotsPerPolePhase(slots, pattern.poles);
}

std::optional<Arrangement> ArrangementOf(const Pattern& pattern, std::string* why_not) {
  if (!SlotsBalance(pattern.slots, pattern)) {
    *why_not = WhySlotsFail(pattern);
    return std::nullopt;
  }
  if (pattern.coil_pitch * pattern.poles % (2 * pattern.slots) == 0) {
    *why_not = absl::StrCat("a coil over ", Slots(pattern.coil_pitch), " spans whole pole pairs and links no flux");
    return std::nullopt;
  }
  if (pattern.layers == Layers::kSingle) return SingleLayer(pattern, why_not);
  if (pattern.form == CoilForm::kConcentric && pattern.slots < 3 * pattern.poles) {
    *why_not = absl::StrCat("concentric groups need at least one slot per pole and phase; ", pattern.slots,
                            " slots with ", pattern.poles, " poles give ", Mixed(pattern.slots, 3 * pattern.poles));
    return std::nullopt;
  }
  const int longest_group = (pattern.slots + 3 * pattern.poles - 1) / (3 * pattern.poles);
  if (pattern.form == CoilForm::kConcentric &&
      (pattern.coil_pitch < longest_group || pattern.coil_pitch + longest_group > pattern.slots)) {
    *why_not =
        absl::StrCat(longest_group, longest_group == 1 ? " concentric coil of" : " concentric coils of mean pitch ",
                     pattern.coil_pitch, " would span from ", pattern.coil_pitch - longest_group + 1, " to ",
                     pattern.coil_pitch + longest_group - 1, " of ", Slots(pattern.slots));
    return std::nullopt;
  }
  return Arrangement{};
}

}  // namespace coilwright::winding
