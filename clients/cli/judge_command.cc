#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "coilwright/v1/reading_service.pb.h"
#include "command.h"
#include "judge_print.h"
#include "judge_readings.h"
#include "megohm_reading.h"
#include "request.h"
#include "templates.h"
#include "test_choice.h"

namespace coilwright::cli {
namespace {

const std::vector<std::pair<const char*, const char*>>& OhmsFlags() {
  static const auto& flags = *new std::vector<std::pair<const char*, const char*>>{
      {"uv", "u_v_ohms"}, {"vw", "v_w_ohms"}, {"wu", "w_u_ohms"}, {"at", "winding_temperature"}};
  return flags;
}

// What is wrong in a reading that flags made is named by the flag; those stand behind the `in_file` readings of a file.
FieldNamer NamerOfReadings(const Arguments& arguments, int in_file, const FieldNamer& otherwise) {
  const int megohms = static_cast<int>(arguments.All("megohms").size());
  return [=](const std::string& field) {
    for (int i = 0; i < megohms; ++i) {
      const std::string reading = absl::StrCat("readings[", in_file + i, "].megohms");
      if (absl::StartsWith(field, reading)) return absl::StrCat("--megohms (", field, ")");
    }
    for (const auto& [flag, name] : OhmsFlags()) {
      if (field == absl::StrCat("readings[", in_file + megohms, "].resistance.line_to_line.", name))
        return absl::StrCat("--", flag, " (", field, ")");
    }
    return otherwise(field);
  };
}

// Readings of the common case as flags, beside those of the file.
absl::Status AddReadings(const Arguments& arguments, v1::JudgeReadingsRequest* request) {
  for (const std::string& text : arguments.All("megohms")) {
    if (absl::Status read = ReadMegohms(text, request->add_readings()->mutable_megohms()); !read.ok())
      return absl::InvalidArgumentError(absl::StrCat("--megohms: ", read.message()));
  }
  v1::LineToLineResistance ohms;
  bool any = false;
  for (const auto& [flag, field] : OhmsFlags()) {
    if (!arguments.Has(flag)) continue;
    any = true;
    if (absl::Status set = SetField(&ohms, field, arguments.Text(flag)); !set.ok())
      return absl::InvalidArgumentError(absl::StrCat("--", flag, ": ", set.message()));
  }
  if (any) *request->add_readings()->mutable_resistance()->mutable_line_to_line() = ohms;
  return absl::OkStatus();
}

absl::Status Judge(Session& session) {
  if (session.arguments.Has("template")) return PrintReadingsTemplate(session);
  if (absl::Status words = ExpectWords(session.arguments, 0, 1, "a FILE with the readings, or - for standard input");
      !words.ok())
    return words;
  v1::JudgeReadingsRequest request;
  FieldNamer name = FlagNamer(session.arguments);
  const auto& words = session.arguments.words();
  if (absl::Status read = ReadReadings(session, words.empty() ? "" : words[0], &request, &name); !read.ok())
    return read;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if (request.stage() == v1::STAGE_UNSPECIFIED) request.set_stage(v1::STAGE_AS_RECEIVED);
  if (request.readings().empty())
    return absl::InvalidArgumentError("missing: readings, in a FILE or as flags such as --uv 1.02 --megohms 850@22C");
  v1::JudgeReadingsResponse answer;
  if (absl::Status called = session.connection.Call(request, &answer, name); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : PrintJudgement(request, answer);
  return absl::OkStatus();
}

}  // namespace

absl::Status PrintReadingsTemplate(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 0, "--template alone"); !words.ok()) return words;
  session.out = ReadingsTemplate();
  return absl::OkStatus();
}

Flag TemplateFlag() { return {"template", "", "", "print a commented file to fill in, with a reading of every kind"}; }

absl::Status ReadReadings(Session& session, const std::string& file, v1::JudgeReadingsRequest* request,
                          FieldNamer* name) {
  if (!file.empty()) {
    const auto source = ReadJsonFile(file, session.in);
    if (!source.ok()) return source.status();
    if (absl::Status parsed = ParseJson(*source, request); !parsed.ok()) return parsed;
    *name = [source = *source, flag_name = FlagNamer(session.arguments)](const std::string& field) {
      const std::string flag = flag_name(field);
      return flag == field ? PlaceOf(source, "", field) : flag;
    };
  }
  *name = NamerOfReadings(session.arguments, request->readings_size(), *name);
  return AddReadings(session.arguments, request);
}

std::vector<Flag> ReadingFlags() {
  return {{"uv", "OHMS", "", "resistance between U and V, four-wire; likewise --vw and --wu"},
          {"vw", "OHMS", "", "between V and W"},
          {"wu", "OHMS", "", "between W and U"},
          {"at", "TEMPERATURE", "", "winding when the resistances were read: 22C, 72F"},
          {"megohms", "READING...", "", "insulation resistance, as for coilwright megohm: 850@22C"}};
}

std::vector<Command> JudgeCommands() {
  std::vector<Flag> flags = {
      TemplateFlag(),
      {"stage", "STAGE", "stage", "as-received (default), wound-before-treatment, treated, assembled, ..."},
      {"volts", "V", "machine.nameplate.rated_volts", "rated voltage of the winding, line to line, rms"},
      {"kw", "KW", "machine.nameplate.rated_power.kw", "rated power"},
      {"machine", "KIND", "machine.kind", "permanent-magnet, induction"},
      {"class", "CLASS", "machine.nameplate.thermal_class", "thermal class, for a heat run: B, F, 155"},
      {"rotor", "", "rotor_fitted", "a rotor is in the stator"},
      {"star-open", "", "star_open", "both ends of every phase can be reached"},
      {"brake-volts", "V", "machine.fitted.brake.rated_volts_dc", "a holding brake is fitted"},
      {"feedback", "KIND", "machine.fitted.feedback",
       "none, resolver, incremental-encoder, absolute-encoder, tachometer, hall-board"},
      {"connect", "HOW", "winding.connection", "star (default), delta"}};
  for (const Flag& flag : ReadingFlags()) flags.push_back(flag);
  const std::vector<Flag> levels = {
      {"margin", "RATIO", "readings_choice.shop_margin_ratio", "on the better side of every limit (0)"},
      {"watch", "RATIO", "readings_choice.surge_watch_ratio", "surge waves: ratio the shop watches from (0.04)"},
      {"act", "RATIO", "readings_choice.surge_act_ratio", "ratio the shop acts from (0.1)"}};
  for (const auto& more : {levels, TestChoiceFlags()}) flags.insert(flags.end(), more.begin(), more.end());
  return {
      {"judge", "readings of a stage judged: one verdict per test and one for the winding",
       "[FILE | - | --template] [--volts V --uv OHMS --vw OHMS --wu OHMS --at TEMPERATURE --megohms READING]", flags,
       Judge,
       "FILE is a request in JSON: stage, machine, winding and readings (resistance, megohms, withstand, surge waves, "
       "back_emf, temperature_rise, observation); // begins a comment. Flags come on top.\n\n"
       "Never sound without a valid turn test: resistance, megohms and withstand do not see a shorted turn."}};
}

}  // namespace coilwright::cli
