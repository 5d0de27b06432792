#include <algorithm>
#include <iterator>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "plan/nearest.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/kept_records.h"
#include "rpc/read_record.h"
#include "rpc/write.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Facts;

// Candidates are ranked by what the archive finds them by; so many times the answers asked for are then read whole and
// ranked by everything that is known.
constexpr size_t kReadWhole = 4;
constexpr int kMostAnswers = 20;

// Half-widths of the windows looked through, in units: narrow ones first, since a large archive holds more machines
// within the widest than are ranked at once.
constexpr double kWindows[] = {1, 3, 11};

// What a record reads as, and what stands in it for values that are missing.
struct Read {
  plan::Record record;
  std::vector<standards::FieldError> lacking;
};
Read ReadKept(const v1::WindingRecord& message) {
  Read read;
  std::vector<standards::FieldError> wrong;  // none: an archive keeps none
  read.record = ReadRecord(Reader(message, "", &wrong, &read.lacking), false);
  const v1::Nameplate& plate = message.machine().nameplate();
  if (!plate.has_rated_volts()) read.record.plate.rated_volts = 0;
  if (!plate.has_poles() && !plate.has_pole_pairs()) read.record.plate.poles = 0;
  return read;
}

plan::NearMachine NearMachineOf(const v1::Machine& machine, const plan::Record& record) {
  plan::NearMachine near = plan::NearMachineOf(record);
  if (machine.kind() == v1::MACHINE_KIND_UNSPECIFIED || machine.kind() > v1::MACHINE_KIND_INDUCTION)
    near.kind = std::nullopt;
  return near;
}

plan::NearMachine NearMachineOf(const Facts& facts) {
  plan::NearMachine near;
  if (facts.machine_kind == v1::MACHINE_KIND_PERMANENT_MAGNET) near.kind = plan::MachineKind::kPermanentMagnet;
  if (facts.machine_kind == v1::MACHINE_KIND_INDUCTION) near.kind = plan::MachineKind::kInduction;
  near.slots = facts.slots.value_or(0);
  near.poles = facts.poles;
  near.bore_mm = facts.bore_mm;
  near.outer_mm = facts.outer_mm;
  near.stack_length_mm = facts.stack_length_mm;
  near.rated_volts = facts.rated_volts;
  near.rated_kw = facts.rated_kw;
  near.speed_rpm = facts.speed_rpm;
  near.frequency_hz = facts.frequency_hz;
  return near;
}

// The nearest by what the archive finds them by, at most `most` names. The first window in which as many lie nearer
// than anything outside it is enough.
absl::StatusOr<std::vector<std::string>> Nearest(Archive& archive, const Facts& wanted_facts, size_t most) {
  const plan::NearMachine wanted = NearMachineOf(wanted_facts);
  std::set<std::pair<double, std::string>> ranked;
  for (const double units : kWindows) {
    const plan::CoreWindow window = plan::WindowOf(wanted, units);
    archive::Near near;
    near.slots = *wanted_facts.slots;
    near.machine_kind = wanted_facts.machine_kind;
    near.bore_mm = *wanted_facts.bore_mm;
    near.outer_mm = wanted_facts.outer_mm;
    near.stack_length_mm = wanted_facts.stack_length_mm;
    near.poles = wanted_facts.poles;
    near.bore_ratio = window.bore_ratio;
    near.outer_ratio = window.outer_ratio;
    near.stack_ratio = window.stack_ratio;
    const auto candidates = archive.Candidates(near);
    if (!candidates.ok()) return candidates.status();
    for (const Facts& facts : *candidates) {
      if (const auto nearness = plan::Distance(wanted, NearMachineOf(facts)))
        ranked.emplace(nearness->distance, facts.name);
    }
    if (ranked.size() >= most &&
        std::next(ranked.begin(), static_cast<std::ptrdiff_t>(most) - 1)->first <= window.least_outside)
      break;
  }
  std::vector<std::string> names;
  for (const auto& [distance, name] : ranked) {
    if (names.size() == most) break;
    names.push_back(name);
  }
  return names;
}

void WriteScaled(const Read& recorded, const plan::NearMachine& wanted, v1::NearWinding* out) {
  if (!recorded.lacking.empty()) {
    out->add_notes(absl::StrCat("Not scaled to this core: the record is not complete (", recorded.lacking[0].field,
                                recorded.lacking.size() > 1 ? " and more)." : ")."));
    return;
  }
  const plan::ScaledToTheCore scaled = plan::ScaledToCore(recorded.record, wanted);
  for (const std::string& note : scaled.notes) out->add_notes(note);
  if (!scaled.winding) return;
  const plan::ScaledWinding& winding = *scaled.winding;
  v1::ScaledWinding* to = out->mutable_scaled();
  to->set_exact_turns_per_coil(winding.exact_turns_per_coil);
  to->set_turns_per_coil(winding.turns_per_coil);
  if (winding.conductor_area_ratio) to->set_conductor_area_ratio(*winding.conductor_area_ratio);
  to->set_flux_ratio(winding.flux_ratio);
  to->set_connection(static_cast<v1::Connection>(static_cast<int>(winding.connection) + 1));
  to->set_parallel_circuits(winding.parallel_circuits);
  to->set_rated_volts(winding.rated_volts);
  WriteRules(winding.rules, to);
}

}  // namespace

absl::Status FindNearestWindings(Archive& archive, const v1::FindNearestWindingsRequest& request,
                                 v1::FindNearestWindingsResponse* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const Reader core = reader.At("machine").At("core");
  RefuseWrongValues(reader, "machine", request.machine());
  if (!core.Has("slots")) core.Missing("slots", "the slots of the stator, 3 to 720");
  const Facts wanted_facts = FactsOf(request.machine());
  if (!wanted_facts.bore_mm && !core.HasErrorAt("bore_diameter"))
    core.Missing("bore_diameter", "the bore of the stator, 1 mm to 5000 mm");
  if (request.machine().nameplate().poles() % 2 != 0) {
    reader.At("machine")
        .At("nameplate")
        .Wrong("poles", absl::StrCat(request.machine().nameplate().poles()), "an even number from 2 to 120");
  }
  if (wanted_facts.bore_mm && wanted_facts.outer_mm && *wanted_facts.outer_mm <= *wanted_facts.bore_mm) {
    core.Wrong("outer_diameter", absl::StrCat(*wanted_facts.outer_mm, " mm"),
               absl::StrCat("more than the bore of ", *wanted_facts.bore_mm, " mm"));
  }
  if (request.most() < 0) reader.Wrong("most", absl::StrCat(request.most()), "0 (for 5) to 20");
  if (!errors.empty()) return standards::InvalidFields(errors);

  v1::WindingRecord wanted_record;
  *wanted_record.mutable_machine() = request.machine();
  const plan::NearMachine wanted = NearMachineOf(request.machine(), ReadKept(wanted_record).record);
  const size_t most = request.most() == 0 ? 5 : static_cast<size_t>(std::min(request.most(), kMostAnswers));
  const auto names = Nearest(archive, wanted_facts, kReadWhole * most);
  if (!names.ok()) return names.status();
  struct Found {
    plan::Nearness nearness;
    v1::ArchivedWinding winding;
    Read read;
  };
  std::vector<Found> found;
  for (const std::string& name : *names) {
    const auto entry = archive.Get(name);
    if (absl::IsDataLoss(entry.status())) {
      response->add_cautions(absl::StrCat("Left out: ", entry.status().message()));
      continue;
    }
    if (!entry.ok()) return entry.status();
    Found one;
    if (absl::Status filled = Fill(*entry, &one.winding); !filled.ok()) return filled;
    one.read = ReadKept(one.winding.record());
    // Changed or deleted since it was found.
    auto nearness = plan::Distance(wanted, NearMachineOf(one.winding.record().machine(), one.read.record));
    if (!nearness || entry->deleted) continue;
    one.nearness = *std::move(nearness);
    found.push_back(std::move(one));
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Found& a, const Found& b) { return a.nearness.distance < b.nearness.distance; });
  if (found.size() > most) found.resize(most);
  for (const Found& one : found) {
    v1::NearWinding* out = response->add_windings();
    Write(one.winding, out->mutable_winding());
    out->set_distance(one.nearness.distance);
    for (const plan::NearDifference& difference : one.nearness.differences) {
      v1::NearDifference* to = out->add_differences();
      to->set_field(difference.field);
      to->set_wanted(difference.wanted);
      to->set_recorded(difference.recorded);
      if (difference.ratio) to->set_ratio(*difference.ratio);
    }
    if (one.winding.check().verdict() != v1::CHECK_VERDICT_SOUND)
      out->add_notes("The check does not find this record sound: look at it before anything is taken from it.");
    WriteScaled(one.read, wanted, out);
  }
  response->add_cautions(
      "A winding recorded of another machine is a hint, not a record of this one: count and measure what is left of "
      "the "
      "burnt winding, check the result with EstimateMissing and CheckRecord, and wind nothing from a near one alone.");
  WriteRules({rules::nearest_distance}, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
