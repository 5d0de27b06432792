#include "plan_request.h"

#include "request.h"
#include "wire_choice.h"

namespace coilwright::cli {

absl::Status ReadRecordOrRequest(Session& session, google::protobuf::Message* request, FieldNamer* name) {
  const auto source = ReadJsonFile(session.arguments.words()[0], session.in);
  if (!source.ok()) return source.status();
  // Only a request has "record" at its top.
  const bool whole = source->lines.count("record") > 0;
  google::protobuf::Message* in_file = request;
  if (!whole) {
    in_file = request->GetReflection()->MutableMessage(request, request->GetDescriptor()->FindFieldByName("record"));
  }
  if (absl::Status parsed = ParseJson(*source, in_file); !parsed.ok()) return parsed;
  *name = [source = *source, &arguments = session.arguments, whole](const std::string& field) {
    const bool stands_there = whole && source.lines.count(field) > 0 && arguments.GivenFlagFor(field).empty();
    const std::string flag = stands_there ? field : FlagNamer(arguments)(field);
    return flag == field ? PlaceOf(source, whole ? "" : "record", field) : flag;
  };
  return absl::OkStatus();
}

absl::Status AskForPlan(Session& session, const std::function<absl::Status(v1::PlanRewindRequest*)>& more,
                        v1::PlanRewindRequest* request, v1::PlanRewindResponse* plan, FieldNamer* name) {
  FieldNamer own;
  if (name == nullptr) name = &own;
  if (absl::Status read = ReadRecordOrRequest(session, request, name); !read.ok()) return read;
  if (absl::Status shelf = FillWireChoice(session, request->mutable_wires()); !shelf.ok()) return shelf;
  if (absl::Status filled = FillRequest(session.arguments, request); !filled.ok()) return filled;
  if (more) {
    if (absl::Status added = more(request); !added.ok()) return added;
  }
  return session.connection.Call(*request, plan, *name);
}

std::vector<Flag> ChangeFlags() {
  return {{"volts", "V", "change.rated_volts", "new rated voltage of the winding, line to line, rms"},
          {"hertz", "HZ", "change.frequency_hz", "new frequency"},
          {"speed", "RPM", "change.speed_rpm", "new speed of a permanent-magnet machine at rated voltage"},
          {"connect", "HOW", "change.connection", "new connection: star, delta"},
          {"circuits", "N", "change.parallel_circuits", "new number of parallel circuits"}};
}

std::vector<Flag> PlanFlags() {
  std::vector<Flag> flags = WireChoiceFlags("wires");
  const std::vector<Flag> shop = {
      {"family", "FAMILY", "tests.family", "rules for tests: iec (default), nema, ar100"},
      {"edition", "EDITION", "tests.megohm_edition", "megohm rule: 2013 (default), 2000, 1974, one-per-kilovolt"},
      {"shop-megohms", "MEGOHMS", "tests.shop_expectation_megohms", "what the shop expects of a new winding (100)"},
      {"bench", "TEMPERATURE", "settings.bench_temperature", "bench, for the resistance to expect: 22C, 72F"},
      {"waste", "RATIO", "settings.waste_share", "spool ends and waste in the wire to order (0.08)"},
      {"leads", "RATIO", "settings.lead_share", "copper of leads over that of the coils (0.04)"},
      {"constants", "SET", "settings.conductor_preset",
       "temperature constants: iec-60034-1 (default), ieee-112, iec-60851-5"},
      {"watch-gap", "TESLAS", "settings.air_gap_watch_teslas", "peak flux density in the gap the shop watches"},
      {"watch-teeth", "TESLAS", "settings.tooth_watch_teslas", "the same in the teeth"},
      {"watch-back-iron", "TESLAS", "settings.back_iron_watch_teslas", "the same in the back iron"},
      {"watch-density", "A/MM2", "settings.current_density_watch_a_per_mm2",
       "current density the shop watches (8; of magnet motors 15)"},
      {"watch-fullness", "RATIO", "settings.fullness_watch_ratio", "fullness of a slot the shop watches (0.75)"},
      {"act-fullness", "RATIO", "settings.fullness_act_ratio", "fullness it does not wind (0.82)"}};
  flags.insert(flags.end(), shop.begin(), shop.end());
  return flags;
}

}  // namespace coilwright::cli
