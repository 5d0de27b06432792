#include <gtest/gtest.h>

#include <cmath>

#include "electric/magnetics.h"
#include "winding/short_names.h"
#include "winding/winding.h"

namespace coilwright::winding {
namespace {

const double kRoot3 = std::sqrt(3.0);

// Worked examples of textbooks that go from slots, pitch and turns to volts or webers: winding factor, series turns and
// emf equation together. Books print 4.44 for sqrt(2) pi (0.065 %) and round on the way: 0.1 % unless the case says
// otherwise.
struct EmfExample {
  const char* source;
  Pattern pattern;
  double conductors_per_slot;
  int circuits;
  double frequency_hz;
  double flux_webers;
  double phase_volts;
  double tolerance = 1e-3;
};

const EmfExample kExamples[] = {
    {"Bakshi, DC Machines and Synchronous Machines, Ex 4.4 p26", {216, 24, 9}, 5, 1, 50, 0.030, 1992.9 / kRoot3},
    {"Bakshi Ex 4.7 p38, printed 12 mWb, 12.08 recomputed", {288, 24, 10}, 32, 1, 50, 0.0120804, 6600 / kRoot3},
    {"Bakshi Ex 4.11 p44", {96, 8, 10}, 4, 1, 50, 0.060, 788.57},
    {"Bakshi Ex 4.9 p41", {432, 48, 9}, 8, 1, 50, 0.05175, 11000 / kRoot3},
    {"Bakshi Ex 4.10 p42", {180, 12, 15}, 10, 1, 60, 0.05, 3822.9},
    {"Bakshi Ex 4.15 p50, 397 conductors per phase", {90, 10, 9}, 397.0 / 30, 1, 50, 0.15, 11000 / kRoot3, 2e-3},
    {"Kosow, Electric Machinery and Transformers, Ex 2.7 p56", {72, 6, 10}, 40, 1, 60, 0.048, 5678},
    {"Guru and Hiziroglu, Electric Machinery and Transformers, Ex 7.5 p420", {144, 16, 7}, 20, 2, 50, 0.025, 1201.35},
    {"McPherson, Introduction to Electrical Machines and Transformers, Ex 2.3 p17",
     {36, 6, 5},
     4,
     1,
     50,
     0.024,
     119.38},
    {"Nagrath and Kothari, Electric Machines, Ex 5.2 p149", {144, 16, 9}, 10, 1, 50, 0.040, 2045.52},
    {"Nagrath and Kothari Ex 5.3 p149, recomputed (errata)", {120, 10, 10}, 24, 1, 50, 0.035, 3449.99},
    {"Nagrath and Kothari Ex 5.4 p150, recomputed (errata)", {42, 2, 17}, 2, 2, 50, 0.935569, 2300 / kRoot3},
    {"Deshpande, Electrical Machines, Ex 13.5 p295", {144, 16, 8}, 10, 1, 50, 0.040, 2014.22},
    {"Deshpande Ex 13.6 p295, 363 conductors per phase", {90, 10, 8}, 363.0 / 30, 1, 50, 0.100, 6600 / kRoot3, 1.3e-3},
    {"Bhattacharya, Electrical Machines, Ex 5.4 p426", {72, 8, 9, kOne, CoilForm::kChain}, 10, 1, 50, 0.15, 3835.34},
    {"Bhattacharya Ex 5.5 p427", {48, 8, 6}, 4, 1, 50, 0.037021, 440 / kRoot3},
    {"Theraja, Electrical Technology II, Ex 37.6 p1416", {144, 16, 9}, 10, 1, 50, 0.030, 1534.46},
    {"T. Singh, Electrical Machines II, Prob 7 p120", {60, 4, 12}, 2, 1, 50, 0.943, 6600 / kRoot3},
    {"Burman, Special Electrical Machines, Ex 4.8 p221", {36, 4, 7}, 40, 1, 100, 0.0018, 173},
};

TEST(EmfExamples, GiveTheVoltsOrTheFluxInPrint) {
  for (const EmfExample& example : kExamples) {
    SCOPED_TRACE(example.source);
    const absl::StatusOr<double> factor = WindingFactor(example.pattern);
    ASSERT_TRUE(factor.ok()) << factor.status();
    const int coils = CoilCount(example.pattern);
    const double turns = example.conductors_per_slot * example.pattern.slots / 2 / coils;
    const double series = SeriesTurnsPerPhase(coils, turns, example.circuits);
    EXPECT_NEAR(electric::EmfVoltsRms(example.frequency_hz, series, *factor, example.flux_webers), example.phase_volts,
                example.tolerance * example.phase_volts);
    EXPECT_NEAR(electric::FluxWebers(example.phase_volts, example.frequency_hz, series, *factor), example.flux_webers,
                example.tolerance * example.flux_webers);
  }
}

// Bakshi Ex 4.16 p50: 120 slots, 10 poles, 8 conductors per slot, coils two slots short, third harmonic flux 33 % and
// fifth 20 % of 0.1 Wb taken at the fundamental frequency: 3330 V per phase.
TEST(EmfExamples, GiveTheVoltsOfAFieldWithHarmonics) {
  const Pattern pattern = {120, 10, 10};
  double squares = 0;
  for (const auto& [harmonic, flux] : {std::pair{1, 0.1}, {3, 0.033}, {5, 0.02}}) {
    const double volts = electric::EmfVoltsRms(50, 160, *WindingFactor(pattern, harmonic), flux);
    squares += volts * volts;
  }
  EXPECT_NEAR(std::sqrt(squares), 3330, 1e-3 * 3330);
}

// Kosow Ex 2.7: 256 V is printed for a coil of 20 turns before its pitch factor. Bakshi Ex 4.10: a full-pitch turn
// gives 13.32 V, one conductor 6.66 V.
TEST(EmfExamples, GiveTheVoltsOfOneCoil) {
  EXPECT_NEAR(electric::EmfVoltsRms(60, 20, PitchFactor(72, 6, 12), 0.048), 256, 1e-3 * 256);
  EXPECT_NEAR(electric::EmfVoltsRms(60, 1, PitchFactor(180, 12, 15), 0.05), 13.32, 1e-3 * 13.32);
  EXPECT_NEAR(electric::EmfVoltsRms(60, 0.5, PitchFactor(180, 12, 15), 0.05), 6.66, 1e-3 * 6.66);
}

}  // namespace
}  // namespace coilwright::winding
