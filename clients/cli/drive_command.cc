#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "coilwright/v1/drive_stress_service.pb.h"
#include "command.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"

namespace coilwright::cli {
namespace {

std::string Volts(double volts) { return absl::StrCat(Figures(volts), " V"); }

std::string Us(double us) { return absl::StrCat(Figures(us, 3), " us"); }

// To three figures, up or down, so that what is printed keeps the limit when it is put back in.
double Outward(double value, double (*whole)(double)) {
  if (!(value > 0)) return value;
  const double unit = std::pow(10.0, std::floor(std::log10(value)) - 2);
  return whole(value / unit) * unit;
}

// "A", "beyond D": the letters of the standard.
std::string ClassText(v1::StressClass stress) {
  if (stress == v1::STRESS_CLASS_BEYOND_D) return "beyond D";
  return absl::AsciiStrToUpper(EnumText(stress));
}

std::string Range(const v1::Band& band, int figures = 3) {
  if (band.high() <= band.low()) return Figures(band.nominal(), figures);
  return absl::StrCat(Figures(band.low(), figures), " to ", Figures(band.high(), figures));
}

std::string SafeLength(const v1::DriveLimit& limit, const Units& units) {
  if (limit.any_length_safe()) return "any";
  return limit.has_safe_cable_metres()
             ? units.Text(Quantity::kLengthMetres, Outward(limit.safe_cable_metres().low(), std::floor))
             : "none";
}

std::string Need(const v1::ImpulseStress& stress) {
  return absl::StrCat(Figures(stress.volts_peak_to_peak()), " V peak to peak, ", Figures(stress.multiple_of_rated(), 3),
                      " x rated: needs class ", ClassText(stress.needs()));
}

std::string Print(const v1::AssessDriveStressResponse& answer, const Units& units) {
  Page page;
  page.Title(absl::StrCat(
      answer.has_bus_doubt() ? absl::StrCat("NOT CLEARED: ", answer.bus_doubt(), "; with the bus as it stands the ")
                             : "",
      "peak at the terminals: not more than ", Volts(answer.terminal_volts_peak()), " between two phases"));
  page.Blank();
  const bool mains = answer.has_mains_peak_volts();
  page.Facts(
      {{"DC bus", absl::StrCat(Range(answer.dc_bus_volts(), 4), " V")},
       {"mains alone",
        mains ? absl::StrCat(Volts(answer.mains_peak_volts()), " peak, ", Volts(answer.mains_loaded_volts()),
                             " loaded, ", Volts(answer.mains_high_line_volts()), " at high line")
              : ""},
       {"reflection at the motor", Range(answer.load_reflection(), 4)},
       {"wave on the cable", absl::StrCat(Range(answer.cable_velocity_metres_per_us(), 4), " m/us")},
       {"rise time",
        absl::StrCat(Us(answer.rise_time_10_90_us()), " 10 to 90 %, ", Us(answer.rise_time_0_100_us()), " 0 to 100 %")},
       {"fully doubled from", units.Text(Quantity::kLengthMetres, answer.critical_cable_metres())},
       {"overshoot",
        absl::StrCat(Figures(answer.overshoot_factor(), 4), " x bus: category ", ClassText(answer.stress()))},
       {"lossless cable, exact", absl::StrCat(Volts(answer.lattice_volts_peak()), ", ",
                                              Figures(answer.lattice_overshoot_factor(), 4), " x bus, for display")},
       {"phase to phase", Need(answer.phase_to_phase())},
       {"phase to ground", Need(answer.phase_to_ground())}});
  page.Heading("Limits, and what would keep them");
  Table table({{"limit", {}},
               {"peak V", Table::Align::kRight},
               {"peak", {}},
               {"rise time", {}},
               {"cable up to", Table::Align::kRight},
               {"or rise 10-90 from", Table::Align::kRight}});
  std::set<std::string> rules;
  for (const v1::DriveLimit& limit : answer.limits()) {
    table.Add({limit.title(), Figures(limit.limit_volts_peak()), limit.peak_within() ? "within" : "OVER",
               !limit.has_rise_time_within() ? ""
               : limit.rise_time_within()    ? "within"
                                             : absl::StrCat("under ", Us(limit.least_rise_time_10_90_us())),
               SafeLength(limit, units),
               limit.has_safe_rise_time_10_90_us() ? Us(Outward(limit.safe_rise_time_10_90_us(), std::ceil)) : "none"});
    rules.insert(limit.rule());
  }
  page.Add(table);
  page.Heading("What it means for the winding");
  page.List(answer.meaning());
  page.Heading("Notes");
  page.List(answer.notes());
  page.Heading("Cautions");
  page.List(answer.cautions(), "!");
  CollectRules(answer.rule_uses(), &rules);
  PrintRules(rules, answer.data_revision(), &page);
  return page.text();
}

absl::Status Assess(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 0, "flags only"); !words.ok()) return words;
  v1::AssessDriveStressRequest request;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::AssessDriveStressResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : Print(answer, session.units);
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> DriveCommands() {
  return {{"drive",
           "voltage stress of a winding on a drive",
           "--volts V --mains V|--bus V --cable LENGTH --rise-10-90 US",
           {{"volts", "V", "rated_volts", "rated voltage of the winding, line to line, rms"},
            {"mains", "V", "mains_volts", "mains of the drive, line to line, rms"},
            {"bus", "V", "dc_bus_volts", "highest DC bus, where it is known"},
            {"bus-basis", "BASIS", "bus_basis",
             "braking (default); for a drive that cannot brake: mains-high-line, mains-peak, mains-loaded"},
            {"cable", "LENGTH", "cable_length", "motor cable: 20m, 65ft"},
            {"rise-10-90", "US", "rise_time_10_90_us", "rise time of the drive, 10 to 90 %, or"},
            {"rise-0-100", "US", "rise_time_0_100_us", "the same as a straight ramp, start to end"},
            {"velocity", "M/US", "cable_velocity_metres_per_us", "of a wave on the cable (150)"},
            {"permittivity", "RATIO", "relative_permittivity", "of the cable's insulation, in its place"},
            {"z-cable", "OHMS", "cable_impedance_ohms", "surge impedance of the cable, with"},
            {"z-motor", "OHMS", "motor_impedance_ohms", "that of the motor, or"},
            {"reflection", "RATIO", "load_reflection", "at the motor (by its size)"},
            {"source-reflection", "RATIO", "source_reflection", "at the drive (-1), for the exact figure"},
            {"kw", "KW", "rated_power.kw", "power of the motor"},
            {"hp", "HP", "rated_power.hp", "the same in horsepower"},
            {"limit", "V", "own_limit_volts_peak", "a peak limit of your own"}},
           Assess}};
}

}  // namespace coilwright::cli
