#include <algorithm>
#include <cmath>
#include <map>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "plan/check_model.h"
#include "standards/tables.h"
#include "wire/wire.h"

namespace coilwright::plan {
namespace {

const double kLnRoot3 = std::log(3.0) / 2;

const std::map<std::string, SlipRow>& Rows() {
  static const auto& rows = *[] {
    const standards::Table table(standards::EmbeddedTable("slips"));
    auto* loaded = new std::map<std::string, SlipRow>;
    for (int i = 0; i < table.rows(); ++i) {
      (*loaded)[std::string(table.Text(i, "slip"))] = {
          std::string(table.Text(i, "field")), std::string(table.Text(i, "what")), std::string(table.Text(i, "look")),
          table.Number(i, "chance").value()};
    }
    return loaded;
  }();
  return rows;
}

// What is known of a value makes a slip in it more or less likely (common practice, no source): a guess three times, a
// count or reading repeated three times a third.
double EvidenceFactor(const Record& record, const std::string& field) {
  double factor = 1;
  for (const FieldEvidence& evidence : record.evidence) {
    if (!absl::StartsWith(evidence.field, field)) continue;
    if (evidence.evidence == Evidence::kEstimated)
      factor = 3;
    else if (evidence.repeats >= 3)
      factor = 1.0 / 3;
  }
  return factor;
}

std::string Joined(const std::vector<RecordedStrand>& strands) {
  std::vector<std::string> words;
  for (const RecordedStrand& s : strands) {
    words.push_back(
        absl::StrCat(s.wires_in_hand, " x ",
                     s.wire.tabulated ? s.wire.designation : absl::StrFormat("%.4g mm bare", s.wire.bare_mm.nominal)));
  }
  return absl::StrJoin(words, " + ");
}

double AreaMm2(const std::vector<RecordedStrand>& strands) {
  double area = 0;
  for (const RecordedStrand& s : strands) area += s.wires_in_hand * s.wire.area_mm2;
  return area;
}

double OverallSquares(const std::vector<RecordedStrand>& strands) {
  double squares = 0;
  for (const RecordedStrand& s : strands)
    squares += s.wires_in_hand * s.wire.overall_mm.nominal * s.wire.overall_mm.nominal;
  return squares;
}

class Slips {
 public:
  Slips(const Record& record, const Original& original, const Settings& settings)
      : record_(record), original_(original), settings_(settings) {}

  std::vector<Slip> All() {
    Counts();
    Circuits();
    WiresInHand();
    Gauge();
    Pattern();
    PlateValues();
    Readings();
    return std::move(slips_);
  }

 private:
  // A slip by the name of its row; the caller fills its shift.
  Shift& Add(const std::string& name, std::string recorded, std::string reads, double share = 1) {
    const SlipRow& row = RowOf(name);
    std::string field = row.field;
    if (field == "voltage_constant") {
      field =
          record_.measured_ke_ll_rms_v_per_krpm ? "measured.voltage_constant" : "machine.nameplate.voltage_constant";
    }
    Slip slip;
    slip.correction = {name, field, row.what, std::move(recorded), std::move(reads)};
    slip.look = row.look;
    slip.chance = row.chance * share * EvidenceFactor(record_, field);
    slips_.push_back(std::move(slip));
    return slips_.back().shift;
  }

  void Counts() {
    const RecordedWinding& w = record_.winding;
    const auto turns = [&](double factor) {
      return w.groups.empty() ? absl::StrFormat("%g", factor * *w.turns_per_coil)
                              : absl::StrFormat("%g times the turns of every coil", factor);
    };
    if (Holds(2)) TurnsOver(2, "turns_doubled", "", "", 1);
    Add("turns_halved", turns(1), turns(2))[kTurns] = std::log(2.0);
    WiresAsTurns(turns);
    if (!w.groups.empty() || w.form == winding::CoilForm::kChain) return;
    if (w.layers == winding::Layers::kDouble && record_.core.slots % 2 == 0) {
      Add("coils_doubled", "double", "single")[kCoils] = -std::log(2.0);
    }
    if (w.layers == winding::Layers::kSingle) Add("coils_halved", "single", "double")[kCoils] = std::log(2.0);
  }

  bool Holds(int times) const { return !record_.winding.groups.empty() || *record_.winding.turns_per_coil >= times; }

  // Turns counted `n` times over. A count over both sides of a coil is rarely exact: where it does not divide it is
  // off by a turn or so, and a whole number beside the quotient is true.
  Shift& TurnsOver(int n, const char* slip, absl::string_view as_recorded, absl::string_view truly, double share) {
    const RecordedWinding& w = record_.winding;
    std::string recorded = "1 times the turns of every coil",
                reads = absl::StrFormat("%g times the turns of every coil", 1.0 / n);
    double uncertain = 0;
    if (w.groups.empty()) {
      const int turns = *w.turns_per_coil, below = turns / n;
      recorded = absl::StrCat(turns);
      reads = absl::StrCat(below);
      if (const int over = turns % n; over != 0) {
        if (2 * over == n) absl::StrAppend(&reads, " or ", below + 1);
        if (2 * over > n) reads = absl::StrCat(below + 1);
        uncertain = 1.0 / turns;
        share *= 0.65;
      }
    }
    Shift& shift = Add(slip, absl::StrCat(recorded, as_recorded), absl::StrCat(reads, truly), share);
    shift[kTurns] = -std::log(n);
    slips_.back().resistance_sigma = slips_.back().mass_sigma = uncertain;
    return shift;
  }

  // Of a coil side nothing is seen but ends: those of one turn count as many.
  template <typename Turns>
  void WiresAsTurns(const Turns& turns) {
    const RecordedWinding& w = record_.winding;
    int wires = 0;
    for (const RecordedStrand& s : w.strands) wires += s.wires_in_hand;
    // Two in hand are turns doubled or halved.
    if (wires > 2) {
      if (Holds(wires)) TurnsOver(wires, "wires_as_turns", "", "", 1);
      Add("turns_by_wires", turns(1), turns(wires))[kTurns] = std::log(wires);
    }
    if (wires != 1) return;
    for (const int truly : {2, 3, 4}) {
      if (!Holds(truly)) continue;
      TurnsOver(truly, "wires_as_turns", " and one wire in hand", absl::StrCat(" and ", truly, " in hand"),
                0.3)[kWires] = std::log(truly);
    }
  }

  void Circuits() {
    const int circuits = record_.winding.parallel_circuits;
    const std::vector<RecordedStrand>& strands = record_.winding.strands;
    const auto count = [](int n) { return absl::StrCat(n); };
    for (const int permitted : original_.pattern.symmetry.permitted_circuits) {
      if (permitted == circuits) continue;
      const bool more = permitted > circuits;
      if (more ? permitted % circuits != 0 : circuits % permitted != 0) continue;
      const int factor = more ? permitted / circuits : circuits / permitted;
      const double share = factor == 2 ? 1.0 : 0.5;  // two is the most usual by far
      const double ln = more ? std::log(factor) : -std::log(factor);
      Add(more ? "circuits_missed" : "circuits_invented", count(circuits), count(permitted), share)[kCircuits] = ln;
      const bool divides = std::all_of(strands.begin(), strands.end(),
                                       [&](const RecordedStrand& s) { return s.wires_in_hand % factor == 0; });
      if (more && !divides) continue;
      std::vector<RecordedStrand> truly = strands;
      for (RecordedStrand& s : truly) s.wires_in_hand = more ? s.wires_in_hand / factor : s.wires_in_hand * factor;
      Shift& shift = Add(more ? "circuits_as_wires" : "wires_as_circuits",
                         absl::StrCat(circuits, " and ", Joined(strands), " in hand"),
                         absl::StrCat(permitted, " and ", Joined(truly), " in hand"), share);
      shift[kCircuits] = ln;
      shift[kWires] = -ln;
    }
  }

  void WiresInHand() {
    const std::vector<RecordedStrand>& strands = record_.winding.strands;
    if (strands.size() != 1) return;
    const int wires = strands[0].wires_in_hand;
    const auto add = [&](int truly, double share) {
      std::vector<RecordedStrand> reads = strands;
      reads[0].wires_in_hand = truly;
      Add(truly > wires ? "wires_missed" : "wires_extra", Joined(strands), Joined(reads), share)[kWires] =
          std::log(static_cast<double>(truly) / wires);
    };
    add(wires + 1, 1);
    if (wires == 1) {
      for (const int truly : {3, 4, 5, 6}) add(truly, 1.0 / truly);
    } else {
      add(2 * wires, 0.5);
      add(wires - 1, 1);
    }
    if (wires > 2 && wires % 2 == 0) add(wires / 2, 0.5);
    if (wires > 2) add(1, 0.2);
  }

  void Gauge() {
    const std::vector<RecordedStrand>& strands = record_.winding.strands;
    const auto moved = [&](const char* name, const std::vector<RecordedStrand>& truly, double sigma) {
      Shift& shift = Add(name, Joined(strands), Joined(truly));
      shift[kDiameter] = std::log(AreaMm2(truly) / AreaMm2(strands)) / 2;
      shift[kOverall] = std::log(OverallSquares(truly) / OverallSquares(strands)) / 2;
      slips_.back().resistance_sigma = slips_.back().mass_sigma = sigma;
    };
    // The thickest wire is the one in doubt where sizes are mixed.
    for (const int step : {1, -1}) {
      const absl::StatusOr<wire::Wire> next = wire::Neighbour(strands[0].wire, step);
      if (!next.ok()) continue;
      std::vector<RecordedStrand> truly = strands;
      truly[0].wire = *next;
      moved(step > 0 ? "gauge_thick" : "gauge_thin", truly, 0);
      if (const std::optional<wire::Wire> between = BetweenSeries(strands[0].wire, *next)) {
        truly[0].wire = *between;
        moved(step > 0 ? "gauge_thick" : "gauge_thin", truly, 0);
        slips_.back().chance /= 2;
      }
    }
    std::vector<RecordedStrand> truly = strands;
    for (RecordedStrand& s : truly) {
      // A micrometer tells wire and film apart only where it was put to both.
      const bool filmed = s.wire.overall_mm.nominal > s.wire.bare_mm.nominal && !s.wire.film_assumed;
      if (filmed != s.wire.tabulated) return;
      const double over = s.wire.bare_mm.nominal;
      const double bare = over / (filmed ? s.wire.overall_mm.nominal / over : FilmedRatio(over));
      s.wire = wire::FromDiameters(bare, over);
      s.wire.designation = absl::StrFormat("%.3f mm bare", bare);
    }
    moved("gauge_over_film", truly, 0.025);
  }

  // The size of the other metric series between two neighbours of one.
  static std::optional<wire::Wire> BetweenSeries(const wire::Wire& wire, const wire::Wire& neighbour) {
    using standards::WireSystem;
    if (wire.system != WireSystem::kIecR20 && wire.system != WireSystem::kIecR40) return std::nullopt;
    const WireSystem other = wire.system == WireSystem::kIecR20 ? WireSystem::kIecR40 : WireSystem::kIecR20;
    const auto [low, high] = std::minmax(wire.bare_mm.nominal, neighbour.bare_mm.nominal);
    for (const wire::Wire& size : wire::Catalogue(other, wire.film)) {
      if (size.bare_mm.nominal > 1.001 * low && size.bare_mm.nominal < 0.999 * high) return size;
    }
    return std::nullopt;
  }

  // Overall over bare diameter of grade 2 wire of this overall diameter, the commonest film of motors (common
  // practice, no source).
  static double FilmedRatio(double over_mm) {
    double ratio = 1, nearest = HUGE_VAL;
    for (const wire::Wire& size : wire::Catalogue(standards::WireSystem::kIecR20, standards::Film::kGrade2)) {
      const double off = std::abs(std::log(size.overall_mm.nominal / over_mm));
      if (off >= nearest) continue;
      nearest = off;
      ratio = size.overall_mm.nominal / size.bare_mm.nominal;
    }
    return ratio;
  }

  // The record with another pitch or pole number, where it makes a winding.
  std::optional<PatternSummary> Variant(int pitch, int poles) {
    Record other = record_;
    if (other.winding.coil_pitch) other.winding.coil_pitch = pitch;
    other.plate.poles = poles;
    other.plate.pole_pairs.reset();
    if (!ContradictionsBesideSpeed(other).empty()) return std::nullopt;
    absl::StatusOr<PatternSummary> pattern = SummarisePattern(other);
    if (!pattern.ok()) return std::nullopt;
    return *std::move(pattern);
  }

  void Pattern() {
    const int pitch = record_.winding.coil_pitch.value_or(0);
    const int poles = record_.plate.poles;
    if (pitch > 0 && record_.winding.form != winding::CoilForm::kToothCoil) {
      for (const int truly : {pitch - 1, pitch + 1}) {
        if (truly < 1) continue;
        const std::optional<PatternSummary> pattern = Variant(truly, poles);
        if (!pattern) continue;
        const std::optional<double> turn = TurnRatio(*pattern);
        Shift& shift = Add(truly < pitch ? "pitch_long" : "pitch_short", absl::StrCat(pitch), absl::StrCat(truly));
        shift[kPitch] = std::log(static_cast<double>(truly) / pitch);
        shift[kPitchFactor] = std::log(pattern->winding_factor / original_.pattern.winding_factor);
        if (turn) shift[kTurnLength] = std::log(*turn);
      }
    }
    if (record_.plate.pole_pairs) return;
    for (const int truly : {2 * poles, poles / 2}) {
      if (truly < 2 || truly > 120 || truly % 2 != 0) continue;
      const std::optional<PatternSummary> pattern = Variant(pitch, truly);
      if (!pattern) continue;
      Shift& shift = Add(truly > poles ? "poles_halved" : "poles_doubled", absl::StrCat(poles), absl::StrCat(truly));
      shift[kPoles] = std::log(static_cast<double>(truly) / poles);
      shift[kPoleFactor] = std::log(pattern->winding_factor / original_.pattern.winding_factor);
    }
  }

  // Mean turn at another pitch over that as recorded, by the estimate.
  std::optional<double> TurnRatio(const PatternSummary& pattern) {
    const CoreAndSlot& core = record_.core;
    if (!core.bore_mm || !core.stack_length_mm || !core.slot_depth_mm) return std::nullopt;
    Record unmeasured = record_;
    unmeasured.winding.mean_turn_m.reset();
    const absl::StatusOr<electric::MeanTurn> now = MeanTurnOf(unmeasured, original_.pattern);
    const absl::StatusOr<electric::MeanTurn> then = MeanTurnOf(unmeasured, pattern);
    if (!now.ok() || !then.ok()) return std::nullopt;
    return then->metres.nominal / now->metres.nominal;
  }

  void PlateValues() {
    const Plate& plate = record_.plate;
    if (record_.kind == MachineKind::kInduction && plate.frequency_hz) {
      const double hertz = *plate.frequency_hz;
      const bool sixty = std::abs(hertz - 60) < 1;
      if (sixty || std::abs(hertz - 50) < 1) {
        const double truly = sixty ? 50 : 60;
        Add(sixty ? "fifty_as_sixty" : "sixty_as_fifty", absl::StrFormat("%g Hz", hertz),
            absl::StrFormat("%g Hz", truly))[kHertz] = std::log(truly / hertz);
      }
    }
    const bool star = record_.winding.connection == electric::Connection::kStar;
    const auto volts = [&](const char* name, double ln) {
      Shift& shift = Add(name, absl::StrFormat("%.4g V", plate.rated_volts),
                         absl::StrFormat("%.4g V with the amperes beside it", plate.rated_volts * std::exp(ln)));
      shift[kVolts] = ln;
      shift[kAmps] = -ln;
    };
    volts("plate_high_volts", -std::log(2.0));
    volts("plate_low_volts", std::log(2.0));
    if (star)
      volts("plate_delta_volts", kLnRoot3);
    else
      volts("plate_star_volts", -kLnRoot3);
    if (plate.line_amps_rms && !plate.line_amps_peak) {
      Add("peak_amps", absl::StrFormat("%.4g A rms", *plate.line_amps_rms),
          absl::StrFormat("%.4g A rms", *plate.line_amps_rms / std::sqrt(2.0)))[kAmps] = -std::log(2.0) / 2;
    }
    if (const std::optional<double> amps = PlateLineAmpsRms(plate); amps && !star) {
      Add("phase_amps", absl::StrFormat("%.4g A", *amps),
          absl::StrFormat("%.4g A in the line", *amps * std::exp(kLnRoot3)))[kAmps] = kLnRoot3;
    }
    Add(star ? "delta_as_star" : "star_as_delta", star ? "star" : "delta", star ? "delta" : "star")[kDelta] =
        star ? 1 : -1;
    if (record_.kind != MachineKind::kPermanentMagnet) return;
    const std::optional<double> ke =
        record_.measured_ke_ll_rms_v_per_krpm ? record_.measured_ke_ll_rms_v_per_krpm : plate.ke_ll_rms_v_per_krpm;
    if (!ke) return;
    const auto constant = [&](const char* name, double ln) {
      constexpr absl::string_view kUnit = "V line to line rms per 1000 rpm";
      Add(name, absl::StrFormat("%.4g %s", *ke, kUnit),
          absl::StrFormat("%.4g %s", *ke * std::exp(ln), kUnit))[kVoltsConstant] = ln;
    };
    constant("phase_volts_constant", kLnRoot3);
    constant("peak_volts_constant", -std::log(2.0) / 2);
  }

  void Readings() {
    const bool star = record_.winding.connection == electric::Connection::kStar;
    if (record_.resistance) {
      const MeasuredResistance& read = *record_.resistance;
      const auto ohms = [&](const char* name, double factor) {
        Add(name, absl::StrFormat("%.4g ohm", read.line_to_line_ohms[0]),
            absl::StrFormat("%.4g ohm", factor * read.line_to_line_ohms[0]))[kOhms] = std::log(factor);
      };
      ohms("phase_ohms", star ? 2 : 2.0 / 3);
      ohms("two_leads_tied", 4.0 / 3);
      // Straight from work a winding is 15 to 60 K warmer than the room.
      constexpr double kWarmer = 35, kSigmaKelvin = 14;
      const double known = read.celsius_uncertainty <= 1 ? 0.4 : read.celsius_uncertainty >= 3 ? 1.5 : 1;
      Add("hot_as_cold", absl::StrFormat("%.4g C", read.winding_celsius),
          "the winding's own temperature, 15 to 60 K more", known)[kKelvin] =
          std::log1p(kWarmer / KelvinAt(record_, settings_, read.winding_celsius));
      slips_.back().resistance_sigma = kSigmaKelvin / KelvinAt(record_, settings_, read.winding_celsius + kWarmer);
    }
    Fahrenheit();
    const standards::Metal metal = record_.winding.metal;
    const standards::Metal other =
        metal == standards::Metal::kCopper ? standards::Metal::kAluminium : standards::Metal::kCopper;
    const bool copper = metal == standards::Metal::kCopper;
    Shift& shift = Add(copper ? "aluminium_as_copper" : "copper_as_aluminium", copper ? "copper" : "aluminium",
                       copper ? "aluminium" : "copper");
    const auto rho = [](standards::Metal m) {
      return standards::ResistivityOhmMm2PerM(standards::Resistivity::kIecWindingWire, m).nominal;
    };
    shift[kResistivity] = std::log(rho(other) / rho(metal));
    shift[kDensity] = std::log(standards::DensityKgPerM3(other) / standards::DensityKgPerM3(metal));
    if (!record_.mass || record_.mass->basis != MassBasis::kBare) return;
    double bare = 0, coated = 0;
    for (const RecordedStrand& s : record_.winding.strands) {
      bare += s.wires_in_hand * wire::BareKgPerKm(s.wire, metal);
      coated += s.wires_in_hand * wire::CoatedKgPerKm(s.wire, metal);
    }
    if (coated <= bare) return;
    Add("film_on_the_scale", "bare", "film coated")[kKg] = std::log(bare / coated);
    Add("resin_on_the_scale", "bare", "with resin")[kKg] = std::log(bare / coated / kResinRatio);
    slips_.back().mass_sigma = kResinSigma;
  }

  // A winding as warm as a workshop in degrees Fahrenheit, far above the air where that was written down, and said to
  // have stood in it for hours.
  void Fahrenheit() {
    if (!record_.resistance) return;
    const double read = record_.resistance->winding_celsius, truly = (read - 32) * 5 / 9;
    constexpr double kColdest = 8, kWarmest = 40, kNearTheAir = 6, kLeftWarm = 15;
    if (truly < kColdest || truly > kWarmest) return;
    double share = 1;
    if (record_.air_celsius) {
      const bool soaked = record_.resistance->celsius_uncertainty <= 1;
      share = std::abs(truly - *record_.air_celsius) < kNearTheAir ? 3 : 0.2;
      if (soaked && read - *record_.air_celsius > kLeftWarm) share *= 3;
    }
    Add("fahrenheit_as_celsius", absl::StrFormat("%.4g C", read), absl::StrFormat("%.3g C (%.4g F)", truly, read),
        share)[kKelvin] = std::log(KelvinAt(record_, settings_, truly) / KelvinAt(record_, settings_, read));
  }

  const Record& record_;
  const Original& original_;
  const Settings& settings_;
  std::vector<Slip> slips_;
};

}  // namespace

const SlipRow& RowOf(const std::string& slip) { return Rows().at(slip); }

std::vector<standards::FieldError> ContradictionsBesideSpeed(const Record& record) {
  std::vector<standards::FieldError> errors = Contradictions(record);
  errors.erase(std::remove_if(errors.begin(), errors.end(),
                              [](const standards::FieldError& e) { return e.field == "machine.nameplate.speed_rpm"; }),
               errors.end());
  return errors;
}

std::vector<Slip> SlipsOf(const Record& record, const Original& original, const Settings& settings) {
  std::vector<Slip> slips = Slips(record, original, settings).All();
  for (Slip& slip : slips) {
    slip.effect = EffectOf(slip.shift, record.kind, record.winding.mean_turn_m.has_value());
  }
  return slips;
}

}  // namespace coilwright::plan
