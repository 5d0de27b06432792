#include <algorithm>
#include <numeric>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "rpc/methods.h"
#include "rpc/read_layout.h"
#include "rpc/write.h"
#include "rpc/write_layout.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

using Errors = std::vector<standards::FieldError>;

constexpr int kMostOrder = 10000;

// A layout, or nothing with errors; a pattern that does not balance is an error of the slots.
absl::StatusOr<winding::Layout> ReadLayout(const Reader& layout, Errors* errors) {
  const size_t before = errors->size();
  std::vector<winding::Coil> coils = ReadTracedCoils(layout);
  if (!coils.empty() || errors->size() > before) {
    return ReadTraced(layout, "pattern", std::move(coils), *errors, before);
  }
  const winding::Placement placement = ReadPlacement(layout.At("pattern"));
  if (errors->size() > before) return absl::CancelledError();
  absl::StatusOr<winding::Layout> laid = winding::LaidOut(placement);
  if (!laid.ok()) return InTheWordsOfTheContract(laid.status(), layout.PathOf("pattern"));
  return laid;
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
  const AskedLayout asked = ReadAskedLayout(reader, &errors);
  const auto ends = reader.Enum<winding::PhaseEnds>("connection").value_or(winding::PhaseEnds::kStar);
  const int circuits = reader.Count("parallel_circuits", 1, 120).value_or(1);
  const int most_harmonic = reader.Count("most_harmonic", 1, 1000).value_or(13);
  const std::optional<int> most_order = reader.Count("most_order", 1, kMostOrder);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const winding::Placement& placement = asked.placement;
  const bool is_traced = asked.traced.has_value();

  const absl::StatusOr<winding::Symmetry> symmetry = SymmetryOf(asked);
  if (!symmetry.ok()) return symmetry.status();
  is_traced ? Write(*asked.traced, response->mutable_layout()) : Write(placement, response->mutable_layout());
  Write(*symmetry, response);
  response->set_data_revision(Str(standards::DataRevision()));
  if (!symmetry->balanced) {
    if (!is_traced) Write(winding::BalancedNeighbours(placement.pattern), response->mutable_neighbours());
    return absl::OkStatus();
  }
  const absl::StatusOr<winding::Layout> layout = LayoutOf(asked);
  if (!layout.ok()) return layout.status();
  const absl::StatusOr<winding::ConnectionList> list = ConnectionsOf(asked, *layout, ends, circuits);
  if (!list.ok()) return list.status();
  WriteCoils(*layout, *list, response);
  Write(*layout, *list, response->mutable_connections());
  WriteSlots(*layout, FormOf(asked), response);
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
  if (!is_traced) AddNotesOfThePattern(placement, request.layout().has_coil_pitch_slots(), response);
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
