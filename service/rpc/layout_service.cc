#include <algorithm>
#include <numeric>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
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
  return pattern.Need("poles", pattern.Count("poles", 2, 120), "2 to 120, even: poles, not pole pairs", 4);
}
winding::MachineEnd ReadEnd(const Reader& pattern) {
  return pattern.Enum<winding::MachineEnd>("connection_end").value_or(winding::MachineEnd::kNonDrive);
}

winding::Placement ReadPattern(const Reader& pattern) {
  winding::Placement read;
  read.pattern.slots = ReadSlots(pattern);
  read.pattern.poles = ReadPoles(pattern);
  const std::optional<winding::CoilForm> form = pattern.Enum<winding::CoilForm>("coil_form");
  std::optional<int> pitch = pattern.Count("coil_pitch_slots", 1, 719);
  if (!pitch && form == winding::CoilForm::kToothCoil && !pattern.Has("coil_pitch_slots")) pitch = 1;
  read.pattern.coil_pitch =
      pattern.Need("coil_pitch_slots", pitch, "slots spanned, 1 to slots - 1: throw 1-6 is pitch 5", 1);
  read.pattern.form =
      form.value_or(read.pattern.coil_pitch == 1 ? winding::CoilForm::kToothCoil : winding::CoilForm::kLap);
  read.pattern.layers = pattern.Enum<winding::Layers>("layers").value_or(
      read.pattern.form == winding::CoilForm::kChain ? winding::Layers::kSingle : winding::Layers::kDouble);
  read.first_slot = pattern.Count("first_slot", 1, 720).value_or(1);
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

// A layout, or nothing with errors; a pattern that does not balance is an error of the slots.
absl::StatusOr<winding::Layout> ReadLayout(const Reader& layout, Errors* errors) {
  const Reader pattern = layout.At("pattern");
  const size_t before = errors->size();
  std::vector<winding::Coil> coils = ReadCoils(layout);
  if (coils.empty() && errors->size() == before) {
    const winding::Placement placement = ReadPattern(pattern);
    if (errors->size() > before) return absl::CancelledError();
    absl::StatusOr<winding::Layout> laid = winding::LaidOut(placement);
    if (!laid.ok()) return InTheWordsOfTheContract(laid.status(), layout.PathOf("pattern"));
    return laid;
  }
  const int slots = ReadSlots(pattern), poles = ReadPoles(pattern);
  if (errors->size() > before) return absl::CancelledError();
  absl::StatusOr<winding::Layout> traced = winding::Traced(slots, poles, ReadEnd(pattern), std::move(coils));
  if (traced.ok()) return traced;
  Errors wrong = standards::FieldErrorsOf(traced.status());
  for (standards::FieldError& error : wrong) {
    error.field =
        layout.PathOf(absl::StartsWith(error.field, "coils") ? error.field : absl::StrCat("pattern.", error.field));
  }
  return standards::InvalidFields(wrong);
}

void AddNotes(const winding::Field& field, v1::DescribeLayoutResponse* response) {
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
  const winding::Placement placement = ReadPattern(reader.At("layout"));
  const auto connection = reader.Enum<electric::Connection>("connection").value_or(electric::Connection::kStar);
  const int circuits = reader.Count("parallel_circuits", 1, 120).value_or(1);
  const int most_harmonic = reader.Count("most_harmonic", 1, 1000).value_or(13);
  const int most_order =
      reader.Count("most_order", 1, kMostOrder).value_or(placement.pattern.slots + placement.pattern.poles / 2);
  if (!errors.empty()) return standards::InvalidFields(errors);

  const absl::StatusOr<winding::Symmetry> symmetry = winding::CheckSymmetry(placement.pattern);
  if (!symmetry.ok()) return InTheWordsOfTheContract(symmetry.status(), "layout");
  Write(placement, response->mutable_layout());
  response->set_balanced(symmetry->balanced);
  response->set_reason(symmetry->reason);
  response->set_slots_per_pole_phase_numerator(symmetry->slots_per_pole_phase_num);
  response->set_slots_per_pole_phase_denominator(symmetry->slots_per_pole_phase_den);
  response->set_cogging_periods_per_rev(symmetry->cogging_periods_per_rev);
  WriteRules(symmetry->rules, response);
  response->set_data_revision(Str(standards::DataRevision()));
  if (!symmetry->balanced) {
    const winding::Neighbours near = winding::BalancedNeighbours(placement.pattern);
    for (const int slots : near.slots) response->mutable_neighbours()->add_slots(slots);
    for (const int poles : near.poles) response->mutable_neighbours()->add_poles(poles);
    for (const int pitch : near.pitches) response->mutable_neighbours()->add_coil_pitch_slots(pitch);
    return absl::OkStatus();
  }
  for (const int permitted : symmetry->permitted_circuits) response->add_permitted_circuits(permitted);

  const absl::StatusOr<winding::Layout> layout = winding::LaidOut(placement);
  if (!layout.ok()) return InTheWordsOfTheContract(layout.status(), "layout");
  const absl::StatusOr<winding::ConnectionList> list = winding::Connect(placement, *layout, connection, circuits);
  if (!list.ok()) return InTheWordsOfTheContract(list.status(), "layout");
  WriteCoils(*layout, *list, response);
  Write(*layout, *list, response->mutable_connections());
  WriteSlots(*layout, placement.pattern.form, response);
  const winding::Field field = winding::FieldOf(*layout);
  Write(field, response);
  std::vector<int> harmonics(static_cast<size_t>(most_harmonic));
  std::iota(harmonics.begin(), harmonics.end(), 1);
  const absl::StatusOr<std::vector<double>> factors = winding::WindingFactors(placement.pattern, harmonics);
  if (!factors.ok()) return factors.status();
  for (size_t i = 0; i < harmonics.size(); ++i) {
    v1::HarmonicFactor* factor = response->add_factors();
    factor->set_harmonic(harmonics[i]);
    factor->set_winding_factor((*factors)[i]);
  }
  for (const winding::Wave& wave : winding::WavesOf(*layout, most_order)) {
    v1::FieldWave* out = response->add_waves();
    out->set_order(wave.order);
    out->set_forward(wave.forward);
    out->set_winding_factor(wave.winding_factor);
    out->set_amplitude_ratio(wave.amplitude_ratio);
    out->set_speed_ratio(wave.speed_ratio);
  }
  AddNotes(field, response);
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
  for (const absl::string_view field : {"first", "second"}) {
    absl::StatusOr<winding::Layout> layout = ReadLayout(reader.At(field), &errors);
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
  Write(winding::CompareLayouts(layouts[0], layouts[1]), response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
