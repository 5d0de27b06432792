#pragma once

#include <array>
#include <string>
#include <vector>

#include "plan/check.h"
#include "plan/predict.h"

// The linear model behind the check: every slip moves the logarithms of the recorded values, and the logarithm of every
// measurement is linear in those.
namespace coilwright::plan {

// What a record and its measurements are compared by.
enum Quantity {
  kResistance,
  kMass,
  kAirGap,
  kTooth,
  kBackIron,
  kCurrentDensity,
  kElectricLoading,
  kFullness,
  kTorque,
  kPower,
  kEmf,
  kPlateConstant,
  kMeanTurnEstimate,
  kSpeed,
  kReading,  // the part of kResistance that moves the leads too: nothing is measured by it
  kQuantities
};
using Logs = std::array<double, kQuantities>;

// A recorded value that a slip can move, as ln(true / recorded).
enum Value {
  kTurns,
  kCoils,
  kCircuits,
  kWires,
  kDiameter,
  kOverall,
  kDelta,  // 1: truly delta, recorded star; -1 the other way
  kPitch,
  kPitchFactor,
  kTurnLength,  // of the mean turn, as far as it was worked out from the pitch
  kPoles,
  kPoleFactor,
  kVolts,
  kHertz,
  kAmps,
  kVoltsConstant,
  kTorqueNm,
  kOhms,
  kKelvin,  // of the resistance, by the temperature
  kResistivity,
  kDensity,
  kKg,
  kValues
};
using Shift = std::array<double, kValues>;

// What a shift does to ln(computed from the record / found).
Logs EffectOf(const Shift& shift, MachineKind kind, bool mean_turn_measured);

// One measurement that is there.
struct Measured {
  Quantity quantity = kResistance;
  Agreement agreement;
  double residual = 0;  // ln(computed / found) of the record as it stands
  // Standard deviations of that where the record gives too little and too much; ranges met in practice are uneven.
  double sigma_low = 0, sigma_high = 0;
  double sigma(double at) const { return at < 0 ? sigma_low : sigma_high; }
  double sigma() const { return (sigma_low + sigma_high) / 2; }
};

struct Model {
  std::vector<Measured> measured;
  bool mean_turn_measured = false;
  std::optional<OhmsPrediction> ohms;
  bool circuits_permitted = true;

  // What an effect moves the logarithm of a prediction by, at the leads that are likeliest.
  double Moved(const Measured& measured, const Logs& effect) const;
};

Model ModelOf(const Record& record, const Original& original, const Settings& settings, bool use_mass);

// What the plate alone says of itself, for a record whose winding is not counted yet.
Model PlateModelOf(const Record& record);

// A slip this record could carry.
struct Slip {
  Correction correction;
  std::string look;  // how to settle it
  double chance = 0;
  Shift shift{};
  Logs effect{};
  double resistance_sigma = 0, mass_sigma = 0;  // where the true value is itself uncertain
  bool permits_circuits = false;                // the recorded circuits, which the pattern as recorded does not permit
};

// Every slip of the table that this record permits.
std::vector<Slip> SlipsOf(const Record& record, const Original& original, const Settings& settings = {});

// One slip, two or none.
struct Hypothesis {
  int first = -1, second = -1;  // into the slips
  double probability = 0;
  Logs effect{};
};

struct Ranking {
  std::vector<Hypothesis> hypotheses;  // likeliest first
  double unexplained_probability = 0;
  double ln_evidence = 0;  // logarithm of what all of them together make of the measurements
};
Ranking Rank(const Model& model, const std::vector<Slip>& slips);

// What is no slip though it stands among them: the record is true, the machine has changed.
inline constexpr char kWeakMagnets[] = "weak_magnets";
bool AccusesNobody(const Explanation& explanation);

// A row of the table of slips.
struct SlipRow {
  std::string field, what, look;
  double chance = 0;
};
const SlipRow& RowOf(const std::string& slip);

// What contradicts itself in a record, but for the speed of its plate: that is evidence of poles and frequency here.
std::vector<standards::FieldError> ContradictionsBesideSpeed(const Record& record);

// A check with the logarithm of its evidence.
struct Weighed {
  RecordCheck check;
  double ln_evidence = 0;
};
Weighed Weigh(const Record& record, const Original& original, const Settings& settings, Moment moment);

// Where a record cannot be judged as it stands: the slips that would make it so, weighed against each other.
// Three readings further apart than instruments explain; nothing where they are not.
std::optional<RecordCheck> CheckUnbalanced(const Record& record, const Original& original, const Settings& settings,
                                           Moment moment);
// Slots, poles, layers and pitch that make no winding; nothing where no single slip explains that. `why` is what was
// wrong.
std::optional<RecordCheck> CheckImpossible(const Record& record, const Settings& settings, Moment moment,
                                           absl::string_view why);

// Largest distance of an explanation from a measurement, in standard deviations; its place in `at`.
double WorstSigmas(const std::vector<double>& sigmas, size_t* at = nullptr);
inline constexpr size_t kMostExplanations = 10;
inline constexpr double kLeastProbability = 0.005;

// The slips of an explanation in words.
std::string TextOf(const Explanation& explanation);

// Their predictions differ by less than two standard deviations on every measurement.
bool CannotBeToldApart(const Model& model, const Logs& one, const Logs& other);

}  // namespace coilwright::plan
