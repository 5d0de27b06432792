#include "bench/made_windings.h"

#include <array>
#include <cmath>
#include <iterator>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "rpc/archive_entries.h"

namespace coilwright::bench {
namespace {

constexpr int64_t kFirstMicros = 1451606400000000;  // 2016-01-01
constexpr int64_t kMicrosBetween = 300000000;

constexpr const char* kPlaces[] = {"line 1",     "line 2",  "line 3",      "boiler house", "cold store", "quay",
                                   "smoke room", "packing", "glass line",  "workshop",     "yard",       "kitchen",
                                   "loading",    "roof",    "retort hall", "laboratory"};
constexpr const char* kMachines[] = {"pump",        "fan",        "conveyor",     "retort pump",     "seamer head",
                                     "mixer",       "compressor", "feed pump",    "filler",          "capper",
                                     "labeller",    "hoist",      "evaporator",   "vacuum pump",     "palletiser axis",
                                     "tray sealer", "agitator",   "screw feeder", "circulation fan", "slicer spindle",
                                     "ice crusher", "can washer", "lid feeder",   "coder",           "centrifuge"};
constexpr const char* kWords[] = {
    "burnt",   "coil",   "phase", "counted", "slot",   "shorted", "bearing", "damp",    "rewound",  "original",
    "varnish", "lead",   "end",   "black",   "two",    "turns",   "card",    "wire",    "film",     "measured",
    "teeth",   "rubbed", "rotor", "star",    "delta",  "before",  "after",   "group",   "joint",    "sleeve",
    "wedge",   "liner",  "resin", "baked",   "opened", "traced",  "drive",   "tripped", "overload", "water"};

struct Frame {
  const char* text;
  double bore_mm, outer_mm, stack_mm, kw;
};
constexpr Frame kFrames[] = {
    {"90 L", 84, 140, 110, 1.5},   {"100 L", 98, 160, 120, 3},     {"80", 71, 120, 80, 0.75},
    {"112 M", 108, 176, 130, 4},   {"132 S", 122, 200, 125, 5.5},  {"132 M", 128, 210, 165, 7.5},
    {"71", 64, 110, 70, 0.37},     {"160 M", 152, 250, 170, 11},   {"160 L", 152, 250, 210, 15},
    {"63", 54, 96, 60, 0.18},      {"180 M", 172, 283, 190, 18.5}, {"200 L", 195, 320, 220, 30},
    {"225 M", 215, 355, 235, 45},  {"250 M", 245, 400, 250, 55},   {"280 S", 285, 445, 270, 75},
    {"315 M", 320, 510, 330, 132}, {"56", 46, 84, 50, 0.09}};
constexpr Frame kServos[] = {{"70", 40, 68, 45, 0.75}, {"105", 60, 104, 60, 1.4}, {"130", 90, 128, 65, 2.5},
                             {"60", 35, 58, 50, 0.4},  {"42", 28, 41, 35, 0.1},   {"180", 120, 178, 110, 7}};
constexpr double kVolts[] = {400, 230, 460, 380, 480, 690, 415, 200, 575, 500};
constexpr double kWireMm[] = {0.5, 0.63, 0.71, 0.8, 0.9, 1, 0.56, 0.45, 1.12};

// "Toralvi", "Besku": a word for every number.
std::string Spelt(uint64_t number, bool capital) {
  constexpr const char* kSyllables[] = {"ba", "des", "fi",  "gor", "hal", "ku",  "lem", "mar", "nos", "pel",
                                        "ri", "sku", "tor", "ul",  "ven", "wis", "yan", "zo",  "bri", "cal"};
  std::string word;
  for (int i = 0; i < 2 || number > 0; ++i) {
    word += kSyllables[number % std::size(kSyllables)];
    number /= std::size(kSyllables);
  }
  if (capital) word[0] = static_cast<char>(word[0] - 'a' + 'A');
  return word;
}

double Rounded(double value, double step) { return std::round(value / step) * step; }

void FillMachine(Draw& draw, int64_t number, v1::Machine* machine) {
  const bool servo = draw.Chance(0.3);
  const Frame& frame = servo ? kServos[draw.Ranked(std::size(kServos))] : kFrames[draw.Ranked(std::size(kFrames))];
  machine->set_kind(servo ? v1::MACHINE_KIND_PERMANENT_MAGNET : v1::MACHINE_KIND_INDUCTION);
  v1::Nameplate* plate = machine->mutable_nameplate();
  const int maker = draw.Ranked(400);
  plate->set_maker_text(absl::StrCat(Spelt(static_cast<uint64_t>(maker), true), maker % 3 == 0 ? " Motors" : " Works"));
  plate->set_model_text(
      absl::StrCat(Spelt(static_cast<uint64_t>(maker), true).substr(0, 2), " ", frame.text, "-", draw.Ranked(40)));
  plate->set_serial_text(absl::StrFormat("%02d-%07d", draw.Below(100), number));
  plate->set_frame_text(frame.text);
  plate->set_rated_volts(kVolts[draw.Ranked(std::size(kVolts))]);
  const int poles = servo ? 6 + 2 * draw.Ranked(4) : std::array{4, 2, 6, 8}[static_cast<size_t>(draw.Ranked(4))];
  plate->set_poles(poles);
  plate->mutable_rated_power()->set_kw(frame.kw *
                                       std::array{1.0, 0.75, 1.33, 0.5}[static_cast<size_t>(draw.Ranked(4))]);
  plate->set_line_amps_rms(
      Rounded(plate->rated_power().kw() * draw.Within(1.4, 2.2) * 400 / plate->rated_volts(), 0.1));
  if (servo) {
    plate->set_speed_rpm(1000 + 500 * draw.Below(9));
    plate->set_drive_fed(true);
  } else {
    plate->set_frequency_hz(draw.Chance(0.75) ? 50 : 60);
    plate->set_speed_rpm(Rounded(120 * plate->frequency_hz() / poles * draw.Within(0.94, 0.985), 5));
  }
  plate->set_thermal_class(draw.Chance(0.7) ? "F" : "B");
  plate->set_built_year(1970 + draw.Below(55));
  v1::Core* core = machine->mutable_core();
  core->set_slots(servo ? std::array{12, 9, 18, 24, 36}[static_cast<size_t>(draw.Ranked(5))]
                        : std::array{36, 24, 48, 54, 72, 60}[static_cast<size_t>(draw.Ranked(6))]);
  core->mutable_bore_diameter()->set_mm(Rounded(frame.bore_mm * draw.Within(0.95, 1.05), 0.5));
  core->mutable_outer_diameter()->set_mm(Rounded(frame.outer_mm * draw.Within(0.98, 1.02), 0.5));
  core->mutable_stack_length()->set_mm(Rounded(frame.stack_mm * draw.Within(0.7, 1.3), 1));
  core->mutable_tooth_width()->set_mm(Rounded(1.6 * frame.bore_mm / core->slots(), 0.1));
  v1::Slot* slot = machine->mutable_slot();
  slot->mutable_shape()->mutable_parallel_tooth()->mutable_depth()->set_mm(Rounded(0.16 * frame.bore_mm + 4, 0.5));
  slot->mutable_opening_width()->set_mm(2.6);
  slot->mutable_liner_thickness()->set_mm(0.25);
  machine->set_construction(servo ? v1::CONSTRUCTION_NEEDLE_WOUND : v1::CONSTRUCTION_HAND_INSERTED);
}

void FillWinding(Draw& draw, bool servo, v1::WindingRecord* record) {
  v1::Winding* winding = record->mutable_winding();
  winding->set_coil_form(servo ? v1::COIL_FORM_TOOTH_COIL : v1::COIL_FORM_LAP);
  winding->set_layers(v1::LAYERS_DOUBLE);
  winding->set_coil_pitch_slots(servo ? 1 : 8);
  winding->set_turns_per_coil(8 + draw.Below(60));
  winding->set_parallel_circuits(1 + draw.Ranked(2));
  winding->set_connection(draw.Chance(0.7) ? v1::CONNECTION_STAR : v1::CONNECTION_DELTA);
  for (int i = draw.Chance(0.2) ? 2 : 1; i > 0; --i) {
    v1::Strand* strand = winding->add_strands();
    strand->mutable_wire()->set_designation(
        absl::StrFormat("%.2f mm grade 2", kWireMm[draw.Below(std::size(kWireMm))]));
    strand->set_wires_in_hand(1 + draw.Ranked(5));
  }
  v1::LineToLineResistance* resistance = record->mutable_measured()->mutable_resistance();
  const double ohms = std::exp(draw.Within(-2, 3));
  resistance->set_u_v_ohms(ohms * draw.Within(0.997, 1.003));
  resistance->set_v_w_ohms(ohms * draw.Within(0.997, 1.003));
  resistance->set_w_u_ohms(ohms * draw.Within(0.997, 1.003));
  resistance->mutable_winding_temperature()->set_celsius(Rounded(draw.Within(14, 30), 0.5));
  resistance->set_temperature_evidence(v1::TEMPERATURE_EVIDENCE_SOAKED);
  if (draw.Chance(0.6)) {
    record->mutable_measured()->mutable_mass()->mutable_mass()->set_kg(Rounded(draw.Within(0.3, 20), 0.01));
    record->mutable_measured()->mutable_mass()->set_basis(v1::MASS_BASIS_BARE);
  }
  v1::FieldEvidence* counted = record->add_evidence();
  counted->set_field("winding.turns_per_coil");
  counted->set_evidence(v1::EVIDENCE_COUNTED);
  for (int i = draw.Below(4); i > 0; --i) counted->add_repeats(winding->turns_per_coil());
}

// Common words of the trade, and one in ten of the many that stand in few notes.
std::string Note(Draw& draw) {
  std::string note;
  for (int words = draw.Ranked(60); words > 0; --words) {
    absl::StrAppend(&note, note.empty() ? "" : " ",
                    draw.Chance(0.1) ? Spelt(1000 + static_cast<uint64_t>(draw.Ranked(20000)), false)
                                     : kWords[draw.Ranked(std::size(kWords))]);
  }
  return note;
}

void FillCheck(Draw& draw, v1::RecordCheck* check) {
  constexpr const char* kWhat[] = {"line-to-line resistance",
                                   "copper mass",
                                   "air-gap flux density, peak",
                                   "tooth flux density",
                                   "back-iron flux density",
                                   "current density",
                                   "slot fullness"};
  check->set_moment(v1::CHECK_MOMENT_STRIPPED);
  check->set_verdict(draw.Chance(0.93) ? v1::CHECK_VERDICT_SOUND : v1::CHECK_VERDICT_EXPLAINED);
  check->set_summary("The record explains what was measured.");
  for (const char* what : kWhat) {
    v1::Agreement* agreement = check->add_agreements();
    agreement->set_what(what);
    agreement->set_found(draw.Within(0.5, 5));
    agreement->mutable_expected()->set_low(0.4);
    agreement->mutable_expected()->set_nominal(2);
    agreement->mutable_expected()->set_high(6);
    agreement->set_sigmas(draw.Within(-2, 2));
    agreement->set_rule("check.resistance");
  }
}

}  // namespace

// SplitMix64 (Steele, Lea and Flood 2014).
uint64_t Draw::Bits() {
  uint64_t z = state_ += 0x9e3779b97f4a7c15;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9;
  z = (z ^ (z >> 27)) * 0x94d049bb133111eb;
  return z ^ (z >> 31);
}

double Draw::Within(double low, double high) {
  return low + (high - low) * static_cast<double>(Bits() >> 11) * 0x1p-53;
}

int Draw::Ranked(int count) { return static_cast<int>(std::pow(count + 1.0, Within(0, 1))) - 1; }

std::string MadeName(int64_t number) { return absl::StrFormat("windings/m%07d", number); }

v1::ArchivedWinding MadeWinding(uint64_t seed, int64_t number) {
  Draw draw(seed * 0x100000001b3 + static_cast<uint64_t>(number));
  v1::ArchivedWinding winding;
  v1::WindingRecord* record = winding.mutable_record();
  record->set_title(absl::StrCat("Harbour Lane cannery, ", kPlaces[draw.Ranked(std::size(kPlaces))], ", ",
                                 kMachines[draw.Ranked(std::size(kMachines))], " ", 1 + draw.Ranked(12)));
  FillMachine(draw, number, record->mutable_machine());
  FillWinding(draw, record->machine().kind() == v1::MACHINE_KIND_PERMANENT_MAGNET, record);
  record->set_note(Note(draw));
  FillCheck(draw, winding.mutable_check());
  winding.mutable_revision()->set_recorded_by(draw.Chance(0.5) ? "Mara Quist" : "Jory Vell");
  return winding;
}

archive::NewEntry MadeEntry(uint64_t seed, int64_t number) {
  archive::NewEntry entry = rpc::NewEntryOf(MadeName(number), MadeWinding(seed, number));
  entry.entry.create_micros = entry.entry.recorded_micros = kFirstMicros + number * kMicrosBetween;
  return entry;
}

}  // namespace coilwright::bench
