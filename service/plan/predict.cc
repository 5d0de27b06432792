#include "plan/predict.h"

#include <algorithm>
#include <cmath>

namespace coilwright::plan {
namespace {

using standards::Band;

// Standard deviations as shares. Mean turn and mass as the trade measures them; wire beside its table limits (stretch,
// stripping), resistivity between 1/59 and 1/58, joins in the winding: common practice, no source.
constexpr double kMeanTurnMeasured = 0.03;
constexpr double kMeanTurnEstimatedLeast = 0.05;
constexpr double kWireArea = 0.006;
constexpr double kResistivityShare = 0.004;
constexpr double kJoins = 0.01;
constexpr double kScale = 0.02;
constexpr double kFilmOnScale = 0.01, kLeadsOnScale = 0.02;

// 1.6 m of both leads, give or take half, of copper of the section of all circuits of a phase and at least 0.75 mm2.
constexpr double kLeadMetres = 1.6, kLeastLeadMm2 = 0.75, kLeadSigma = 0.5;
// Test leads, clips and a cable left on: 10 to 50 milliohms on three benches of ten.
constexpr double kAnyLeadChance = 0.3;
constexpr double kAnyLeadOhms[] = {0.015, 0.030, 0.045};
constexpr double kAnyLeadSigmaOhms = 0.006;
// Of leads that were measured and taken off.
constexpr double kMeasuredLeadSigma = 0.05;
// Spread of the leads over that of all else, below which their kinds are one.
constexpr double kLeadsDoNotShow = 0.3;

// Of the reading itself without leads: instrument, temperature, resistivity and joins.
double ReadingSigma(const Record& record, const Settings& settings) {
  const MeasuredResistance& read = *record.resistance;
  return std::sqrt(Square(read.uncertainty_ratio) +
                   Square(read.celsius_uncertainty / KelvinAt(record, settings, read.winding_celsius)) +
                   Square(kResistivityShare) + Square(kJoins));
}

struct Normal {
  double chance, mean, sigma;
};

// Where the sum of some normal distributions has this share of all below.
double Quantile(const std::vector<Normal>& parts, double share) {
  double low = parts[0].mean, high = low;
  for (const Normal& part : parts) {
    low = std::min(low, part.mean - 5 * part.sigma);
    high = std::max(high, part.mean + 5 * part.sigma);
  }
  for (int i = 0; i < 24; ++i) {
    const double middle = (low + high) / 2;
    double below = 0;
    for (const Normal& part : parts)
      below += part.chance * std::erfc((part.mean - middle) / part.sigma / std::sqrt(2.0)) / 2;
    (below < share ? low : high) = middle;
  }
  return (low + high) / 2;
}

}  // namespace

double SigmaOf(const Band& band) { return band.low > 0 ? std::log(band.high / band.low) / 4.0 : 0.0; }

Band TwoSigmas(double nominal, double sigma) {
  return {nominal * std::exp(-2 * sigma), nominal, nominal * std::exp(2 * sigma)};
}

namespace {

Band Range(double low, double high) { return {low, std::sqrt(low * high), high}; }

}  // namespace

Band UsualTorqueNm(double rated_torque_nm) { return Range(0.87 * rated_torque_nm, 1.2 * rated_torque_nm); }

Band UsualEmfVolts(double rated_volts) { return Range(0.55 * rated_volts, 1.03 * rated_volts); }

Band UsualPowerRatio(MachineKind kind) { return kind == MachineKind::kInduction ? Range(0.5, 0.88) : Range(0.6, 1.0); }

double KelvinAt(const Record& record, const Settings& settings, double celsius) {
  return standards::Constants(settings.preset, record.winding.metal).zero_resistance_kelvin + celsius;
}

std::vector<LeadKind> LeadKinds(const MeasuredResistance& read, double phase_mm2) {
  if (read.leads_ohms) return {{1, *read.leads_ohms, kMeasuredLeadSigma * *read.leads_ohms}};
  const double own = kLeadMetres / 58 / std::max(kLeastLeadMm2, phase_mm2);
  std::vector<LeadKind> kinds = {{1 - kAnyLeadChance, own, kLeadSigma * own}};
  for (const double ohms : kAnyLeadOhms)
    kinds.push_back({kAnyLeadChance / std::size(kAnyLeadOhms), ohms, kAnyLeadSigmaOhms});
  return kinds;
}

LeadKind AnyLead(const std::vector<LeadKind>& kinds) {
  double mean = 0, square = 0;
  for (const LeadKind& kind : kinds) {
    mean += kind.chance * kind.ohms;
    square += kind.chance * (Square(kind.ohms) + Square(kind.sigma_ohms));
  }
  return {1, mean, std::sqrt(std::max(0.0, square - Square(mean)))};
}

double MeanOhms(const MeasuredResistance& read) {
  double mean = 0;
  for (const double ohms : read.line_to_line_ohms) mean += ohms / static_cast<double>(read.line_to_line_ohms.size());
  return mean;
}

double UnbalanceExplainedPercent(winding::CoilForm form) {
  return form == winding::CoilForm::kConcentric || form == winding::CoilForm::kChain ? 5 : 2;
}

double OhmsPrediction::CoilSigma() const {
  return std::sqrt(Square(own_sigma) + Square(turn_sigma) + Square(area_sigma));
}

bool OhmsPrediction::LeadsHide() const {
  const LeadKind lead = AnyLead(leads);
  return lead.sigma_ohms > CoilSigma() * (coil_ohms + lead.ohms);
}

absl::StatusOr<OhmsPrediction> PredictOhms(const Frame& frame) {
  const Record& record = *frame.record;
  const std::vector<RecordedStrand>& strands = record.winding.strands;
  const absl::StatusOr<electric::WindingResistance> coils =
      electric::PredictResistance(CopperOf(frame, strands), record.resistance->winding_celsius);
  if (!coils.ok()) return coils.status();
  OhmsPrediction p;
  p.found_ohms = MeanOhms(*record.resistance);
  p.coil_ohms = coils->line_to_line_ohms.nominal * (1 + frame.settings->lead_share / 2);
  p.own_sigma = ReadingSigma(record, *frame.settings);
  p.turn_sigma = MeanTurnSigma(record, *frame.mean_turn);
  p.area_sigma = WireAreaSigma(strands);
  p.leads = LeadKinds(*record.resistance, record.winding.parallel_circuits * StrandArea(strands).nominal);
  const LeadKind any = AnyLead(p.leads);
  if (any.sigma_ohms < kLeadsDoNotShow * p.CoilSigma() * (p.coil_ohms + any.ohms)) p.leads = {any};

  std::vector<Normal> parts;
  for (const LeadKind& lead : p.leads) {
    const double ohms = p.coil_ohms + lead.ohms;
    parts.push_back({lead.chance, std::log(ohms),
                     std::sqrt(Square(p.own_sigma) + Square(lead.sigma_ohms / ohms) +
                               Square(p.coil_ohms / ohms) * (Square(p.turn_sigma) + Square(p.area_sigma)))});
  }
  if (parts.size() == 1) {
    p.sigma_low = p.sigma_high = parts[0].sigma;
    p.expected = TwoSigmas(p.coil_ohms + p.leads[0].ohms, p.sigma_low);
    return p;
  }
  constexpr double kBelowTwoSigmas = 0.02275013194817921;
  const double low = Quantile(parts, kBelowTwoSigmas), middle = Quantile(parts, 0.5),
               high = Quantile(parts, 1 - kBelowTwoSigmas);
  p.sigma_low = (high - middle) / 2;
  p.sigma_high = (middle - low) / 2;
  p.expected = {std::exp(low), std::exp(middle), std::exp(high)};
  return p;
}

Prediction PredictKg(const Record& record, const Original& original, const Settings& settings) {
  const BareMass weighed = BareMassOf(record);
  // What the scale should show for the copper computed.
  double kg = original.as_recorded.bare_copper_kg.nominal * record.mass->kg / weighed.kg;
  double own = Square(weighed.sigma);
  if (record.mass->leads_included) {
    kg *= 1 + settings.lead_share;
    own += Square(kLeadsOnScale);
  }
  const double sigma = std::sqrt(own + Square(MeanTurnSigma(record, original.mean_turn)) +
                                 Square(WireAreaSigma(record.winding.strands)));
  return {TwoSigmas(kg, sigma), sigma, sigma};
}

CoilOhms CoilOhmsOf(const Record& record, double phase_mm2, const Settings& settings) {
  const double mean = MeanOhms(*record.resistance);
  const LeadKind lead = AnyLead(LeadKinds(*record.resistance, phase_mm2));
  const double coils = mean - std::min(lead.ohms, mean / 2);
  return {coils / (1 + settings.lead_share / 2), std::hypot(ReadingSigma(record, settings), lead.sigma_ohms / coils)};
}

double MeanTurnSigma(const Record& record, const electric::MeanTurn& mean_turn) {
  return record.winding.mean_turn_m ? kMeanTurnMeasured : std::max(SigmaOf(mean_turn.metres), kMeanTurnEstimatedLeast);
}

double WireAreaSigma(const std::vector<RecordedStrand>& strands) {
  return std::hypot(SigmaOf(StrandArea(strands)), kWireArea);
}

BareMass BareMassOf(const Record& record) {
  // Film where the wire is not known: 3 to 6 % for the sizes of small motors (from memory).
  constexpr double kUnknownFilm = 1.045, kUnknownFilmSigma = 0.012;
  BareMass mass{record.mass->kg, Square(kScale)};
  if (record.mass->basis != MassBasis::kBare) {
    double bare = 0, coated = 0;
    for (const RecordedStrand& strand : record.winding.strands) {
      bare += strand.wires_in_hand * wire::BareKgPerKm(strand.wire, record.winding.metal);
      coated += strand.wires_in_hand * wire::CoatedKgPerKm(strand.wire, record.winding.metal);
    }
    mass.kg /= bare > 0 ? coated / bare : kUnknownFilm;
    mass.sigma += Square(bare > 0 ? kFilmOnScale : kUnknownFilmSigma);
  }
  if (record.mass->basis == MassBasis::kWithResin) {
    mass.kg /= kResinRatio;
    mass.sigma += Square(kResinSigma);
  }
  mass.sigma = std::sqrt(mass.sigma);
  return mass;
}

}  // namespace coilwright::plan
