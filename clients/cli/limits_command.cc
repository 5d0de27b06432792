#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "coilwright/v1/test_limit_service.pb.h"
#include "coilwright/v1/winding.pb.h"
#include "command.h"
#include "programme_print.h"
#include "request.h"
#include "rules_print.h"
#include "test_choice.h"
#include "text.h"
#include "words.h"

namespace coilwright::cli {
namespace {

void AddLevel(const char* name, const v1::TestLevel& level, Table* table, std::set<std::string>* rules) {
  if (!level.rule().empty()) rules->insert(level.rule());
  if (!level.has_test_volts()) {
    table->Add({name, "does not apply", "", level.reason()});
    return;
  }
  const std::string how = level.reason().empty()
                              ? level.formula()
                              : absl::StrCat(level.formula(), level.formula().empty() ? "" : "; ", level.reason());
  table->Add({name, LevelWords(level.test_volts(), level.volts_shape()),
              level.has_hold_seconds() ? absl::StrCat(Figures(level.hold_seconds()), " s") : "", how});
}

std::string Print(const v1::GetTestLimitsRequest& request, const v1::GetTestLimitsResponse& answer) {
  Page page;
  std::set<std::string> rules;
  page.Title(absl::StrCat("test levels for a winding of ", Figures(request.rated_volts()), " V line to line"));
  page.Blank();
  Table table({{"test", {}}, {"level", {}}, {"hold", Table::Align::kRight}, {"how", {}}});
  AddLevel("withstand, ac", answer.withstand_ac(), &table, &rules);
  AddLevel("withstand, ac, one second", answer.withstand_ac_one_second(), &table, &rules);
  AddLevel("withstand, dc", answer.withstand_dc(), &table, &rules);
  AddLevel("surge, turn to turn", answer.surge(), &table, &rules);
  AddLevel("megohms", answer.megohm_test(), &table, &rules);
  page.Add(table);
  page.Blank();
  if (!answer.minimum_megohms_rule().empty()) rules.insert(answer.minimum_megohms_rule());
  page.Facts(
      {{"surge level",
        absl::StrCat(answer.surge_standard() ? "set by a standard" : "shop practice, no standard sets it",
                     answer.surge_capped() ? "; held down to the peak of the ac withstand test" : "")},
       {"megohm test", answer.megohm_test_volts_low() == answer.megohm_test_volts_high()
                           ? ""
                           : absl::StrCat("from ", Figures(answer.megohm_test_volts_low()), " to ",
                                          Figures(answer.megohm_test_volts_high()), " V dc")},
       {"least megohms at 40 C", absl::StrCat(Figures(answer.minimum_megohms()), " (whole winding, one minute)")},
       {"a good new winding", absl::StrCat(Figures(answer.shop_expectation_megohms()), " megohms or more")},
       {"size", answer.outside_megohm_scope()
                    ? "below what the megohm standard is written for: its figures are a shop convention here"
                    : ""}});
  PrintEnd(answer.shop_settings(), answer.notes(), answer.cautions(), rules, answer.data_revision(), &page);
  return page.text();
}

// A sensor per --sensor, and what the bench can do from --bench; flags for single figures of it come on top.
absl::Status FillFittedAndBench(Session& session, v1::GetTestProgrammeRequest* request) {
  for (const std::string& kind : session.arguments.All("sensor")) {
    v1::ThermalSensor* sensor = request->mutable_machine()->mutable_fitted()->add_thermal_sensors();
    if (absl::Status set = SetField(sensor, "kind", kind); !set.ok())
      return absl::InvalidArgumentError(absl::StrCat("--sensor: ", set.message()));
  }
  if (!session.arguments.Has("bench")) return absl::OkStatus();
  const auto source = ReadJsonFile(session.arguments.Text("bench"), session.in);
  if (!source.ok()) return source.status();
  return ParseJson(*source, request->mutable_bench());
}

absl::Status Limits(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 0, "flags only"); !words.ok()) return words;
  v1::GetTestLimitsRequest request;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::GetTestLimitsResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : Print(request, answer);
  return absl::OkStatus();
}

absl::Status Programme(Session& session) {
  const std::string stages = absl::StrJoin(EnumWords(v1::Stage_descriptor()), ", ");
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, absl::StrCat("a STAGE, one of ", stages)); !words.ok())
    return words;
  v1::GetTestProgrammeRequest request;
  if (session.arguments.Has("record")) {
    const auto source = ReadJsonFile(session.arguments.Text("record"), session.in);
    if (!source.ok()) return source.status();
    v1::WindingRecord record;
    if (absl::Status parsed = ParseJson(*source, &record); !parsed.ok()) return parsed;
    *request.mutable_machine() = record.machine();
    if (session.arguments.Has("kw") || session.arguments.Has("hp")) {
      request.mutable_machine()->mutable_nameplate()->clear_rated_power();
    }
    if (record.winding().has_star_open()) request.set_star_open(record.winding().star_open());
  }
  if (absl::Status set = SetField(&request, "stage", session.arguments.words()[0]); !set.ok()) {
    return absl::InvalidArgumentError(absl::StrCat("stage: ", set.message()));
  }
  if (absl::Status filled = FillFittedAndBench(session, &request); !filled.ok()) return filled;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::GetTestProgrammeResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  if (session.json) {
    session.out = ToJson(answer);
    return absl::OkStatus();
  }
  Page page;
  std::set<std::string> rules;
  page.Title(absl::StrCat("tests at stage: ", EnumText(answer.programme().stage())));
  PrintProgramme(answer.programme(), &page, &rules);
  PrintEnd(answer.shop_settings(), {}, {}, rules, answer.data_revision(), &page);
  session.out = page.text();
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> LimitsCommands() {
  std::vector<Flag> limits = {
      {"volts", "V", "rated_volts", "rated voltage of the winding, line to line, rms; not the drive's mains or DC bus"},
      {"kw", "KW", "rated_power.kw", "rated power"},
      {"hp", "HP", "rated_power.hp", "the same in horsepower"},
      {"kind", "KIND", "winding_kind", "random-wound (default), form-wound, field, dc-armature"},
      {"year", "YEAR", "built_year", "year the machine was built"}};
  std::vector<Flag> stage = {
      {"record", "FILE", "machine", "take the machine from a record file; flags come on top", true},
      {"volts", "V", "machine.nameplate.rated_volts", "rated voltage of the winding, line to line, rms"},
      {"kw", "KW", "machine.nameplate.rated_power.kw", "rated power"},
      {"hp", "HP", "machine.nameplate.rated_power.hp", "the same in horsepower"},
      {"year", "YEAR", "machine.nameplate.built_year", "year the machine was built"},
      {"machine", "KIND", "machine.kind", "permanent-magnet, induction"},
      {"construction", "HOW", "machine.construction", "hand-inserted, pulled-in, needle-wound, segmented, bobbin"},
      {"potted", "", "machine.potted", "the winding is cast in resin"},
      {"feedback", "KIND", "machine.fitted.feedback",
       "none, resolver, incremental-encoder, absolute-encoder, tachometer, hall-board"},
      {"brake-volts", "V", "machine.fitted.brake.rated_volts_dc", "a holding brake is fitted"},
      {"rectifier", "", "machine.fitted.brake.rectifier", "the brake has a rectifier built in"},
      {"sensor", "KIND...", "",
       "a sensor in the winding: ptc-thermistor, ntc-thermistor, silicon, platinum-rtd, thermostat"},
      {"heater", "", "machine.fitted.space_heater", "a space heater lies in the winding"},
      {"surge-parts", "", "machine.fitted.surge_parts", "varistors or capacitors at the terminals"},
      {"drive-fed", "", "machine.nameplate.drive_fed", "fed by a drive"},
      {"mains", "V", "machine.nameplate.drive_mains_volts", "mains of the drive, line to line, rms"},
      {"bus", "V", "machine.nameplate.dc_bus_volts", "direct voltage of the drive's bus"},
      {"star-open", "", "star_open", "both ends of every phase can be reached"},
      {"rotor", "", "rotor_fitted", "a rotor is in the stator"},
      {"kind", "KIND", "winding_kind", "random-wound (default), form-wound, field, dc-armature"},
      {"bench", "FILE", "", "what the bench can do; a step it cannot do is left out, never reduced"},
      {"bench-ac", "V", "bench.greatest_withstand_volts_ac", "its greatest withstand voltage, 0 for none"},
      {"bench-dc", "V", "bench.greatest_withstand_volts_dc", "the same with direct voltage"},
      {"bench-surge", "V", "bench.greatest_surge_volts_peak", "its greatest surge, peak"},
      {"bench-megohms", "V,V", "bench.megohm_test_volts_dc", "direct voltages of its megohm meter"},
      {"bench-ohms", "OHMS", "bench.least_ohms", "least resistance that it compares well"}};
  for (const Flag& flag : TestChoiceFlags()) {
    limits.push_back(flag);
    stage.push_back(flag);
  }
  return {
      {"limits stage", "what to test at one stage, in which order, with limits", "STAGE --volts V | --record FILE",
       stage, Programme,
       "STAGE: as-received, stripped-core, wound-star-open, wound-before-treatment, treated, assembled, in-service."},
      {"limits", "test levels for a winding", "--volts V", limits, Limits}};
}

}  // namespace coilwright::cli
