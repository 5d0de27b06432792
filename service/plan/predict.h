#pragma once

#include <vector>

#include "plan/steps.h"

// What a record makes the instruments show: the one prediction behind the record at a glance, the record check and the
// estimates from what is left.
namespace coilwright::plan {

constexpr double Square(double x) { return x * x; }

// Both leads of a reading together, as one of several kinds of lead that occur, each with its chance.
struct LeadKind {
  double chance = 1, ohms = 0, sigma_ohms = 0;
};

// Leads are what nobody records: of a section as the winding's own, or tens of milliohms whatever the motor (common
// practice, no source). One kind where they were measured or left out of the reading. `phase_mm2`: all circuits of a
// phase.
std::vector<LeadKind> LeadKinds(const MeasuredResistance& read, double phase_mm2);

// All kinds as one, with the spread between them.
LeadKind AnyLead(const std::vector<LeadKind>& kinds);

// A reading to expect: median, and the two standard deviations below and above it that hold 95 % of the readings.
// `sigma_low` is of the logarithm where the reading lies above, so that the record gives too little; `sigma_high`
// where it lies below.
struct Prediction {
  standards::Band expected;
  double sigma_low = 0, sigma_high = 0;
};

// Line to line at the terminals, at the temperature of the reading. `own_sigma` is instrument, temperature, resistivity
// and joins; mean turn and wire area move the mass too and stand apart. `leads` is one kind where their spread does not
// show beside the rest.
struct OhmsPrediction : Prediction {
  double coil_ohms = 0, own_sigma = 0, turn_sigma = 0, area_sigma = 0;
  std::vector<LeadKind> leads;
  double found_ohms = 0;  // mean of the readings

  // Of the coils alone, leads left out.
  double CoilSigma() const;
  // Leads hide what a reading at the coil ends would show.
  bool LeadsHide() const;
};

// FAILED_PRECONDITION where the preset does not cover the temperature. The record has a resistance.
absl::StatusOr<OhmsPrediction> PredictOhms(const Frame& frame);

// On the scale, with what the basis says is on it. The record has a mass.
Prediction PredictKg(const Record& record, const Original& original, const Settings& settings);

// Spread of the three readings that instruments explain: 2 % of random wound machines (ANSI/EASA AR100, from memory);
// coil heads of concentric and chain windings differ from phase to phase: 5 % (common practice, no source).
double UnbalanceExplainedPercent(winding::CoilForm form);

// Mean of the readings, and the coils alone with the standard deviation of the reading as a share.
double MeanOhms(const MeasuredResistance& read);
struct CoilOhms {
  double line_to_line = 0, sigma = 0;
};
CoilOhms CoilOhmsOf(const Record& record, double phase_mm2, const Settings& settings);

// Bare metal on the scale, leads not taken off, with its standard deviation as a share.
struct BareMass {
  double kg = 0, sigma = 0;
};
BareMass BareMassOf(const Record& record);

// Resin on the scale over film-coated wire, and its standard deviation: 2 to 10 % (common practice, no source).
inline constexpr double kResinRatio = 1.06, kResinSigma = 0.03;

double MeanTurnSigma(const Record& record, const electric::MeanTurn& mean_turn);
double WireAreaSigma(const std::vector<RecordedStrand>& strands);

// Half the width of a band on the log scale, taken as two standard deviations; and the other way.
double SigmaOf(const standards::Band& band);
standards::Band TwoSigmas(double nominal, double sigma);

// Ranges met in practice of what a plate says of itself, for the record at a glance and the check alike (common
// practice, no source): torque constant times current against the plate torque, friction and iron loss taking a part
// and plates rounding; voltage constant times speed against the rated volts, drops in the winding taking the rest;
// output over apparent power, which is efficiency times power factor.
standards::Band UsualTorqueNm(double rated_torque_nm);
standards::Band UsualEmfVolts(double rated_volts);
standards::Band UsualPowerRatio(MachineKind kind);

// K in R2/R1 = (K + t2)/(K + t1) of the record's metal, plus a temperature: what a kelvin there weighs.
double KelvinAt(const Record& record, const Settings& settings, double celsius);

}  // namespace coilwright::plan
