#include "testing/resistance_faults.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "testing/level_tables.h"
#include "testing/three_leads.h"

namespace coilwright::testing {
namespace {

using electric::Connection;
using standards::Band;

constexpr const char* kStarPhases[] = {"U", "V", "W"};

const char* PhaseName(Connection connection, size_t phase) {
  return connection == Connection::kStar ? kStarPhases[phase] : kPairs[phase];
}

// Which phase stands alone, and its ohms over the mean of the other two.
struct Odd {
  size_t phase = 0;
  double rho = 1;
  double others_apart = 0;  // share of their mean
};

double RhoOf(const std::array<double, 3>& p, size_t phase) {
  return 2 * p[phase] / (p[(phase + 1) % 3] + p[(phase + 2) % 3]);
}

Odd FindOdd(const std::array<double, 3>& p) {
  Odd best;
  for (size_t i = 0; i < 3; ++i) {
    const double a = p[(i + 1) % 3], b = p[(i + 2) % 3];
    const double apart = 2 * std::abs(a - b) / (a + b);
    if (i == 0 || apart < best.others_apart) best = {i, RhoOf(p, i), apart};
  }
  return best;
}

// Readings independent of each other.
double RhoUncertainty(Connection connection, const std::array<double, 3>& ohms, const Odd& odd, double ratio) {
  double variance = 0;
  for (size_t i = 0; i < 3; ++i) {
    constexpr double kStep = 1e-5;
    std::array<double, 3> moved = ohms;
    moved[i] *= 1 + kStep;
    const auto phases = electric::PhaseValues(connection, moved);
    if (!phases.ok()) continue;
    const double slope = (RhoOf(*phases, odd.phase) - odd.rho) / kStep;
    variance += slope * slope * ratio * ratio;
  }
  return std::sqrt(variance);
}

// Share of one circuit's turns bypassed that gives `rho` below 1, with n circuits.
double BypassedShare(double rho, int n) {
  if (rho >= 1) return 0;
  return 1 - 1 / (n / std::max(rho, 1e-9) - (n - 1));
}

Band Times(const Band& band, double factor) { return {band.low * factor, band.nominal * factor, band.high * factor}; }

std::string About(const Band& turns) {
  const auto low = std::max(1.0, std::round(turns.low)), high = std::max(1.0, std::round(turns.high));
  return low == high
             ? absl::StrFormat("about %.0f turn%s", low, low == 1 ? "" : "s")
             : absl::StrFormat("about %.0f turns (%.0f to %.0f)", std::max(1.0, std::round(turns.nominal)), low, high);
}

ResistanceFault Shorted(const ResistanceCase& c, const std::string& phase, double rho, double u) {
  const int n = c.parallel_circuits.value_or(1);
  ResistanceFault fault;
  fault.kind = ResistanceFaultKind::kShortedTurns;
  fault.phase = phase;
  fault.share_of_phase = Band{BypassedShare(rho + u, n), BypassedShare(rho, n), BypassedShare(rho - u, n)};
  if (c.coils_per_phase && c.turns_per_coil) {
    const double per_circuit = *c.coils_per_phase * *c.turns_per_coil / n;
    fault.turns = Times(*fault.share_of_phase, per_circuit);
    fault.text = absl::StrCat("phase ", phase, ": ", About(*fault.turns), " of ", absl::StrFormat("%.0f", per_circuit),
                              n > 1 ? " in one circuit" : "", " shorted or missing");
    const double coils = fault.turns->nominal / *c.turns_per_coil;
    if (coils > 0.8) absl::StrAppend(&fault.text, absl::StrFormat(", %.1f coils", coils));
  } else {
    fault.text = absl::StrFormat("phase %s: about %.1f %% of the turns%s shorted or missing", phase,
                                 100 * fault.share_of_phase->nominal, n > 1 ? " of one circuit" : "");
  }
  return fault;
}

// Open ones of n parallel circuits whose ratio fits; without n, one of up to six.
std::optional<ResistanceFault> OpenCircuits(const ResistanceCase& c, const std::string& phase, double rho, double u) {
  const double tolerance = std::max(2 * u, Setting("connection_ratio_share") / 3);
  const int least = c.parallel_circuits.value_or(2), most = c.parallel_circuits.value_or(6);
  for (int n = least; n <= most; ++n) {
    for (int m = 1; m < (c.parallel_circuits ? n : 2); ++m) {
      if (std::abs(rho * (n - m) / n - 1) > tolerance) continue;
      ResistanceFault fault;
      fault.kind = ResistanceFaultKind::kOpenCircuit;
      fault.phase = phase;
      fault.circuits = m;
      fault.text = absl::StrCat("phase ", phase, ": ", m, " of ", n, " parallel circuits open",
                                c.parallel_circuits ? "" : ", if it has so many");
      return fault;
    }
  }
  return std::nullopt;
}

ResistanceFault Added(const ResistanceCase& c, const std::string& phase, double rho, double u, double healthy_ohms) {
  ResistanceFault fault;
  fault.kind = ResistanceFaultKind::kAddedResistance;
  fault.phase = phase;
  fault.share_of_phase = Band{std::max(0.0, rho - 1 - u), rho - 1, rho - 1 + u};
  fault.added_ohms = (rho - 1) * healthy_ohms;
  fault.text = absl::StrFormat("phase %s: a joint or contact with about %.2g ohm", phase, *fault.added_ohms);
  if (c.coils_per_phase && c.turns_per_coil && c.parallel_circuits.value_or(1) == 1) {
    fault.turns = Times(*fault.share_of_phase, *c.coils_per_phase * *c.turns_per_coil);
    absl::StrAppend(&fault.text, ", or ", About(*fault.turns), " too many");
  }
  return fault;
}

}  // namespace

FaultModel ExplainTriple(const ResistanceCase& c, const std::array<double, 3>& ohms, double uncertainty_ratio) {
  FaultModel model;
  const auto phases = electric::PhaseValues(c.connection, ohms);
  if (!phases.ok()) return model;
  const Odd odd = FindOdd(*phases);
  const double u = RhoUncertainty(c.connection, ohms, odd, uncertainty_ratio);
  // Few turns of one circuit among n: the phase moves by their share of all its turns.
  model.least_share_seen = std::min(1.0, u);
  if (c.coils_per_phase && c.turns_per_coil) {
    model.least_turns_seen = model.least_share_seen * *c.coils_per_phase * *c.turns_per_coil;
  }
  const bool stands_out = std::abs(odd.rho - 1) > u;
  const bool alone = odd.others_apart <= std::max(u, std::abs(odd.rho - 1) / 2);
  if (!stands_out || !alone) return model;
  const std::string phase = PhaseName(c.connection, odd.phase);
  if (odd.rho < 1) {
    model.faults.push_back(Shorted(c, phase, odd.rho, u));
    return model;
  }
  if (auto open = OpenCircuits(c, phase, odd.rho, u)) model.faults.push_back(*std::move(open));
  const double healthy = (*phases)[odd.phase] / odd.rho;
  model.faults.push_back(Added(c, phase, odd.rho, u, healthy));
  return model;
}

std::optional<ResistanceFault> FarthestPhase(const ResistanceCase& c, const std::array<double, 3>& ohms,
                                             double uncertainty_ratio) {
  const auto phases = electric::PhaseValues(c.connection, ohms);
  if (!phases.ok()) return std::nullopt;
  Odd odd;
  for (size_t i = 0; i < 3; ++i) {
    if (const double rho = RhoOf(*phases, i); std::abs(rho - 1) > std::abs(odd.rho - 1)) odd = {i, rho, 0};
  }
  if (odd.rho == 1) return std::nullopt;
  const std::string phase = PhaseName(c.connection, odd.phase);
  const double u = RhoUncertainty(c.connection, ohms, odd, uncertainty_ratio);
  return odd.rho < 1 ? Shorted(c, phase, odd.rho, u) : Added(c, phase, odd.rho, u, (*phases)[odd.phase] / odd.rho);
}

std::vector<ResistanceFault> OpenFaults(Connection connection, const std::array<bool, 3>& open, int closed) {
  ResistanceFault fault;
  fault.kind = ResistanceFaultKind::kOpenPhase;
  const auto count = std::count(open.begin(), open.end(), true);
  if (count == 2) {
    // The lead that both open pairs share: U of W-U and U-V.
    const auto whole = static_cast<size_t>(std::find(open.begin(), open.end(), false) - open.begin());
    const char* lead = kStarPhases[(whole + 2) % 3];
    fault.phase = lead;
    if (connection == Connection::kStar) {
      fault.text = absl::StrCat("phase ", lead, " open: its lead, a joint, or its joint to the star",
                                closed == 0 ? "; read the third pair" : "");
    } else {
      fault.text = absl::StrCat("lead ", lead, " open before the delta");
    }
  } else if (count == 1) {
    fault.text = "an open circuit: read the other pairs to tell which phase";
  } else {
    fault.text = connection == Connection::kStar ? "star point or two phases open" : "two leads or two branches open";
  }
  return {fault};
}

std::vector<ResistanceFault> EdgeFaults(Connection connection, int pair) {
  const auto i = static_cast<size_t>(pair);
  ResistanceFault fault;
  if (connection == Connection::kDelta) {
    fault.kind = ResistanceFaultKind::kOpenPhase;
    fault.phase = kPairs[i];
    fault.text = absl::StrCat("branch ", fault.phase, " of the delta open: it reads the other two in series");
    return {fault};
  }
  fault.kind = ResistanceFaultKind::kShortedTurns;
  fault.phase = kStarPhases[(i + 2) % 3];
  fault.share_of_phase = Band{1, 1, 1};
  fault.text = absl::StrCat("phase ", fault.phase, " shorted out as a whole, or an internal delta with branch ",
                            kPairs[i], " open");
  return {fault};
}

}  // namespace coilwright::testing
