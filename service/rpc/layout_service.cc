#include <algorithm>
#include <numeric>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "rpc/methods.h"
#include "rpc/reader.h"
#include "rpc/write.h"
#include "rpc/write_layout.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

using Errors = std::vector<standards::FieldError>;

constexpr int kMostOrder = 10000;

// The engine names fields in its own words.
absl::Status InTheWordsOfTheContract(const absl::Status& status, absl::string_view pattern_path) {
  Errors errors = standards::FieldErrorsOf(status);
  if (errors.empty()) return status;
  for (standards::FieldError& error : errors) {
    if (error.field == "coil_pitch") error.field = "coil_pitch_slots";
    if (error.field == "form") error.field = "coil_form";
    error.field = error.field == "circuits" ? "parallel_circuits" : absl::StrCat(pattern_path, ".", error.field);
  }
  return standards::InvalidFields(errors);
}

int ReadSlots(const Reader& pattern) { return pattern.Need("slots", pattern.Count("slots", 3, 720), "3 to 720", 12); }
int ReadPoles(const Reader& pattern) {
  const std::optional<int> poles = pattern.Count("poles", 2, 120);
  if (poles && *poles % 2 != 0) {
    pattern.Wrong("poles", absl::StrCat(*poles, " poles"), "an even number; enter poles, not pole pairs");
  }
  return pattern.Need("poles", poles, "2 to 120, even: poles, not pole pairs", 4);
}
winding::MachineEnd ReadEnd(const Reader& pattern) {
  return pattern.Enum<winding::MachineEnd>("connection_end").value_or(winding::MachineEnd::kNonDrive);
}

// A pole pitch no nearer to two slots than to one leaves coils round one tooth: 9/6 and 12/8 as 12/10.
bool RoundOneTooth(int slots, int poles) { return 2 * slots <= 3 * poles; }

winding::Placement ReadPattern(const Reader& pattern) {
  winding::Placement read;
  const int slots = read.pattern.slots = ReadSlots(pattern);
  read.pattern.poles = ReadPoles(pattern);
  const int most_slots = pattern.Has("slots") && !pattern.HasErrorAt("slots") ? slots : 720;
  const std::optional<winding::CoilForm> form = pattern.Enum<winding::CoilForm>("coil_form");
  std::optional<int> pitch = pattern.Count("coil_pitch_slots", 1, most_slots - 1);
  if (!pattern.Has("coil_pitch_slots") &&
      (form == winding::CoilForm::kToothCoil || (!form && RoundOneTooth(slots, read.pattern.poles)))) {
    pitch = 1;
  }
  read.pattern.coil_pitch =
      pattern.Need("coil_pitch_slots", pitch, "slots spanned, 1 to slots - 1: throw 1-6 is pitch 5", 1);
  read.pattern.form =
      form.value_or(read.pattern.coil_pitch == 1 ? winding::CoilForm::kToothCoil : winding::CoilForm::kLap);
  read.pattern.layers = pattern.Enum<winding::Layers>("layers").value_or(
      read.pattern.form == winding::CoilForm::kChain ? winding::Layers::kSingle : winding::Layers::kDouble);
  read.first_slot = pattern.Count("first_slot", 1, most_slots).value_or(1);
  read.phase_order = pattern.Enum<winding::PhaseOrder>("phase_order").value_or(winding::PhaseOrder::kWithSlots);
  read.connection_end = ReadEnd(pattern);
  return read;
}

std::vector<winding::Coil> ReadCoils(const Reader& layout) {
  std::vector<winding::Coil> coils;
  for (const Reader& coil : layout.Each("coils", 720)) {
    const int phase = coil.Need("phase", coil.Enum<int>("phase"), coil.EnumChoices("phase"), 0);
    const int go_slot = coil.Need("go_slot", coil.Count("go_slot", 1, 720), "1 to slots", 1);
    coils.push_back({phase, go_slot, coil.Need("return_slot", coil.Count("return_slot", 1, 720), "1 to slots", 2), 1});
  }
  return coils;
}

// Coils as traced in the core that the field `pattern` beside them says; CANCELLED where reading has found errors since
// there were `before` of them.
absl::StatusOr<winding::Layout> ReadTraced(const Reader& holder, absl::string_view pattern,
                                           std::vector<winding::Coil> coils, const Errors& errors, size_t before) {
  const Reader core = holder.At(pattern);
  const int slots = ReadSlots(core), poles = ReadPoles(core);
  if (errors.size() > before) return absl::CancelledError();
  absl::StatusOr<winding::Layout> traced = winding::Traced(slots, poles, ReadEnd(core), std::move(coils));
  if (traced.ok()) return traced;
  Errors wrong = standards::FieldErrorsOf(traced.status());
  for (standards::FieldError& error : wrong) {
    error.field =
        holder.PathOf(absl::StartsWith(error.field, "coils") ? error.field : absl::StrCat(pattern, ".", error.field));
  }
  return standards::InvalidFields(wrong);
}

// A layout, or nothing with errors; a pattern that does not balance is an error of the slots.
absl::StatusOr<winding::Layout> ReadLayout(const Reader& layout, Errors* errors) {
  const size_t before = errors->size();
  std::vector<winding::Coil> coils = ReadCoils(layout);
  if (!coils.empty() || errors->size() > before) {
    return ReadTraced(layout, "pattern", std::move(coils), *errors, before);
  }
  const winding::Placement placement = ReadPattern(layout.At("pattern"));
  if (errors->size() > before) return absl::CancelledError();
  absl::StatusOr<winding::Layout> laid = winding::LaidOut(placement);
  if (!laid.ok()) return InTheWordsOfTheContract(laid.status(), layout.PathOf("pattern"));
  return laid;
}

// Tooth coils where every coil goes round one tooth; how longer coils lie in their slots a trace does not tell.
std::optional<winding::CoilForm> FormAsTraced(const winding::Layout& layout) {
  const bool round_teeth = std::all_of(layout.coils.begin(), layout.coils.end(), [&](const winding::Coil& coil) {
    return coil.return_slot == coil.go_slot % layout.slots + 1;
  });
  return round_teeth ? std::optional(winding::CoilForm::kToothCoil) : std::nullopt;
}

// What was taken for the shape of the coils, and what a winder would not expect of it.
void AddNotesOfThePattern(const winding::Placement& placement, bool pitch_given, v1::DescribeLayoutResponse* response) {
  const winding::Pattern& pattern = placement.pattern;
  if (!pitch_given) {
    response->add_notes(absl::StrFormat("No pitch was given: coils round one tooth, at a pole pitch of %.3g slots.",
                                        static_cast<double>(pattern.slots) / pattern.poles));
  }
  const bool alone = std::all_of(response->groups().begin(), response->groups().end(),
                                 [](const v1::LaidGroup& group) { return group.coils_size() == 1; });
  if (pattern.form == winding::CoilForm::kConcentric && alone) {
    response->add_notes(absl::StrCat(
        "Every group holds one coil here, so that none lies inside another: these are the equal coils of a ",
        pattern.layers == winding::Layers::kDouble ? "lap winding." : "winding in one layer."));
  }
  constexpr double kWeak = 0.5;
  if (const double factor = response->factors(0).winding_factor(); factor < kWeak) {
    response->add_notes(absl::StrFormat(
        "The factor of the working wave is only %.3f: most of the copper works against itself. Another pitch or form "
        "suits these slots and poles better.",
        factor));
  }
}

void AddNotes(const winding::Field& field, winding::PhaseEnds ends, v1::DescribeLayoutResponse* response) {
  if (ends == winding::PhaseEnds::kOpen) {
    response->add_notes(
        "Six leads: in star U2, V2 and W2 meet; in delta U1 meets W2, V1 meets U2 and W1 meets V2. U1, V1 and W1 are "
        "the lines.");
  }
  if (ends == winding::PhaseEnds::kDelta) {
    response->add_notes(
        "In delta the axis of a lead lies 30 electrical degrees from that of its coils, towards the next phase as "
        "joined here (U1 with W2); with U1 on V2 it lies 30 degrees to the other side. A drive aligned to the one does "
        "not run on the other, nor on a star.");
  }
  if (!field.clockwise_from_drive_end) {
    response->add_notes(
        "U-V-W turns counter-clockwise facing the shaft end, which is not what IEC 60034-8 has for U, V, W. A rewind "
        "keeps the order it was found with; otherwise lay the phases the other way round.");
  }
  if (!field.radial_pull_balanced) {
    response->add_notes("Load current pulls the rotor to one side even when it is centred: bearings carry it.");
  }
}

}  // namespace

absl::Status DescribeLayout(const v1::DescribeLayoutRequest& request, v1::DescribeLayoutResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  std::vector<winding::Coil> coils = ReadCoils(reader);
  const bool traced = !request.coils().empty();
  const auto ends = reader.Enum<winding::PhaseEnds>("connection").value_or(winding::PhaseEnds::kStar);
  const int circuits = reader.Count("parallel_circuits", 1, 120).value_or(1);
  const int most_harmonic = reader.Count("most_harmonic", 1, 1000).value_or(13);
  const std::optional<int> most_order = reader.Count("most_order", 1, kMostOrder);
  const winding::Placement placement = traced ? winding::Placement{} : ReadPattern(reader.At("layout"));
  absl::StatusOr<winding::Layout> layout = absl::CancelledError();
  if (traced) layout = ReadTraced(reader, "layout", std::move(coils), errors, 0);
  if (!errors.empty()) return standards::InvalidFields(errors);
  if (traced && !layout.ok()) return layout.status();
  if (traced) layout = winding::TurnedShortWay(*std::move(layout));

  const absl::StatusOr<winding::Symmetry> symmetry =
      traced ? winding::CheckTraced(*layout) : winding::CheckSymmetry(placement.pattern);
  if (!symmetry.ok()) return InTheWordsOfTheContract(symmetry.status(), "layout");
  traced ? Write(*layout, response->mutable_layout()) : Write(placement, response->mutable_layout());
  Write(*symmetry, response);
  response->set_data_revision(Str(standards::DataRevision()));
  if (!symmetry->balanced) {
    if (!traced) Write(winding::BalancedNeighbours(placement.pattern), response->mutable_neighbours());
    return absl::OkStatus();
  }
  if (!traced) layout = winding::LaidOut(placement);
  if (!layout.ok()) return InTheWordsOfTheContract(layout.status(), "layout");
  const absl::StatusOr<winding::ConnectionList> list =
      traced ? winding::ConnectTraced(*layout, ends, circuits) : winding::Connect(placement, *layout, ends, circuits);
  if (!list.ok()) return InTheWordsOfTheContract(list.status(), "layout");
  WriteCoils(*layout, *list, response);
  Write(*layout, *list, response->mutable_connections());
  WriteSlots(*layout, traced ? FormAsTraced(*layout) : placement.pattern.form, response);
  const winding::Field field = winding::FieldOf(*layout);
  Write(field, ends, response);
  std::vector<int> harmonics(static_cast<size_t>(most_harmonic));
  std::iota(harmonics.begin(), harmonics.end(), 1);
  const std::vector<double> factors = winding::FactorsOfCoils(layout->slots, layout->poles, layout->coils, harmonics);
  for (size_t i = 0; i < harmonics.size(); ++i) {
    v1::HarmonicFactor* factor = response->add_factors();
    factor->set_harmonic(harmonics[i]);
    factor->set_winding_factor(factors[i]);
  }
  Write(winding::WavesOf(*layout, most_order.value_or(layout->slots + layout->poles / 2)), response);
  if (!traced) AddNotesOfThePattern(placement, request.layout().has_coil_pitch_slots(), response);
  AddNotes(field, ends, response);
  if (ends == winding::PhaseEnds::kDelta) WriteRules({rules::winding_delta_axis}, response);
  WriteRules(list->rules, response);
  WriteRules(field.rules, response);
  WriteRules({rules::winding_factor, rules::winding_mmf_waves}, response);
  return absl::OkStatus();
}

absl::Status CompareLayouts(const v1::CompareLayoutsRequest& request, v1::CompareLayoutsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  std::vector<winding::Layout> layouts;
  absl::Status refused;
  std::vector<winding::PhaseEnds> ends;
  for (const absl::string_view field : {"first", "second"}) {
    absl::StatusOr<winding::Layout> layout = ReadLayout(reader.At(field), &errors);
    ends.push_back(reader.At(field).Enum<winding::PhaseEnds>("connection").value_or(winding::PhaseEnds::kStar));
    if (layout.ok()) {
      layouts.push_back(*std::move(layout));
      continue;
    }
    for (const standards::FieldError& error : standards::FieldErrorsOf(layout.status())) errors.push_back(error);
    if (layout.status().code() == absl::StatusCode::kFailedPrecondition && refused.ok()) {
      refused = absl::FailedPreconditionError(absl::StrCat("the ", field, " layout: ", layout.status().message()));
    }
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  if (!refused.ok()) return refused;
  Write(winding::CompareLayouts(layouts[0], layouts[1], ends[0], ends[1]), response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
