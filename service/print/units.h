#pragma once

#include <string>

#include "absl/strings/str_cat.h"

namespace coilwright::print {

// What a figure of an answer is a measure of. Answers are SI; the name says which unit they carry.
enum class Quantity {
  kWireDiameterMm,
  kLengthMm,
  kLengthMetres,
  kWireAreaMm2,
  kSlotAreaMm2,
  kMassKg,
  kCelsius,
  kAmpsPerMm2,
  kWebers,
  kTeslas,
  kOhmsPerKm,
  kKgPerKm,
  kNm,
  kNmPerAmp,
  kNmPerRootWatt,
  kAmpsPerMetre,
  kOhms,
  kVolts,
};

// Turns figures of an answer into what is printed: SI, or the units of a North American shop (inches, circular mils,
// pounds, degrees Fahrenheit, kilolines).
class Units {
 public:
  explicit Units(bool shop) : shop_(shop) {}
  bool shop() const { return shop_; }

  // Name of the unit: "mm", "in".
  std::string Name(Quantity quantity) const;
  double Value(Quantity quantity, double si) const;
  // "1.024" without its unit, to as many places as the quantity is read to in that unit.
  std::string Number(Quantity quantity, double si) const;
  // "1.024 mm"
  std::string Text(Quantity quantity, double si) const;
  // "1.5 ohm (1.4 to 1.6)"; the nominal alone where the band has no width.
  template <class Band, class = decltype(&Band::nominal)>
  std::string Text(Quantity quantity, const Band& si) const {
    const std::string nominal = Text(quantity, si.nominal());
    return si.high() > si.low() ? absl::StrCat(nominal, " (", Range(quantity, si), ")") : nominal;
  }
  // "1.4 to 1.6", without unit.
  template <class Band, class = decltype(&Band::nominal)>
  std::string Range(Quantity quantity, const Band& si) const {
    return Range(quantity, si.low(), si.high());
  }
  std::string Range(Quantity quantity, double low, double high) const;

 private:
  bool shop_;
};

}  // namespace coilwright::print
