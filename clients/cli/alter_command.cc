#include "absl/strings/ascii.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "alter_print.h"
#include "check_print.h"
#include "plan_print.h"
#include "plan_request.h"
#include "request.h"

namespace coilwright::cli {
namespace {

// "12:8/4,14/6,17/8": twelve groups of 8 turns over 4 slots, 14 over 6, 17 over 8.
absl::Status ReadGroup(absl::string_view text, v1::CoilGroup* group) {
  absl::Status wrong = absl::InvalidArgumentError(
      absl::StrCat("--group: got \"", text, "\", accepted: GROUPS:TURNS/SLOTS,... such as 12:8/4,14/6,17/8"));
  const std::vector<absl::string_view> parts = absl::StrSplit(text, ':');
  int count = 0;
  if (parts.size() != 2 || !absl::SimpleAtoi(parts[0], &count)) return wrong;
  group->set_count(count);
  for (absl::string_view coil : absl::StrSplit(parts[1], ',')) {
    const std::vector<absl::string_view> figures = absl::StrSplit(coil, '/');
    int turns = 0;
    int span = 0;
    if (figures.size() != 2 || !absl::SimpleAtoi(figures[0], &turns) || !absl::SimpleAtoi(figures[1], &span)) {
      return wrong;
    }
    v1::GroupCoil* added = group->add_coils();
    added->set_turns(turns);
    added->set_span_slots(span);
  }
  return absl::OkStatus();
}

// A change is weighed first and wound later: a few ways tell enough.
constexpr int kWaysShown = 5;

absl::Status Alter(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kRecordFile); !words.ok()) return words;
  v1::PlanRewindRequest request;
  v1::PlanRewindResponse plan;
  const auto groups = [&](v1::PlanRewindRequest* filled) -> absl::Status {
    for (const std::string& text : session.arguments.All("group")) {
      if (absl::Status read = ReadGroup(text, filled->mutable_change()->add_groups()); !read.ok()) return read;
    }
    if (session.arguments.Has("group") && filled->change().coil_form() == v1::COIL_FORM_UNSPECIFIED &&
        filled->record().winding().coil_form() != v1::COIL_FORM_CONCENTRIC) {
      return absl::InvalidArgumentError(
          "--group: the recorded coils are not concentric; accepted: --to-form concentric beside it");
    }
    if (!filled->wires().has_best() && !session.arguments.Has("full")) filled->mutable_wires()->set_best(kWaysShown);
    if (filled->change().ByteSizeLong() == 0) {
      return absl::InvalidArgumentError(
          "nothing is to change: give one of the --to- flags, or a request with \"change\"");
    }
    return absl::OkStatus();
  };
  if (absl::Status called = AskForPlan(session, groups, &request, &plan); !called.ok()) return called;
  session.exit_status = ExitStatusOf(plan);
  session.out = session.json                    ? ToJson(plan)
                : session.arguments.Has("full") ? PrintPlan(request, plan, session.units)
                                                : PrintAlteration(request, plan, session.units);
  return absl::OkStatus();
}

absl::Status Reconnect(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, kRecordFile); !words.ok()) return words;
  v1::ListReconnectionsRequest request;
  v1::ListReconnectionsResponse answer;
  FieldNamer name;
  if (absl::Status read = ReadRecordOrRequest(session, &request, &name); !read.ok()) return read;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if (absl::Status called = session.connection.Call(request, &answer, name); !called.ok()) return called;
  session.exit_status = ExitStatusOf(answer.record_check());
  session.out = session.json ? ToJson(answer) : PrintReconnections(request, answer, session.units);
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> AlterCommands() {
  std::vector<Flag> flags = {
      {"to-volts", "V", "change.rated_volts", "supply: new rated voltage of the winding, line to line, rms"},
      {"to-bus-volts", "V", "change.dc_bus_volts",
       "supply: new DC bus of the drive; the rated volts go with it (permanent magnet)"},
      {"from-bus-volts", "V", "change.dc_bus_volts_before",
       "supply: bus the original ran on, where the record does not say"},
      {"to-hertz", "HZ", "change.frequency_hz", "supply: new frequency"},
      {"to-connection", "HOW", "change.connection", "supply: star, delta"},
      {"to-poles", "N", "change.poles", "speed: new number of poles, with --to-pitch (induction)"},
      {"hold", "WHERE", "change.poles_hold", "speed: flux density that stays beside new poles: air-gap, back-iron"},
      {"to-speed", "RPM", "change.speed_rpm", "speed: new speed at rated voltage (permanent magnet)"},
      {"to-pitch", "SLOTS", "change.coil_pitch_slots", "coils: slots spanned (throw 1-6 is 5)"},
      {"to-form", "FORM", "change.coil_form", "coils: lap, concentric, chain, tooth-coil"},
      {"to-layers", "LAYERS", "change.layers", "coils: single, double"},
      {"to-circuits", "N", "change.parallel_circuits", "coils: parallel circuits"},
      {"group", "GROUP...", "change.groups",
       "coils: concentric groups, turns as proportions: 12:8/4,14/6,17/8 (turns/slots)", true},
      {"alternate", "", "change.alternating_turns", "coils: alternating turns where they land closer than whole ones"},
      {"to-power", "POWER", "change.rated_power", "power: in the same frame, 4kW or 5hp (induction)"},
      {"full", "", "", "print the whole plan"}};
  for (const Flag& flag : PlanFlags()) flags.push_back(flag);
  return {{"alter", "what another voltage, speed, coil or power asks of the winding", "FILE | - --to-...", flags, Alter,
           "FILE is the record, as for coilwright plan. Any mix of changes goes. What is not named stays as recorded. "
           "Exit status 5 where the record check finds the record wrong, or the new winding is not to be wound."},
          {"reconnect",
           "what the coils in the machine can serve without a rewind",
           "FILE | -",
           {{"volts", "V", "wanted_volts", "voltage that is wanted: nearest connection first"},
            {"hertz", "HZ", "frequency_hz", "frequency the voltages are for (induction)"},
            {"constants", "SET", "settings.conductor_preset",
             "temperature constants: iec-60034-1 (default), ieee-112, iec-60851-5"}},
           Reconnect,
           "FILE is the record, as for coilwright plan. Exit status 5 where the record check finds the record wrong."}};
}

}  // namespace coilwright::cli
