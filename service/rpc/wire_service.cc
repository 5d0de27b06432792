#include <cmath>

#include "absl/strings/str_format.h"
#include "plan/wires.h"
#include "rpc/methods.h"
#include "rpc/paging.h"
#include "rpc/read_record.h"
#include "rpc/write.h"
#include "rpc/write_plan.h"
#include "slot/slot.h"
#include "standards/rule_ids.h"
#include "wire/identify.h"
#include "wire/strands.h"

namespace coilwright::rpc {
namespace {

using Errors = std::vector<standards::FieldError>;

absl::Status ListedWires(std::vector<wire::Wire> wires, const v1::ListWiresRequest& request,
                         v1::ListWiresResponse* response) {
  const absl::StatusOr<Page> page = PageOf(static_cast<int>(wires.size()), request.page_size(), request.page_token());
  if (!page.ok()) return page.status();
  for (int i = page->begin; i < page->end; ++i) {
    absl::Status written = Write(wires[static_cast<size_t>(i)], standards::Metal::kCopper,
                                 standards::ConductorPreset::kIec60034, 20.0, response->add_wires());
    if (!written.ok()) return written;
  }
  response->set_next_page_token(page->next_token);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace

absl::Status LookUpWire(const v1::LookUpWireRequest& request, v1::LookUpWireResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const double celsius = reader.Celsius("temperature").value_or(20.0);
  const auto metal = reader.Enum<standards::Metal>("metal").value_or(standards::Metal::kCopper);
  const auto preset =
      reader.Enum<standards::ConductorPreset>("conductor_preset").value_or(standards::ConductorPreset::kIec60034);
  // A size that the series does not have is "not found", not a malformed request.
  if (request.wire().has_designation()) {
    const absl::StatusOr<wire::Wire> parsed = wire::Parse(request.wire().designation());
    if (absl::IsNotFound(parsed.status()) && errors.empty()) return parsed.status();
  }
  const std::optional<wire::Wire> wire = ReadWire(reader, "wire");
  if (!errors.empty()) return standards::InvalidFields(errors);
  if (absl::Status status = Write(*wire, metal, preset, celsius, response->mutable_wire()); !status.ok()) return status;
  if (wire->tabulated) {
    if (const auto thicker = wire::Neighbour(*wire, -1); thicker.ok()) {
      if (absl::Status status = Write(*thicker, metal, preset, celsius, response->mutable_next_thicker()); !status.ok())
        return status;
    }
    if (const auto thinner = wire::Neighbour(*wire, 1); thinner.ok()) {
      if (absl::Status status = Write(*thinner, metal, preset, celsius, response->mutable_next_thinner()); !status.ok())
        return status;
    }
  }
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

absl::Status ListWires(const v1::ListWiresRequest& request, v1::ListWiresResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const auto system = reader.Enum<standards::WireSystem>("system");
  if (!system) reader.Missing("system", reader.EnumChoices("system"));
  if (!errors.empty()) return standards::InvalidFields(errors);
  const standards::Film film = reader.Enum<standards::Film>("film").value_or(
      *system == standards::WireSystem::kAwg ? standards::Film::kHeavy : standards::Film::kGrade2);
  std::vector<wire::Wire> wires = wire::Catalogue(*system, film);
  if (wires.empty()) {
    return standards::InvalidField("film", standards::FilmName(film),
                                   absl::StrCat("a film that ", standards::SystemName(*system), " is made with"));
  }
  return ListedWires(std::move(wires), request, response);
}

absl::Status IdentifyWire(const v1::IdentifyWireRequest& request, v1::IdentifyWireResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  wire::MicrometerReadings readings;
  readings.over_film = request.over_film();
  // Each() hands out the Length messages; their own field is the reading.
  const int count = request.diameters_size();
  if (count == 0) reader.Missing("diameters", "one or more micrometer readings, 0.01 mm to 12 mm");
  if (count > 100) reader.Wrong("diameters", absl::StrCat(count, " readings"), "at most 100");
  for (int i = 0; i < std::min(count, 100); ++i) {
    v1::WireSize carrier;
    *carrier.mutable_bare_diameter() = request.diameters(i);
    Errors wrong;
    const std::optional<double> mm = Reader(carrier, "", &wrong).Mm("bare_diameter", {0.01, 12, "mm"});
    const std::string field = absl::StrCat("diameters[", i, "]");
    if (mm) {
      readings.diameters_mm.push_back(*mm);
    } else {
      reader.Wrong(field, wrong.empty() ? "nothing" : wrong[0].given, "0.01 mm to 12 mm");
    }
  }
  readings.uncertainty_mm = reader.Mm("uncertainty", {0.0001, 1, "mm"}).value_or(readings.uncertainty_mm);
  if (request.most() < 0 || request.most() > 50) reader.Wrong("most", absl::StrCat(request.most()), "0 (for 10) to 50");
  if (!errors.empty()) return standards::InvalidFields(errors);

  const absl::StatusOr<wire::Identification> found =
      wire::Identify(readings, request.most() == 0 ? 10 : request.most());
  if (!found.ok()) return found.status();
  response->set_mean_mm(found->mean_mm);
  response->set_spread_mm(found->spread_mm);
  for (const wire::Candidate& candidate : found->candidates) {
    v1::WireCandidate* out = response->add_candidates();
    absl::Status written = Write(candidate.wire, standards::Metal::kCopper, standards::ConductorPreset::kIec60034, 20.0,
                                 out->mutable_wire());
    if (!written.ok()) return written;
    out->set_expected_mm(candidate.expected_mm);
    out->set_deviation_mm(candidate.deviation_mm);
    out->set_probability(candidate.probability);
    out->set_within_limits(candidate.within_limits);
    out->set_group(candidate.group);
  }
  response->set_decided(found->decided);
  if (found->candidates.empty()) {
    response->set_advice(
        "No tabulated wire lies near: measure again at a straight piece, and say whether the film was on.");
  } else if (!found->decided) {
    response->set_advice(
        readings.over_film
            ? "Burn or dissolve the film off and measure the bare wire: the films overlap."
            : "These sizes cannot be told apart by this micrometer: weigh or measure the resistance of a "
              "known length, or ask which series the maker used.");
  }
  WriteRules(found->rules, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

absl::Status ChooseStrands(const v1::ChooseStrandsRequest& request, v1::ChooseStrandsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  std::optional<double> target_mm2 = reader.Mm2("target_area", {1e-5, 1000, "mm2"});
  if (request.has_original()) {
    const std::vector<plan::RecordedStrand> original = ReadStrands(reader.At("original"), "strands");
    double area = 0;
    for (const plan::RecordedStrand& strand : original) area += strand.wires_in_hand * strand.wire.area_mm2;
    if (area > 0) target_mm2 = area;
  }
  if (!target_mm2 && errors.empty())
    reader.Missing("target_area", "the conductor area of the original, or original with its wires");
  const plan::WireChoice choice = plan::WithDefaultWires(ReadWireChoice(reader.At("choice")));
  wire::StrandSearch search = plan::SearchOf(choice);
  search.target_area_mm2 = target_mm2.value_or(1.0);
  search.slot_net_area_mm2 = reader.Number("slot_net_area_mm2", {0, 1e5, "mm2", true}).value_or(0.0);
  search.turns_in_slot = reader.Count("turns_in_slot", 1, 20000).value_or(0);
  if (request.has_slot_net_area_mm2() != request.has_turns_in_slot() && errors.empty()) {
    reader.Missing(request.has_turns_in_slot() ? "slot_net_area_mm2" : "turns_in_slot",
                   "both, so that the fill is known, or neither");
  }
  const std::optional<double> opening_mm = reader.Mm("slot_opening", {0, 100, "mm", true});
  const double liner_mm = reader.Mm("liner_thickness", {0, 5, "mm"}).value_or(0.0);
  if (opening_mm)
    search.greatest_overall_mm = slot::GreatestWireThroughOpeningMm(*opening_mm, liner_mm, choice.opening_clearance_mm);
  if (const auto mm = reader.Mm("length_per_strand", {0, 1e9, "mm"})) search.length_per_strand_m = *mm / 1000.0;
  if (!errors.empty()) return standards::InvalidFields(errors);

  const absl::StatusOr<wire::StrandAnswer> answer = wire::ChooseStrands(search);
  if (!answer.ok()) return answer.status();
  response->set_target_area_mm2(search.target_area_mm2);
  for (const wire::StrandChoice& found : answer->choices) {
    v1::StrandChoice* out = response->add_choices();
    std::vector<plan::RecordedStrand> strands;
    for (const wire::Strand& strand : found.strands) {
      strands.push_back({search.wires[static_cast<size_t>(strand.index)].wire, strand.count});
    }
    WriteStrands(strands, found.area_error_ratio, out);
    if (search.slot_net_area_mm2 > 0) out->set_fullness_ratio(found.fullness_ratio);
    if (found.above_hexagonal) out->add_warnings(Str(plan::AboveHexagonalWarning()));
  }
  for (std::string& text : plan::LeftOut(search, *answer)) response->add_left_out(std::move(text));
  WriteRule(rules::wire_strand_ranking, {}, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
