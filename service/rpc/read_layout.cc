#include "rpc/read_layout.h"

#include <algorithm>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"

namespace coilwright::rpc {
namespace {

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

// Tooth coils where every coil goes round one tooth; how longer coils lie in their slots a trace does not tell.
std::optional<winding::CoilForm> FormAsTraced(const winding::Layout& layout) {
  const bool round_teeth = std::all_of(layout.coils.begin(), layout.coils.end(), [&](const winding::Coil& coil) {
    return coil.return_slot == coil.go_slot % layout.slots + 1;
  });
  return round_teeth ? std::optional(winding::CoilForm::kToothCoil) : std::nullopt;
}

}  // namespace

absl::Status InTheWordsOfTheContract(const absl::Status& status, absl::string_view pattern_path) {
  std::vector<standards::FieldError> errors = standards::FieldErrorsOf(status);
  if (errors.empty()) return status;
  for (standards::FieldError& error : errors) {
    if (error.field == "coil_pitch") error.field = "coil_pitch_slots";
    if (error.field == "form") error.field = "coil_form";
    error.field = error.field == "circuits" ? "parallel_circuits" : absl::StrCat(pattern_path, ".", error.field);
  }
  return standards::InvalidFields(errors);
}

void ReadPlace(const Reader& pattern, int slots, winding::Placement* placement) {
  placement->first_slot = pattern.Count("first_slot", 1, slots).value_or(1);
  placement->phase_order = pattern.Enum<winding::PhaseOrder>("phase_order").value_or(winding::PhaseOrder::kWithSlots);
  placement->connection_end = ReadEnd(pattern);
}

winding::Placement ReadPlacement(const Reader& pattern) {
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
  ReadPlace(pattern, most_slots, &read);
  return read;
}

std::vector<winding::Coil> ReadTracedCoils(const Reader& layout) {
  std::vector<winding::Coil> coils;
  for (const Reader& coil : layout.Each("coils", 720)) {
    const int phase = coil.Need("phase", coil.Enum<int>("phase"), coil.EnumChoices("phase"), 0);
    const int go_slot = coil.Need("go_slot", coil.Count("go_slot", 1, 720), "1 to slots", 1);
    coils.push_back({phase, go_slot, coil.Need("return_slot", coil.Count("return_slot", 1, 720), "1 to slots", 2), 1});
  }
  return coils;
}

absl::StatusOr<winding::Layout> ReadTraced(const Reader& holder, absl::string_view pattern,
                                           std::vector<winding::Coil> coils,
                                           const std::vector<standards::FieldError>& errors, size_t before) {
  const Reader core = holder.At(pattern);
  const int slots = ReadSlots(core), poles = ReadPoles(core);
  if (errors.size() > before) return absl::CancelledError();
  absl::StatusOr<winding::Layout> traced = winding::Traced(slots, poles, ReadEnd(core), std::move(coils));
  if (traced.ok()) return traced;
  std::vector<standards::FieldError> wrong = standards::FieldErrorsOf(traced.status());
  for (standards::FieldError& error : wrong) {
    error.field =
        holder.PathOf(absl::StartsWith(error.field, "coils") ? error.field : absl::StrCat(pattern, ".", error.field));
  }
  return standards::InvalidFields(wrong);
}

AskedLayout ReadAskedLayout(const Reader& reader, std::vector<standards::FieldError>* errors) {
  AskedLayout asked;
  const size_t before = errors->size();
  std::vector<winding::Coil> coils = ReadTracedCoils(reader);
  if (coils.empty() && errors->size() == before) {
    asked.placement = ReadPlacement(reader.At("layout"));
    return asked;
  }
  absl::StatusOr<winding::Layout> traced = ReadTraced(reader, "layout", std::move(coils), *errors, before);
  if (traced.ok()) {
    asked.traced = winding::TurnedShortWay(*std::move(traced));
  } else {
    for (const standards::FieldError& error : standards::FieldErrorsOf(traced.status())) errors->push_back(error);
  }
  return asked;
}

absl::StatusOr<winding::Symmetry> SymmetryOf(const AskedLayout& asked) {
  if (asked.traced) return winding::CheckTraced(*asked.traced);
  absl::StatusOr<winding::Symmetry> symmetry = winding::CheckSymmetry(asked.placement.pattern);
  if (!symmetry.ok()) return InTheWordsOfTheContract(symmetry.status(), "layout");
  return symmetry;
}

absl::StatusOr<winding::Layout> LayoutOf(const AskedLayout& asked) {
  if (asked.traced) return *asked.traced;
  absl::StatusOr<winding::Layout> laid = winding::LaidOut(asked.placement);
  if (!laid.ok()) return InTheWordsOfTheContract(laid.status(), "layout");
  return laid;
}

absl::StatusOr<winding::ConnectionList> ConnectionsOf(const AskedLayout& asked, const winding::Layout& layout,
                                                      winding::PhaseEnds ends, int circuits) {
  absl::StatusOr<winding::ConnectionList> list = asked.traced
                                                     ? winding::ConnectTraced(layout, ends, circuits)
                                                     : winding::Connect(asked.placement, layout, ends, circuits);
  if (!list.ok()) return InTheWordsOfTheContract(list.status(), "layout");
  return list;
}

std::optional<winding::CoilForm> FormOf(const AskedLayout& asked) {
  return asked.traced ? FormAsTraced(*asked.traced) : asked.placement.pattern.form;
}

}  // namespace coilwright::rpc
