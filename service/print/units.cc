#include "print/units.h"

#include <cmath>
#include <utility>

#include "absl/strings/str_cat.h"
#include "print/figures.h"

namespace coilwright::print {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr double kMetresPerFoot = 0.3048;
constexpr double kKgPerPound = 0.45359237;
constexpr double kNewtonMetresPerPoundInch = kKgPerPound * 9.80665 * kMmPerInch / 1000;
// A circular mil is the area of a circle of one thousandth of an inch.
const double kMm2PerCircularMil = std::acos(-1.0) / 4 * (kMmPerInch / 1000) * (kMmPerInch / 1000);
constexpr double kKilolinesPerWeber = 1e5;

struct Scale {
  const char* unit;
  double factor;  // printed = factor * SI
  int figures;    // significant, 0: `decimals` places instead
  int decimals;
};

Scale ScaleOf(Quantity quantity, bool shop) {
  switch (quantity) {
    case Quantity::kWireDiameterMm:
      return shop ? Scale{"in", 1 / kMmPerInch, 0, 4} : Scale{"mm", 1, 0, 3};
    case Quantity::kLengthMm:
      return shop ? Scale{"in", 1 / kMmPerInch, 0, 3} : Scale{"mm", 1, 0, 2};
    case Quantity::kLengthMetres:
      return shop ? Scale{"ft", 1 / kMetresPerFoot, 4, 0} : Scale{"m", 1, 4, 0};
    case Quantity::kWireAreaMm2:
      return shop ? Scale{"cmil", 1 / kMm2PerCircularMil, 4, 0} : Scale{"mm2", 1, 4, 0};
    case Quantity::kSlotAreaMm2:
      return shop ? Scale{"in2", 1 / (kMmPerInch * kMmPerInch), 3, 0} : Scale{"mm2", 1, 4, 0};
    case Quantity::kMassKg:
      return shop ? Scale{"lb", 1 / kKgPerPound, 3, 0} : Scale{"kg", 1, 3, 0};
    case Quantity::kCelsius:
      return shop ? Scale{"F", 1.8, 3, 0} : Scale{"C", 1, 3, 0};
    case Quantity::kAmpsPerMm2:
      return shop ? Scale{"cmil/A", 1 / kMm2PerCircularMil, 3, 0} : Scale{"A/mm2", 1, 3, 0};
    case Quantity::kWebers:
      return shop ? Scale{"kilolines", kKilolinesPerWeber, 4, 0} : Scale{"mWb", 1000, 4, 0};
    case Quantity::kTeslas:
      return shop ? Scale{"kl/in2", kKilolinesPerWeber * kMmPerInch * kMmPerInch / 1e6, 3, 0} : Scale{"T", 1, 3, 0};
    case Quantity::kOhmsPerKm:
      return shop ? Scale{"ohm/1000 ft", kMetresPerFoot, 4, 0} : Scale{"ohm/km", 1, 4, 0};
    case Quantity::kKgPerKm:
      return shop ? Scale{"lb/1000 ft", kMetresPerFoot / kKgPerPound, 4, 0} : Scale{"kg/km", 1, 4, 0};
    case Quantity::kNmPerAmp:
      return shop ? Scale{"lb-in/A", 1 / kNewtonMetresPerPoundInch, 4, 0} : Scale{"Nm/A", 1, 4, 0};
    case Quantity::kNm:
      return shop ? Scale{"lb-in", 1 / kNewtonMetresPerPoundInch, 3, 0} : Scale{"Nm", 1, 3, 0};
    case Quantity::kNmPerRootWatt:
      return shop ? Scale{"lb-in per root W", 1 / kNewtonMetresPerPoundInch, 4, 0} : Scale{"Nm per root W", 1, 4, 0};
    case Quantity::kAmpsPerMetre:
      return shop ? Scale{"A/in", kMmPerInch / 1000, 3, 0} : Scale{"A/m", 1, 3, 0};
    case Quantity::kOhms:
      return {"ohm", 1, 4, 0};
    case Quantity::kVolts:
      return {"V", 1, 4, 0};
  }
  return {"", 1, 4, 0};
}

}  // namespace

std::string Units::Name(Quantity quantity) const { return ScaleOf(quantity, shop_).unit; }

double Units::Value(Quantity quantity, double si) const {
  const Scale scale = ScaleOf(quantity, shop_);
  if (shop_ && quantity == Quantity::kCelsius) return scale.factor * si + 32;
  // Circular mils per ampere is area over current, the other way up from A/mm2.
  if (shop_ && quantity == Quantity::kAmpsPerMm2) return si > 0 ? scale.factor / si : 0;
  return scale.factor * si;
}

std::string Units::Number(Quantity quantity, double si) const {
  const Scale scale = ScaleOf(quantity, shop_);
  const double value = Value(quantity, si);
  // What a person states is printed as stated, what was computed to its figures.
  const bool stated = quantity == Quantity::kCelsius || quantity == Quantity::kVolts;
  return scale.figures > 0 ? Figures(value, scale.figures, stated) : Fixed(value, scale.decimals);
}

std::string Units::Text(Quantity quantity, double si) const {
  return absl::StrCat(Number(quantity, si), " ", Name(quantity));
}

std::string Units::Range(Quantity quantity, double low, double high) const {
  const bool upside_down = shop_ && quantity == Quantity::kAmpsPerMm2;
  // No current at all is endless area to the ampere.
  if (upside_down && low <= 0) return absl::StrCat(Number(quantity, high), " or more");
  if (upside_down) std::swap(low, high);
  return absl::StrCat(Number(quantity, low), " to ", Number(quantity, high));
}

}  // namespace coilwright::print
