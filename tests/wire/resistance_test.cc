#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <string>

#include "standards/rules.h"
#include "standards/units.h"
#include "wire/wire.h"

namespace coilwright::wire {
namespace {

using standards::Band;
using standards::ConductorPreset;
using standards::Film;
using standards::Metal;
using standards::WireSystem;

constexpr double kPerThousandFeet = standards::kMetresPerFoot;  // ohms per km to ohms per 1000 ft

Band Ohms(const std::string& wire, double celsius = 20, ConductorPreset preset = ConductorPreset::kIeee112,
          Metal metal = Metal::kCopper) {
  const auto parsed = Parse(wire);
  EXPECT_TRUE(parsed.ok()) << parsed.status();
  const auto ohms = ResistanceOhmsPerKm(*parsed, metal, preset, celsius);
  EXPECT_TRUE(ohms.ok()) << ohms.status();
  return ohms.value_or(Band{});
}

// Direct-current ohms per 1000 ft of uncoated solid copper at 75 C, NFPA 70 chapter 9 table 8, three figures, from
// memory.
TEST(Resistance, ElectricalCodeAt75C) {
  const std::map<std::string, double> printed = {{"AWG 18", 7.77}, {"AWG 16", 4.89}, {"AWG 14", 3.07},
                                                 {"AWG 12", 1.93}, {"AWG 10", 1.21}, {"AWG 8", 0.764}};
  for (const auto& [wire, ohms] : printed) {
    EXPECT_NEAR(Ohms(wire, 75).nominal * kPerThousandFeet, ohms, ohms < 1 ? 0.0005 : 0.005) << wire;
  }
}

// Ohms per 1000 ft at 20 C, NBS Handbook 100 (1966), from memory, three or four figures.
TEST(Resistance, CopperWireTablesAt20C) {
  const std::map<std::string, double> printed = {{"AWG 4/0", 0.04901}, {"AWG 10", 0.9988}, {"AWG 20", 10.1},
                                                 {"AWG 24", 25.7},     {"AWG 30", 104},    {"AWG 36", 415},
                                                 {"AWG 40", 1080}};
  for (const auto& [wire, ohms] : printed) {
    EXPECT_NEAR(Ohms(wire).nominal * kPerThousandFeet / ohms, 1, 0.005) << wire;
  }
}

TEST(Resistance, TextbookExamples) {
  // Grob's Basic Electronics, examples 11-3 and 11-4, pp. 340 and 342: 100 ft of No. 20 is 1.02 ohm, of No. 23 2.04
  // ohm. The book takes 10.4 ohm cmil/ft (+0.28 %) and exact gauges, hence 1 %.
  EXPECT_NEAR(Ohms("AWG 20").nominal * 0.03048, 1.02, 0.0102);
  EXPECT_NEAR(Ohms("AWG 23").nominal * 0.03048, 2.04, 0.0204);
  // US Navy NEETS module 4, p. 1-9: 2000 ft of AWG 20 at 25 C is 20.8 ohm from a rounded table, 1 %.
  EXPECT_NEAR(Ohms("AWG 20", 25).nominal * 0.6096, 20.8, 0.208);
  // Beiser, Basic Mathematics for Electricity and Electronics, problem 5.5, p. 48: No. 14 has 2.53 times No. 10.
  EXPECT_NEAR(Ohms("AWG 14").nominal / Ohms("AWG 10").nominal, 2.53, 0.005);
  // Beiser, problem 5.6, p. 48: 1500 ft of 0.080 in copper is 2.44 ohm with 10.4 ohm cmil/ft. SWG 14 is 0.080 in; the
  // winding-wire resistivity is 1.13 % below that figure.
  EXPECT_NEAR(Ohms("SWG 14").nominal * 0.4572, 2.44 / 1.0113, 0.005);
}

// IEC 60317-0-1 table 1 as printed by makers: 0.100 mm 2.034, 2.176, 2.333 ohm/m; 0.050 mm nominal 8.706 +-9 %.
TEST(Resistance, ThinWireTakesThePrintedLimits) {
  const Band tenth = Ohms("0.1 mm grade 1");
  EXPECT_NEAR(tenth.low, 2034, 0.5);
  EXPECT_NEAR(tenth.nominal, 2176, 0.5);
  EXPECT_NEAR(tenth.high, 2333, 0.5);
  EXPECT_NEAR(Ohms("0.05 mm").high / Ohms("0.05 mm").nominal, 1.09, 0.001);
  EXPECT_NEAR(Ohms("0.05 mm").low / Ohms("0.05 mm").nominal, 0.91, 0.001);
  const auto rules_of = [](const char* wire, Metal metal) {
    return ResistanceRules(*Parse(wire), metal, ConductorPreset::kIec60034);
  };
  EXPECT_THAT(rules_of("0.1 mm", Metal::kCopper), ::testing::Contains(rules::iec60317_0_1_resistance));
  EXPECT_THAT(rules_of("0.1 mm", Metal::kAluminium), ::testing::Contains(rules::resistivity_aluminium_winding));
  EXPECT_THAT(rules_of("0.5 mm", Metal::kCopper), ::testing::Contains(rules::resistivity_iec_winding_wire));
  EXPECT_THAT(rules_of("AWG 18", Metal::kCopper), ::testing::Contains(rules::resistivity_nema_wire));
}

// 0.500 mm: 0.08462, 0.08706, 0.08959 ohm/m, IEC 60317-0-1 table 1, from memory; limits by 1/59 and 1/58.
TEST(Resistance, ThickerMetricWireFollowsTheSameRule) {
  const Band half = Ohms("0.5 mm");
  EXPECT_NEAR(half.low, 84.62, 0.01);
  EXPECT_NEAR(half.nominal, 87.06, 0.01);
  EXPECT_NEAR(half.high, 89.59, 0.01);
}

TEST(Resistance, DoublingStrandsHalvesResistance) {
  // Two wires in hand are one of twice the area: a diameter larger by the root of two.
  const Wire one = FromDiameters(0.5, 0.55);
  const Wire two = FromDiameters(0.5 * std::sqrt(2.0), 0.8);
  const auto ohms = [](const Wire& wire) {
    return ResistanceOhmsPerKm(wire, Metal::kCopper, ConductorPreset::kIec60034, 20)->nominal;
  };
  EXPECT_NEAR(ohms(one) / ohms(two), 2, 1e-12);
  EXPECT_NEAR(two.area_mm2 / one.area_mm2, 2, 1e-12);
}

TEST(Resistance, RisesAsWireThinsAndWarms) {
  for (WireSystem system : {WireSystem::kAwg, WireSystem::kIecR20, WireSystem::kIecR40, WireSystem::kSwg}) {
    double last = 0;
    for (const Wire& wire : Catalogue(system, Film::kBare)) {
      const auto cold = ResistanceOhmsPerKm(wire, Metal::kCopper, ConductorPreset::kIec60034, 20);
      const auto warm = ResistanceOhmsPerKm(wire, Metal::kCopper, ConductorPreset::kIec60034, 130);
      EXPECT_GT(cold->nominal, last) << wire.designation;
      EXPECT_LT(cold->low, cold->nominal);
      EXPECT_LE(cold->nominal, cold->high);
      EXPECT_NEAR(warm->nominal / cold->nominal, 365.0 / 255.0, 1e-12);  // (235 + 130)/(235 + 20)
      last = cold->nominal;
    }
  }
  EXPECT_GT(Ohms("AWG 18", 20, ConductorPreset::kIec60034, Metal::kAluminium).nominal, 1.6 * Ohms("AWG 18").nominal);
}

TEST(Resistance, RefusesWhatItCannotCompute) {
  const Wire wire = *Parse("AWG 18");
  EXPECT_EQ(ResistanceOhmsPerKm(wire, Metal::kCopper, ConductorPreset::kIec60034, 301).status().code(),
            absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(ResistanceOhmsPerKm(wire, Metal::kCopper, ConductorPreset::kIec60851, 26).status().code(),
            absl::StatusCode::kFailedPrecondition);
  EXPECT_EQ(ResistanceOhmsPerKm(FromDiameters(0, 0), Metal::kCopper, ConductorPreset::kIec60034, 20).status().code(),
            absl::StatusCode::kInvalidArgument);
}

// Pounds per 1000 ft, NBS Handbook 100 (1966), from memory: AWG 4/0 640.5, 10 31.43, 36 0.0757.
TEST(Mass, BareCopperOfTheCopperWireTables) {
  const auto pounds = [](const char* wire) {
    return BareKgPerKm(*Parse(wire), Metal::kCopper) * standards::kMetresPerFoot / standards::kKgPerPound;
  };
  EXPECT_NEAR(pounds("AWG 4/0"), 640.5, 0.05);
  EXPECT_NEAR(pounds("AWG 10"), 31.43, 0.005);
  EXPECT_NEAR(pounds("AWG 36"), 0.0757, 0.00005);
}

TEST(Mass, FilmAddsItsRing) {
  const Wire wire = *Parse("1 mm grade 2");
  // pi/4 (1.0785^2 - 1) mm2 of film at 1.35 g/cm3.
  EXPECT_NEAR(CoatedKgPerKm(wire, Metal::kCopper) - BareKgPerKm(wire, Metal::kCopper), 0.17300, 5e-5);
  EXPECT_DOUBLE_EQ(CoatedKgPerKm(*Parse("1 mm"), Metal::kCopper), BareKgPerKm(*Parse("1 mm"), Metal::kCopper));
  EXPECT_NEAR(BareKgPerKm(wire, Metal::kAluminium) / BareKgPerKm(wire, Metal::kCopper), 2.703 / 8.89, 1e-12);
}

}  // namespace
}  // namespace coilwright::wire
