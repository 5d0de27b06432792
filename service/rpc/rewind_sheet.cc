#include "rpc/rewind_sheet.h"

#include <algorithm>

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

// What was recorded beside what is wound, and room for what was found.
sheet::Table RecordAgainstPlan(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                               const v1::WindingOption* option, const Units& units) {
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
  const auto groups = [](const google::protobuf::RepeatedPtrField<v1::CoilGroup>& all) {
    std::vector<std::string> texts;
    for (const v1::CoilGroup& group : all) texts.push_back(GroupWords(group));
    return absl::StrJoin(texts, "; ");
  };
  add("Stator", slots(was), slots(is), false);
  add("Coils", CoilWords(was), CoilWords(is));
  add("Pitch: slots spanned, throw", PitchWords(was), PitchWords(is));
  add("Connection", ConnectionWords(winding.connection(), winding.parallel_circuits()),
      ConnectionWords(turns.connection(), turns.parallel_circuits()));
  add("Turns per coil", Figures(turns.original_turns_per_coil()),
      turns.turns_per_coil() > 0 ? absl::StrCat(turns.turns_per_coil())
                                 : absl::StrCat(Figures(turns.mean_turns_per_coil()), " on average"));
  add("Groups", groups(winding.groups()), groups(turns.groups()));
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
  std::vector<v1::TestKind> kinds;
  for (const v1::TestProgramme* programme : stages) {
    for (const v1::TestStep& step : programme->steps()) {
      if (!step.left_out() && std::find(kinds.begin(), kinds.end(), step.kind()) == kinds.end())
        kinds.push_back(step.kind());
    }
  }
  for (const v1::TestKind kind : kinds) {
    std::vector<std::string> row = {""};
    for (const v1::TestProgramme* programme : stages) {
      std::string level;
      for (const v1::TestStep& step : programme->steps()) {
        if (step.kind() != kind || step.left_out() || !level.empty()) continue;
        row[0] = step.title();
        level = StepWords(step);
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
  table.columns = {{"winding at", true, false},
                   {"line to line, ohm", true, false},
                   {"low to high, ohm", true, false},
                   {"phase, ohm", true, false},
                   {"measured, winding at", false, true}};
  for (const v1::ExpectedResistance& at : option.resistance()) {
    table.rows.push_back({units.Text(print::Quantity::kCelsius, at.winding_celsius()),
                          units.Number(print::Quantity::kOhms, at.line_to_line_ohms().nominal()),
                          units.Range(print::Quantity::kOhms, at.line_to_line_ohms()),
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
void AddConnections(const v1::PlanRewindRequest& request, sheet::Document* document) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const plan::Record record = ReadRecord(reader.At("record"));
  const absl::StatusOr<sheet::WindingDrawing> drawing = DrawingOf(record, ReadChange(reader.At("change")), {}, false);
  if (!drawing.ok()) {
    document->blocks.push_back(
        {"Connections", sheet::List{{absl::StrCat("not listed: ", drawing.status().message())}, ""}, false});
    return;
  }
  document->blocks.push_back({"Connections, each to be ticked off", sheet::ConnectionTable(*drawing), false});
  document->blocks.push_back({"", sheet::List{{sheet::ConnectionLegend(*drawing)}, ""}, false});
}

std::vector<std::string> Warnings(const v1::PlanRewindResponse& plan) {
  std::vector<std::string> warnings;
  if (plan.record_check().verdict() != v1::CHECK_VERDICT_SOUND)
    warnings.push_back(absl::StrCat("NOT TO BE WOUND YET: ", plan.record_check().summary()));
  for (const v1::Finding& finding : plan.findings_planned()) {
    if (finding.level() == v1::FINDING_LEVEL_ACT)
      warnings.push_back(absl::StrCat("NOT TO BE WOUND YET: ", finding.what(), ": ", finding.text()));
  }
  return warnings;
}

std::string Footer(const std::string& revision) { return absl::StrCat("Coilwright, data revision ", revision); }

}  // namespace

sheet::Document RewindSheet(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan, int way,
                            const std::string& code, const Units& units) {
  const v1::WindingRecord& record = request.record();
  const v1::WindingOption* option = way >= 1 && way <= plan.options_size() ? &plan.options(way - 1) : nullptr;
  sheet::Document document;
  document.title = "Rewind sheet";
  document.subtitle = record.title();
  document.code = code;
  document.warnings = Warnings(plan);
  document.footer = Footer(plan.data_revision());
  const auto add = [&](std::string heading, auto content, bool half = false) {
    document.blocks.push_back({std::move(heading), std::move(content), half});
  };
  add("Machine", sheet::Facts{MachineFacts(record.machine())}, true);
  add("Room for the coils", sheet::Facts{CoilRoomFacts(record.machine(), units)}, true);
  add(plan.turns().changed() ? "Winding: CHANGED from the original" : "Winding: as the original",
      RecordAgainstPlan(request, plan, option, units));
  if (option != nullptr) {
    add("Resistance to expect", Resistances(*option, units));
    add("Wire to order, with film, leads and waste", Orders(*option, units), true);
  }
  sheet::Table pins;
  pins.columns = {{"lead", false, true}, {"pin", false, false}, {"colour", false, true}};
  for (const v1::Lead& lead : record.machine().leads())
    pins.rows.push_back({lead.function(), lead.pin(), lead.colour()});
  if (!pins.rows.empty()) add("Leads and pins", std::move(pins), option != nullptr);
  AddConnections(request, &document);
  sheet::Table materials;
  materials.columns = {{"", false, false}, {"", false, true}};
  for (const v1::Material& material : plan.materials())
    materials.rows.push_back({material.place(), material.material()});
  if (!materials.rows.empty()) add("Insulation and materials", std::move(materials));
  sheet::Table tests = Tests(plan);
  if (!tests.rows.empty()) add("Tests: level or limit, and what was read", std::move(tests));
  add("", sheet::Facts{{{"Turns counted, connections checked by, date", kToWrite},
                        {"Treated (resin, oven, hours) by, date", kToWrite}}});
  sheet::List cautions{{plan.cautions().begin(), plan.cautions().end()}, "!"};
  add("Cautions", std::move(cautions));
  return document;
}

sheet::Document ConnectionLabel(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan, int way,
                                const std::string& code, const Units& units) {
  const v1::TurnsPlan& turns = plan.turns();
  sheet::Document document;
  document.title = ConnectionWords(turns.connection(), turns.parallel_circuits());
  document.title[0] = absl::ascii_toupper(static_cast<unsigned char>(document.title[0]));
  document.subtitle = request.record().title();
  document.code = code;
  document.warnings = Warnings(plan);
  document.footer = Footer(plan.data_revision());
  sheet::Facts facts;
  facts.pairs = {
      {"Rated",
       absl::StrCat(Figures(turns.rated_volts()), " V line to line, rms",
                    turns.has_frequency_hz() ? absl::StrCat(", ", Figures(turns.frequency_hz()), " Hz") : "",
                    turns.has_line_amps_rms() ? absl::StrCat(", ", Figures(turns.line_amps_rms()), " A rms") : "")}};
  if (way >= 1 && way <= plan.options_size()) {
    const v1::WindingOption& option = plan.options(way - 1);
    facts.pairs.emplace_back("Wound with", StrandWords(option.conductor()));
    if (!option.resistance().empty()) {
      const v1::ExpectedResistance& at = option.resistance(0);
      facts.pairs.emplace_back(
          absl::StrCat("Line to line at ", units.Text(print::Quantity::kCelsius, at.winding_celsius())),
          units.Text(print::Quantity::kOhms, at.line_to_line_ohms()));
    }
  }
  document.blocks.push_back({"", std::move(facts), false});
  // One under the other as far as that leaves room on a label, else side by side.
  const auto& leads = request.record().machine().leads();
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
