#include "rpc/rewind_sheet.h"

#include <algorithm>
#include <functional>
#include <map>
#include <utility>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "enum_text.h"
#include "print/figures.h"
#include "rpc/drawn_winding.h"
#include "rpc/read_record.h"
#include "rpc/record_words.h"
#include "sheet/connection_list.h"
#include "words.h"

namespace coilwright::rpc {
namespace {

using print::Figures;
using print::Percent;
using print::Units;
using sheet::kToWrite;
using Rows = std::vector<std::vector<std::string>>;

// How the coils of a record lie and are joined, as its winding drawing shows it: with its change, or without.
absl::StatusOr<sheet::WindingDrawing> Laid(const v1::PlanRewindRequest& request, bool as_changed) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const plan::Record record = ReadRecord(reader.At("record"));
  return DrawingOf(record, as_changed ? ReadChange(reader.At("change")) : plan::Change{}, {}, false);
}

// "18 groups of 2 coils"; turns and spans too where coils differ; empty where the pattern cannot be laid.
std::string GroupsInWords(const google::protobuf::RepeatedPtrField<v1::CoilGroup>& unequal,
                          const absl::StatusOr<sheet::WindingDrawing>& laid) {
  std::vector<std::string> texts;
  for (const v1::CoilGroup& group : unequal) texts.push_back(GroupWords(group));
  if (!texts.empty() || !laid.ok()) return absl::StrJoin(texts, "; ");
  std::map<size_t, int, std::greater<>> of_size;
  for (const winding::Group& group : laid->connections.groups) ++of_size[group.coils.size()];
  for (const auto& [coils, count] : of_size)
    texts.push_back(
        absl::StrCat(count, count == 1 ? " group of " : " groups of ", coils, coils == 1 ? " coil" : " coils"));
  return absl::StrJoin(texts, ", ");
}

// "400 V, 2.57 A rms, 1.4 kW, 3000 rpm", of what is wound.
std::string RatedAsWound(const v1::TurnsPlan& turns, const char* volts) {
  std::string words = absl::StrCat(Figures(turns.rated_volts()), volts);
  if (turns.has_line_amps_rms()) absl::StrAppend(&words, ", ", Figures(turns.line_amps_rms()), " A rms");
  if (turns.has_rated_kw()) absl::StrAppend(&words, ", ", Figures(turns.rated_kw()), " kW");
  if (turns.has_speed_rpm()) absl::StrAppend(&words, ", ", Figures(turns.speed_rpm()), " rpm");
  if (turns.has_frequency_hz()) absl::StrAppend(&words, ", ", Figures(turns.frequency_hz()), " Hz");
  return words;
}

// The record's code finds the record, which a changed winding is not.
const char* CodeMark(const v1::PlanRewindResponse& plan) { return plan.turns().changed() ? "changed" : ""; }

// What was recorded beside what is wound, and room for what was found.
sheet::Table RecordAgainstPlan(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                               const v1::WindingOption* option, const absl::StatusOr<sheet::WindingDrawing>& laid,
                               const Units& units) {
  const v1::Winding& winding = request.record().winding();
  const v1::PatternSummary& was = plan.pattern();
  const v1::PatternSummary& is = plan.has_pattern_planned() ? plan.pattern_planned() : was;
  const v1::TurnsPlan& turns = plan.turns();
  sheet::Table table;
  table.columns = {{"", false, false}, {"as recorded", false, true}, {"to wind", false, true}, {"wound", false, false}};
  const auto add = [&](const char* what, std::string recorded, std::string planned, bool to_write = true) {
    if (!recorded.empty() || !planned.empty())
      table.rows.push_back({what, std::move(recorded), std::move(planned), to_write ? kToWrite : ""});
  };
  const auto slots = [](const v1::PatternSummary& p) {
    return absl::StrCat(p.slots(), " slots, ", p.poles(), " poles");
  };
  add("Rated", RatedWords(request.record().machine().nameplate()), RatedAsWound(turns, " V"), false);
  add("Stator", slots(was), slots(is), false);
  add("Coils", CoilWords(was), CoilWords(is));
  add("Groups", GroupsInWords(winding.groups(), turns.changed() ? Laid(request, false) : laid),
      GroupsInWords(turns.groups(), laid));
  add("Pitch: slots spanned, throw", PitchWords(was), PitchWords(is));
  add("Connection", ConnectionWords(winding.connection(), winding.parallel_circuits()),
      ConnectionWords(turns.connection(), turns.parallel_circuits()));
  add("Turns per coil", Figures(turns.original_turns_per_coil()),
      turns.turns_per_coil() > 0 ? absl::StrCat(turns.turns_per_coil())
                                 : absl::StrCat(Figures(turns.mean_turns_per_coil()), " on average"));
  add("Wires in hand", StrandWords(plan.as_recorded().conductor()),
      option == nullptr ? "" : StrandWords(option->conductor()));
  add("Metal area of a turn", units.Text(print::Quantity::kWireAreaMm2, plan.as_recorded().conductor().area_mm2()),
      option == nullptr ? "" : units.Text(print::Quantity::kWireAreaMm2, option->conductor().area_mm2()), false);
  add("Mean turn", units.Text(print::Quantity::kLengthMetres, plan.mean_turn_metres()),
      units.Text(print::Quantity::kLengthMetres,
                 plan.has_mean_turn_planned_metres() ? plan.mean_turn_planned_metres() : plan.mean_turn_metres()));
  const auto fullness = [](const v1::WindingOption& way) {
    return way.has_fill() ? absl::StrCat(Percent(way.fill().fullness_ratio()), " of the net slot") : std::string();
  };
  add("Slot fullness", fullness(plan.as_recorded()), option == nullptr ? "" : fullness(*option), false);
  const auto density = [&](const v1::WindingOption& way) {
    return way.has_current_density_a_per_mm2()
               ? units.Text(print::Quantity::kAmpsPerMm2, way.current_density_a_per_mm2())
               : std::string();
  };
  add("Current density", density(plan.as_recorded()), option == nullptr ? "" : density(*option), false);
  const auto copper = [&](const v1::WindingOption& way) {
    return way.has_bare_copper_kg() ? units.Text(print::Quantity::kMassKg, way.bare_copper_kg()) : std::string();
  };
  add("Bare metal in the coils", copper(plan.as_recorded()), option == nullptr ? "" : copper(*option));
  const auto volts = [&](const v1::MachineConstants& constants) {
    return constants.has_ke_ll_rms_volts_per_krpm()
               ? absl::StrCat(units.Text(print::Quantity::kVolts, constants.ke_ll_rms_volts_per_krpm()),
                              " per 1000 rpm")
               : std::string();
  };
  add("Volts line to line, rms", volts(plan.constants_as_recorded()), volts(plan.constants_planned()));
  return table;
}

// The one time that phases can be tested against each other, in two halves of a table that stand side by side.
std::vector<sheet::Table> StarOpenTests(const v1::PlanRewindResponse& plan) {
  Rows rows;
  for (const v1::TestProgramme& programme : plan.programmes()) {
    if (programme.stage() != v1::STAGE_WOUND_STAR_OPEN) continue;
    for (const v1::TestStep& step : programme.steps()) {
      if (!step.left_out()) rows.push_back({step.title(), StepWords(step), kToWrite});
    }
  }
  if (rows.empty()) return {};
  std::vector<sheet::Table> halves(2);
  for (size_t i = 0; i < rows.size(); ++i) halves[i < (rows.size() + 1) / 2 ? 0 : 1].rows.push_back(std::move(rows[i]));
  for (sheet::Table& half : halves)
    half.columns = {{"test", false, true}, {"level or limit", false, true}, {"reading", false, false}};
  return halves;
}

// The bench hears the levels of the stages that follow winding, and writes its readings beside them.
sheet::Table Tests(const v1::PlanRewindResponse& plan) {
  std::vector<const v1::TestProgramme*> stages;
  sheet::Table table;
  table.columns = {{"test", false, true}};
  for (const v1::TestProgramme& programme : plan.programmes()) {
    if (programme.stage() != v1::STAGE_WOUND_BEFORE_TREATMENT && programme.stage() != v1::STAGE_TREATED &&
        programme.stage() != v1::STAGE_ASSEMBLED)
      continue;
    stages.push_back(&programme);
    table.columns.push_back({EnumText(programme.stage()), false, false});
    table.columns.push_back({"reading", false, false});
  }
  // One kind may be asked for twice: of the resistance its balance and its value.
  std::vector<std::string> titles;
  for (const v1::TestProgramme* programme : stages) {
    for (const v1::TestStep& step : programme->steps()) {
      if (!step.left_out() && std::find(titles.begin(), titles.end(), step.title()) == titles.end())
        titles.push_back(step.title());
    }
  }
  for (const std::string& title : titles) {
    std::vector<std::string> row = {title};
    for (const v1::TestProgramme* programme : stages) {
      std::string level;
      for (const v1::TestStep& step : programme->steps()) {
        if (step.title() == title && !step.left_out()) level = StepWords(step);
      }
      row.push_back(level.empty() ? "-" : level);
      row.push_back(level.empty() ? "" : kToWrite);
    }
    table.rows.push_back(std::move(row));
  }
  return table;
}

sheet::Table Resistances(const v1::WindingOption& option, const Units& units) {
  sheet::Table table;
  table.columns = {{"winding at", true, false},       {"line to line, ohm", true, false},
                   {"low to high, ohm", true, false}, {"accepted at the leads, ohm", true, false},
                   {"phase, ohm", true, false},       {"measured, winding at", false, true}};
  for (const v1::ExpectedResistance& at : option.resistance()) {
    // The bench may be as warm as one of the others.
    const std::string celsius = units.Text(print::Quantity::kCelsius, at.winding_celsius());
    if (std::any_of(table.rows.begin(), table.rows.end(), [&](const auto& row) { return row[0] == celsius; })) continue;
    table.rows.push_back({celsius, units.Number(print::Quantity::kOhms, at.line_to_line_ohms().nominal()),
                          units.Range(print::Quantity::kOhms, at.line_to_line_ohms()),
                          units.Range(print::Quantity::kOhms, at.at_terminals_ohms()),
                          units.Number(print::Quantity::kOhms, at.phase_ohms().nominal()), kToWrite});
  }
  return table;
}

sheet::Table Orders(const v1::WindingOption& option, const Units& units) {
  sheet::Table table;
  table.columns = {{"wire", false, true},
                   {absl::StrCat("length, ", units.Name(print::Quantity::kLengthMetres)), true, false},
                   {absl::StrCat("to buy, ", units.Name(print::Quantity::kMassKg)), true, false}};
  for (const v1::WireOrder& order : option.wire_orders()) {
    table.rows.push_back({order.designation(), units.Number(print::Quantity::kLengthMetres, order.length_metres()),
                          units.Number(print::Quantity::kMassKg, order.order_kg())});
  }
  return table;
}

// Which end goes to which, as its winding drawing shows it; or why there is no such list.
void AddConnections(const absl::StatusOr<sheet::WindingDrawing>& drawing, sheet::Document* document) {
  if (!drawing.ok()) {
    document->blocks.push_back(
        {"Connections", sheet::List{{absl::StrCat("not listed: ", drawing.status().message())}, ""}, false});
    return;
  }
  document->blocks.push_back({"Connections, each to be ticked off", sheet::ConnectionTable(*drawing), false});
  document->blocks.push_back({"", sheet::List{{sheet::ConnectionLegend(*drawing)}, ""}, false});
}

std::vector<std::string> Warnings(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan) {
  std::vector<std::string> warnings;
  const bool wrong = !MayBeWound(plan.record_check());
  if (plan.record_check().verdict() != v1::CHECK_VERDICT_SOUND)
    warnings.push_back(absl::StrCat(wrong ? "NOT TO BE WOUND YET: " : "Record check: ", plan.record_check().summary()));
  for (const v1::Finding& finding : plan.findings_planned()) {
    if (finding.level() == v1::FINDING_LEVEL_ACT)
      warnings.push_back(absl::StrCat("NOT TO BE WOUND YET: ", finding.what(), ": ", finding.text()));
  }
  for (std::string& pin : SharedPinWords(request.record().machine())) warnings.push_back(std::move(pin));
  return warnings;
}

std::string Footer(const std::string& revision) { return absl::StrCat("Coilwright, data revision ", revision); }

}  // namespace

sheet::Document RewindSheet(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                            const std::string& code, const Units& units, const SheetJob& job) {
  const v1::WindingRecord& record = request.record();
  const v1::WindingOption* option = WoundOption(request, plan);
  sheet::Document document;
  document.title = "Rewind sheet";
  document.subtitle = job.title.empty() ? record.title() : job.title;
  document.code = code;
  document.code_mark = CodeMark(plan);
  document.warnings = Warnings(request, plan);
  document.footer = Footer(plan.data_revision());
  const auto add = [&](std::string heading, auto content, bool half = false) {
    document.blocks.push_back({std::move(heading), std::move(content), half});
  };
  const absl::StatusOr<sheet::WindingDrawing> laid = Laid(request, true);
  FactList machine = {{"Job", job.name}, {"Customer", job.customer}};
  for (auto& [what, is] : MachineFacts(record.machine()))
    machine.emplace_back(what == "Rated" && plan.turns().changed() ? "Plate says" : what, is);
  add("Machine", sheet::Facts{std::move(machine)}, true);
  add("Room for the coils", sheet::Facts{CoilRoomFacts(record.machine(), units)}, true);
  add(plan.turns().changed() ? "Winding: CHANGED from the original" : "Winding: as the original",
      RecordAgainstPlan(request, plan, option, laid, units));
  if (plan.turns().changed())
    add("What goes with the change", sheet::List{{plan.turns().notes().begin(), plan.turns().notes().end()}, "-"});
  if (option != nullptr) {
    add("Resistance to expect", Resistances(*option, units));
    add("Wire to order, with film, leads and waste", Orders(*option, units), true);
  }
  sheet::Table pins;
  pins.columns = {{"lead", false, true}, {"pin", false, false}, {"colour", false, true}};
  for (const v1::Lead& lead : record.machine().leads())
    pins.rows.push_back({lead.function(), lead.pin(), lead.colour()});
  if (!pins.rows.empty()) add("Leads and pins", std::move(pins), option != nullptr);
  AddConnections(laid, &document);
  sheet::Table materials;
  materials.columns = {{"", false, false}, {"", false, true}};
  for (const v1::Material& material : plan.materials())
    materials.rows.push_back({material.place(), material.material()});
  if (!materials.rows.empty()) add("Insulation and materials", std::move(materials));
  if (std::vector<sheet::Table> halves = StarOpenTests(plan); !halves.empty()) {
    add("Tests before the phases are joined, star point or delta open", sheet::Facts{});
    for (sheet::Table& half : halves) add("", std::move(half), true);
  }
  sheet::Table tests = Tests(plan);
  if (!tests.rows.empty()) add("Tests: level or limit, and what was read", std::move(tests));
  add("", sheet::Facts{{{"Turns counted, connections checked by, date", kToWrite},
                        {"Treated (resin, oven, hours) by, date", kToWrite}}});
  sheet::List cautions{{plan.cautions().begin(), plan.cautions().end()}, "!"};
  add("Cautions", std::move(cautions));
  return document;
}

sheet::Document ConnectionLabel(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                                const std::string& code, const Units& units, const SheetJob& job) {
  const v1::TurnsPlan& turns = plan.turns();
  sheet::Document document;
  document.title = ConnectionWords(turns.connection(), turns.parallel_circuits());
  document.title[0] = absl::ascii_toupper(static_cast<unsigned char>(document.title[0]));
  const v1::Machine& machine = request.record().machine();
  // What it is of stays on the machine; what the job was for does not.
  for (const std::string& words : {PlateWords(job.plate), PlateWords(machine.nameplate()), request.record().title()}) {
    if (document.subtitle.empty()) document.subtitle = words;
  }
  document.code = code;
  document.code_mark = CodeMark(plan);
  document.warnings = Warnings(request, plan);
  document.footer = Footer(plan.data_revision());
  sheet::Facts facts;
  facts.pairs = {{"Job", job.name},
                 {turns.changed() ? "Rated, as changed" : "Rated", RatedAsWound(turns, " V line to line, rms")},
                 {"Thermal class", machine.nameplate().thermal_class()}};
  if (const v1::WindingOption* option = WoundOption(request, plan)) {
    facts.pairs.emplace_back("Wound with", StrandWords(option->conductor()));
    if (!option->resistance().empty()) {
      const v1::ExpectedResistance& at = option->resistance(0);
      facts.pairs.emplace_back(
          absl::StrCat("Line to line at ", units.Text(print::Quantity::kCelsius, at.winding_celsius())),
          units.Text(print::Quantity::kOhms, at.at_terminals_ohms()));
    }
  }
  document.blocks.push_back({"", std::move(facts), false});
  // One under the other as far as that leaves room on a label, else side by side.
  const auto& leads = machine.leads();
  const int columns = leads.size() > 4 ? 2 : 1;
  const int in_a_column = (leads.size() + columns - 1) / columns;
  for (int first = 0; first < leads.size(); first += in_a_column) {
    sheet::Facts column;
    for (int i = first; i < std::min(leads.size(), first + in_a_column); ++i)
      column.pairs.emplace_back(absl::StrCat("Lead ", leads[i].function()), LeadWords(leads[i]));
    document.blocks.push_back({"", std::move(column), columns == 2});
  }
  document.blocks.push_back({"", sheet::Facts{{{"Rewound by, date", kToWrite}}}, false});
  return document;
}

}  // namespace coilwright::rpc
