#include <algorithm>
#include <cmath>

#include "electric/plausible.h"
#include "plan/check.h"
#include "plan/contract_paths.h"
#include "plan/predict.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

using standards::Band;

constexpr double kMm2PerM2 = 1e6;
// Where a value is missing, the pattern is described with this one, and nothing that depends on it is answered.
constexpr int kAnyTurns = 100;
constexpr double kAnyMetres = 0.3;

class Estimates {
 public:
  Estimates(const Record& record, const Settings& settings) : record_(record), settings_(settings) {}

  absl::StatusOr<std::vector<Estimate>> All() {
    const RecordedWinding& w = record_.winding;
    const CoreAndSlot& core = record_.core;
    has_turns_ = w.turns_per_coil || !w.groups.empty();
    has_wire_ = !w.strands.empty();
    has_length_ = w.mean_turn_m || (core.bore_mm && core.stack_length_mm && core.slot_depth_mm);
    Record filled = record_;
    if (!has_turns_) filled.winding.turns_per_coil = kAnyTurns;
    if (!has_length_) filled.winding.mean_turn_m = kAnyMetres;
    if (std::vector<standards::FieldError> errors = Contradictions(filled); !errors.empty()) {
      return standards::UnderField("record", standards::InvalidFields(errors));
    }
    const absl::StatusOr<PatternSummary> pattern = SummarisePattern(filled);
    if (!pattern.ok()) return InContract(pattern.status(), "record.winding");
    const absl::StatusOr<electric::MeanTurn> turn = MeanTurnOf(filled, *pattern);
    if (!turn.ok()) return InContract(turn.status(), "record.machine.core");
    coils_ = pattern->coils;
    turns_ = pattern->mean_turns_per_coil;
    metres_ = turn->metres.nominal;
    metres_sigma_ = MeanTurnSigma(filled, *turn);
    area_mm2_ = StrandArea(w.strands).nominal;
    area_sigma_ = has_wire_ ? WireAreaSigma(w.strands) : 0;
    if (absl::Status read = ReadResistance(); !read.ok()) return InContract(read, "record.measured.resistance");
    if (record_.mass) mass_ = BareMassOf(record_);
    if (mass_ && record_.mass->leads_included) mass_->kg /= 1 + settings_.lead_share;
    Turn();
    Turns();
    Wire();
    if (!has_wire_) AreaByDensity();
    if (!has_turns_) {
      if (absl::Status done = TurnsByDensity(filled, *pattern); !done.ok()) return done;
    }
    return std::move(estimates_);
  }

 private:
  absl::Status ReadResistance() {
    if (!record_.resistance) return absl::OkStatus();
    const absl::StatusOr<double> ratio =
        standards::ResistanceRatio(settings_.preset, record_.winding.metal, record_.resistance->winding_celsius, 20.0);
    if (!ratio.ok()) return ratio.status();
    const int circuits = record_.winding.parallel_circuits;
    const auto phase = [&](double phase_mm2) {
      const CoilOhms coils = CoilOhmsOf(record_, phase_mm2, settings_);
      return CoilOhms{electric::PhaseFromLineToLine(record_.winding.connection, coils.line_to_line) * *ratio,
                      coils.sigma};
    };
    ohms_ = phase(circuits * area_mm2_);
    // Without the wire its leads follow from the section that the resistance asks for.
    if (!has_wire_ && has_turns_ && has_length_) ohms_ = phase(circuits * AreaFromOhms());
    return absl::OkStatus();
  }

  double Rho() const {
    return standards::ResistivityOhmMm2PerM(standards::Resistivity::kIecWindingWire, record_.winding.metal).nominal;
  }
  double Density() const { return standards::DensityKgPerM3(record_.winding.metal) / kMm2PerM2; }  // kg per mm2 and m
  double Circuits() const { return record_.winding.parallel_circuits; }
  double AreaFromOhms() const {
    return Rho() * coils_ * turns_ * metres_ / (3 * Circuits() * Circuits() * ohms_->line_to_line);
  }

  void Add(const char* field, std::string what, double value, double sigma, const char* unit, std::string text,
           absl::string_view rule) {
    estimates_.push_back({field,
                          std::move(what),
                          {value * std::exp(-2 * sigma), value, value * std::exp(2 * sigma)},
                          unit,
                          std::move(text),
                          rule});
  }

  // Mean turn back from a winding whose turns and wire are known.
  void Turn() {
    if (!has_turns_ || !has_wire_) return;
    constexpr const char* kField = "winding.mean_turn";
    constexpr const char* kText = "for the record as it stands: compare it with a coil";
    if (ohms_) {
      Add(kField, "mean turn from resistance",
          3 * Circuits() * Circuits() * area_mm2_ * ohms_->line_to_line / (Rho() * coils_ * turns_),
          std::hypot(ohms_->sigma, area_sigma_), "m", kText, rules::check_estimate_mean_turn);
    }
    if (mass_) {
      Add(kField, "mean turn from mass", mass_->kg / (Density() * coils_ * turns_ * area_mm2_),
          std::hypot(mass_->sigma, area_sigma_), "m", kText, rules::check_estimate_mean_turn);
    }
  }

  void Turns() {
    if (has_turns_ || !has_length_) return;
    constexpr const char* kField = "winding.turns_per_coil";
    constexpr const char* kText = "an estimate: confirm it by counting what is left";
    const double shared = std::hypot(metres_sigma_, area_sigma_);
    if (ohms_ && has_wire_) {
      Add(kField, "turns from resistance",
          3 * Circuits() * Circuits() * area_mm2_ * ohms_->line_to_line / (Rho() * coils_ * metres_),
          std::hypot(ohms_->sigma, shared), "turns", kText, rules::check_estimate_turns);
    }
    if (mass_ && has_wire_) {
      Add(kField, "turns from mass", mass_->kg / (Density() * coils_ * area_mm2_ * metres_),
          std::hypot(mass_->sigma, shared), "turns", kText, rules::check_estimate_turns);
    }
    if (ohms_ && mass_) {
      Add(kField, "turns from resistance and mass together",
          std::sqrt(3 * ohms_->line_to_line * mass_->kg / (Rho() * Density())) * Circuits() / (coils_ * metres_),
          std::hypot(std::hypot(ohms_->sigma, mass_->sigma) / 2, metres_sigma_), "turns", kText,
          rules::check_estimate_product);
    }
  }

  void Wire() {
    constexpr const char* kField = "winding.strands";
    if (!has_wire_ && has_turns_ && has_length_) {
      constexpr const char* kText = "bare area of all wires of one turn; an estimate: confirm it with a micrometer";
      if (ohms_) {
        Add(kField, "wire area from resistance", AreaFromOhms(), std::hypot(ohms_->sigma, metres_sigma_), "mm2", kText,
            rules::check_estimate_area);
      }
      if (mass_) {
        Add(kField, "wire area from mass", mass_->kg / (Density() * coils_ * turns_ * metres_),
            std::hypot(mass_->sigma, metres_sigma_), "mm2", kText, rules::check_estimate_area);
      }
    }
    if (ohms_ && mass_) {
      Add(kField, "wire area from mass over resistance",
          std::sqrt(Rho() * mass_->kg / (3 * Density() * ohms_->line_to_line)) / Circuits(),
          std::hypot(ohms_->sigma, mass_->sigma) / 2, "mm2",
          "bare area of all wires of one turn; turns and mean turn are not in it", rules::check_estimate_section);
    }
  }

  // What carries the current of the plate, whatever the turns.
  void AreaByDensity() {
    const std::optional<double> amps = PlateLineAmpsRms(record_.plate);
    if (!amps) return;
    const electric::PlausibleRange range =
        electric::Plausible(electric::Loading::kCurrentDensityAPerMm2, ElectricKind(record_.kind));
    const bool star = record_.winding.connection == electric::Connection::kStar;
    const double circuit_amps = *amps / (star ? 1 : std::sqrt(3.0)) / Circuits();
    const double low = circuit_amps / range.high, high = circuit_amps / range.low;
    estimates_.push_back({"winding.strands",
                          "wire area for current densities met in practice",
                          {low, std::sqrt(low * high), high},
                          "mm2",
                          "bare area of all wires of one turn; an estimate to be confirmed: every size in the range is "
                          "as good as another",
                          rules::check_estimate_current_density});
  }

  // Every density goes with one over the turns.
  absl::Status TurnsByDensity(const Record& filled, const PatternSummary& pattern) {
    const absl::StatusOr<TurnsPlan> turns = PlanTurns(filled, pattern, Change{});
    if (!turns.ok()) return turns.status();
    const absl::StatusOr<Loading> loading = LoadingOf(filled, *turns, *turns, std::nullopt);
    if (!loading.ok()) return InContract(loading.status(), "record.machine");
    if (!loading->densities) return absl::OkStatus();
    const electric::MachineKind kind = ElectricKind(record_.kind);
    double low = 0, high = 0;
    const auto narrow = [&](electric::Loading which, double teslas) {
      if (!(teslas > 0)) return;
      const electric::PlausibleRange range = electric::Plausible(which, kind);
      const double least = turns_ * teslas / range.high, most = turns_ * teslas / range.low;
      low = std::max(low, least);
      high = high == 0 ? most : std::min(high, most);
    };
    narrow(electric::Loading::kAirGapPeakTeslas, loading->densities->air_gap_peak_teslas);
    narrow(electric::Loading::kToothTeslas, loading->densities->tooth_teslas);
    narrow(electric::Loading::kBackIronTeslas, loading->densities->back_iron_teslas);
    const bool agree = low <= high;
    if (!agree) std::swap(low, high);
    estimates_.push_back({"winding.turns_per_coil",
                          "turns for densities met in practice",
                          {low, std::sqrt(low * high), high},
                          "turns",
                          agree ? "an estimate to be confirmed: every whole number in the range is as good as another"
                                : "air gap, tooth and back iron do not agree on any number: measure the core again; "
                                  "an estimate to be confirmed",
                          rules::check_estimate_densities});
    return absl::OkStatus();
  }

  const Record& record_;
  const Settings& settings_;
  bool has_turns_ = false, has_wire_ = false, has_length_ = false;
  double coils_ = 0, turns_ = 0, metres_ = 0, metres_sigma_ = 0, area_mm2_ = 0, area_sigma_ = 0;
  std::optional<CoilOhms> ohms_;  // of a phase at 20 C
  std::optional<BareMass> mass_;
  std::vector<Estimate> estimates_;
};

}  // namespace

absl::StatusOr<std::vector<Estimate>> EstimateMissing(const Record& record, const Settings& settings) {
  return Estimates(record, settings).All();
}

}  // namespace coilwright::plan
