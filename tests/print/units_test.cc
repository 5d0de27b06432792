#include "print/units.h"

#include <gmock/gmock.h>

#include <cstdio>
#include <cstdlib>

#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"

namespace coilwright::print {
namespace {

// As the messages of the contract have it.
struct Band {
  double low_value, nominal_value, high_value;
  double low() const { return low_value; }
  double nominal() const { return nominal_value; }
  double high() const { return high_value; }
};

// GNU units(1), an independent table of the same definitions.
double GnuUnits(const std::string& from, const std::string& to) {
  FILE* pipe = popen(absl::StrCat("units --terse --digits 12 '", from, "' '", to, "'").c_str(), "r");
  char line[200] = "";
  if (pipe == nullptr || fgets(line, sizeof line, pipe) == nullptr) ADD_FAILURE() << "GNU units did not answer";
  if (pipe != nullptr) pclose(pipe);
  double value = 0;
  EXPECT_TRUE(absl::SimpleAtod(line, &value)) << from << " to " << to << ": " << line;
  return value;
}

TEST(Units, AgreeWithGnuUnits) {
  const Units shop(true);
  const struct {
    Quantity quantity;
    const char* from;
    const char* to;
  } cases[] = {
      {Quantity::kWireDiameterMm, "1.024 mm", "inch"},
      {Quantity::kLengthMm, "1.024 mm", "inch"},
      {Quantity::kLengthMetres, "1.024 m", "ft"},
      {Quantity::kWireAreaMm2, "1.024 mm^2", "circularmil"},
      {Quantity::kSlotAreaMm2, "1.024 mm^2", "inch^2"},
      {Quantity::kMassKg, "1.024 kg", "lb"},
      {Quantity::kWebers, "1.024 weber", "kilomaxwell"},
      {Quantity::kTeslas, "1.024 tesla", "kilomaxwell/inch^2"},
      {Quantity::kOhmsPerKm, "1.024 ohm/km", "ohm/(1000 ft)"},
      {Quantity::kKgPerKm, "1.024 kg/km", "lb/(1000 ft)"},
      {Quantity::kNmPerAmp, "1.024 N m/A", "lbf inch/A"},
      {Quantity::kNm, "1.024 N m", "lbf inch"},
      {Quantity::kNmPerRootWatt, "1.024 N m", "lbf inch"},  // the watt is the same
      {Quantity::kAmpsPerMetre, "1.024 A/m", "A/inch"},
  };
  for (const auto& c : cases) {
    const double expected = GnuUnits(c.from, c.to);
    EXPECT_NEAR(shop.Value(c.quantity, 1.024), expected, 1e-9 * expected) << c.from << " in " << c.to;
  }
  EXPECT_NEAR(shop.Value(Quantity::kCelsius, 75), GnuUnits("tempC(75)", "tempF"), 1e-9);
  EXPECT_NEAR(shop.Value(Quantity::kCelsius, -40), -40, 1e-9);
}

TEST(Units, CircularMilsPerAmpereAreTheOtherWayUp) {
  // 1 A through the area of 1/5 mm2.
  const double expected = GnuUnits("0.2 mm^2", "circularmil");
  EXPECT_NEAR(Units(true).Value(Quantity::kAmpsPerMm2, 5), expected, 1e-9 * expected);
  const Band band{4, 5, 8};
  EXPECT_EQ(Units(true).Range(Quantity::kAmpsPerMm2, band), "247 to 493");
  EXPECT_EQ(Units(false).Range(Quantity::kAmpsPerMm2, band), "4.00 to 8.00");
}

TEST(Units, SayTheirName) {
  EXPECT_EQ(Units(false).Text(Quantity::kWireDiameterMm, 0.8), "0.800 mm");
  EXPECT_EQ(Units(true).Text(Quantity::kWireDiameterMm, 1.0236), "0.0403 in");  // AWG 18, NEMA MW 1000
  EXPECT_EQ(Units(false).Text(Quantity::kCelsius, 22), "22 C");
  EXPECT_EQ(Units(true).Text(Quantity::kCelsius, 22), "71.6 F");
}

TEST(Units, PrintABandOnlyWhereThereIsOne) {
  EXPECT_EQ(Units(false).Text(Quantity::kOhms, Band{1.5, 1.5, 1.5}), "1.500 ohm");
  EXPECT_EQ(Units(false).Text(Quantity::kOhms, Band{1.4, 1.5, 1.62}), "1.500 ohm (1.400 to 1.620)");
}

// 1 A/mm2 is 1973.5 circular mils to the ampere (GNU units: mm^2/A in circularmil/A): 0 to 8 is 246.7 or more.
TEST(Units, SaysARangeThatBeginsWithNoCurrent) {
  EXPECT_EQ(Units(true).Range(Quantity::kAmpsPerMm2, Band{0, 0, 8}), "247 or more");
}

}  // namespace
}  // namespace coilwright::print
