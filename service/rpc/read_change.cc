#include "absl/strings/str_cat.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "rpc/read_record.h"

namespace coilwright::rpc {

static_assert(static_cast<int>(plan::PolesHold::kBackIron) + 1 == v1::POLES_HOLD_BACK_IRON);

std::vector<plan::CoilGroup> ReadGroups(const Reader& parent, absl::string_view field) {
  constexpr size_t kMostCoils = 720;  // no machine has more coils than slots
  std::vector<plan::CoilGroup> groups;
  size_t coils = 0;
  for (const Reader& group : parent.Each(field, 720)) {
    plan::CoilGroup read;
    read.count = group.Count("count", 1, 720).value_or(1);
    const std::vector<Reader> entries = group.Each("coils", 200);
    coils += entries.size();
    if (coils > kMostCoils) {
      parent.Wrong(field, absl::StrCat("more than ", kMostCoils, " coils"), absl::StrCat("at most ", kMostCoils));
      return groups;
    }
    for (const Reader& coil : entries) {
      read.coils.push_back({coil.Need("span_slots", coil.Count("span_slots", 1, 719), "1 to 719 slots spanned", 1),
                            coil.Need("turns", coil.Count("turns", 1, 10000), "1 to 10000", 1)});
    }
    if (read.coils.empty()) group.Missing("coils", "the coils of the group, inner to outer");
    groups.push_back(std::move(read));
  }
  return groups;
}

plan::Change ReadChange(const Reader& change) {
  plan::Change read;
  read.rated_volts = change.Number("rated_volts", kRatedVolts);
  read.frequency_hz = change.Number("frequency_hz", {1, 2000, "Hz"});
  read.speed_rpm = change.Number("speed_rpm", kSpeedRpm);
  read.dc_bus_volts = change.Number("dc_bus_volts", kRatedVolts);
  read.dc_bus_volts_before = change.Number("dc_bus_volts_before", kRatedVolts);
  read.connection = ReadConnection(change);
  read.parallel_circuits = change.Count("parallel_circuits", 1, 120);
  read.coil_pitch = change.Count("coil_pitch_slots", 1, 719);
  read.poles = change.Count("poles", 2, 120);
  read.poles_hold = change.Enum<plan::PolesHold>("poles_hold");
  read.form = change.Enum<winding::CoilForm>("coil_form");
  read.layers = change.Enum<winding::Layers>("layers");
  read.groups = ReadGroups(change, "groups");
  read.rated_kw = change.Kw("rated_power", kRatedKw);
  read.alternating_turns = change.Flag("alternating_turns").value_or(false);
  return read;
}

}  // namespace coilwright::rpc
