#include "alter_print.h"

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "check_print.h"
#include "page.h"
#include "plan_print.h"
#include "request.h"
#include "text.h"
#include "wire_print.h"
#include "words.h"

namespace coilwright::cli {
namespace {

using Align = Table::Align;

std::string Turns(const v1::TurnsPlan& turns) {
  return absl::StrCat(Figures(turns.mean_turns_per_coil()), turns.groups().empty() ? "" : " on average", " (exact ",
                      Figures(turns.exact_turns_per_coil()), ")");
}

// Rows of one quantity before and after; a row that neither side has is left out.
class Sides {
 public:
  explicit Sides(const Units& units) : units_(units) {}
  void Add(const std::string& what, const std::string& before, const std::string& after) {
    if (!before.empty() || !after.empty()) table_.Add({what, before, after, before == after ? "" : "*"});
  }
  void Add(const std::string& what, Quantity quantity, bool has_before, double before, bool has_after, double after) {
    Add(what, has_before ? units_.Text(quantity, before) : "", has_after ? units_.Text(quantity, after) : "");
  }
  void Plain(const std::string& what, const std::string& unit, bool has_before, double before, bool has_after,
             double after) {
    const auto text = [&](bool has, double value) { return has ? absl::StrCat(Figures(value), " ", unit) : ""; };
    Add(what, text(has_before, before), text(has_after, after));
  }
  const Table& table() const { return table_; }

 private:
  const Units& units_;
  Table table_{{{"", {}}, {"before", {}}, {"after", {}}, {"", {}}}};
};

void PrintSides(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan, const Units& units,
                Page* page) {
  const v1::Nameplate& plate = request.record().machine().nameplate();
  const v1::Winding& winding = request.record().winding();
  const v1::TurnsPlan& turns = plan.turns();
  const v1::PatternSummary &was = plan.pattern(), &is = plan.pattern_planned();
  const v1::WindingOption& original = plan.as_recorded();
  const v1::WindingOption* const wound = WoundOption(request, plan);
  const bool wired = wound != nullptr;
  const v1::WindingOption& first = wired ? *wound : original;
  Sides sides(units);
  sides.Plain("volts line to line", "V", plate.has_rated_volts(), plate.rated_volts(), true, turns.rated_volts());
  sides.Plain("frequency", "Hz", plate.has_frequency_hz(), plate.frequency_hz(), turns.has_frequency_hz(),
              turns.frequency_hz());
  sides.Plain("speed", "rpm", plate.has_speed_rpm(), plate.speed_rpm(), turns.has_speed_rpm(), turns.speed_rpm());
  sides.Plain("line current", "A rms", plate.has_line_amps_rms(), plate.line_amps_rms(), turns.has_line_amps_rms(),
              turns.line_amps_rms());
  sides.Add("connection", ConnectionWords(winding.connection(), winding.parallel_circuits()),
            ConnectionWords(turns.connection(), turns.parallel_circuits()));
  sides.Add("poles", absl::StrCat(was.poles()), absl::StrCat(is.poles()));
  sides.Add("coils", CoilWords(was), CoilWords(is));
  sides.Add("pitch", PitchWords(was), PitchWords(is));
  sides.Add("winding factor", Fixed(was.winding_factor(), 4), Fixed(is.winding_factor(), 4));
  sides.Add("turns per coil", Figures(turns.original_turns_per_coil()), Turns(turns));
  sides.Add("wires", StrandWords(original.conductor()), wired ? StrandWords(first.conductor()) : "none fits");
  sides.Add("area", Quantity::kWireAreaMm2, true, original.conductor().area_mm2(), true, plan.target_area_mm2());
  sides.Add("fullness", original.has_fill() ? Percent(original.fill().fullness_ratio()) : "",
            wired && first.has_fill() ? Percent(first.fill().fullness_ratio()) : "");
  sides.Add("current density", Quantity::kAmpsPerMm2, original.has_current_density_a_per_mm2(),
            original.current_density_a_per_mm2(), wired && first.has_current_density_a_per_mm2(),
            first.current_density_a_per_mm2());
  sides.Add("mean turn", units.Text(Quantity::kLengthMetres, plan.mean_turn_metres()),
            units.Text(Quantity::kLengthMetres, plan.mean_turn_planned_metres()));
  sides.Add(absl::StrCat("ohm line to line, ", units.Text(Quantity::kCelsius, 20)),
            units.Text(Quantity::kOhms, original.resistance(0).line_to_line_ohms()),
            wired ? units.Text(Quantity::kOhms, first.resistance(0).line_to_line_ohms()) : "");
  page->Heading(absl::StrCat("Before and after, with ",
                             request.way() > 1 ? absl::StrCat("way ", request.way()) : "the first way", " to wind it"));
  page->Add(sides.table());
  for (const v1::CoilGroup& group : turns.groups()) page->Item(GroupWords(group));
  PrintLoadings(plan, units, page);
}

}  // namespace

std::string PrintAlteration(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan,
                            const Units& units) {
  Page page;
  const bool record_stands = MayBeWound(plan.record_check());
  page.Title(absl::StrCat(MayBeWound(plan) ? "Changed winding"
                          : record_stands  ? "NOT TO BE WOUND: changed winding"
                                           : "NOT TO BE WOUND YET: changed winding",
                          plan.title().empty() ? "" : ": ", plan.title()));
  if (!record_stands) PrintConclusion(plan.record_check(), &page);
  PrintSides(request, plan, units, &page);
  google::protobuf::RepeatedPtrField<v1::Finding> doubts;
  for (const v1::Finding& finding : plan.findings()) {
    if (finding.level() == v1::FINDING_LEVEL_WATCH || finding.level() == v1::FINDING_LEVEL_ACT) *doubts.Add() = finding;
  }
  PrintFindings(doubts,
                record_stands ? "The original at a glance: look at this first"
                              : "The record does not agree with itself: settle this first",
                units, &page);
  PrintFindings(plan.findings_planned(), "The new winding at a glance", units, &page);
  if (!plan.turns().notes().empty()) page.Heading("What the change brings with it");
  page.List(plan.turns().notes());
  PrintOptions(plan, units, &page);
  page.Heading("Cautions");
  page.List(plan.cautions(), "!");
  page.Blank();
  page.Paragraph("With --full: the whole plan, with materials, wire to order and the tests of every stage.");
  return page.text();
}

std::string PrintReconnections(const v1::ListReconnectionsRequest& request, const v1::ListReconnectionsResponse& answer,
                               const Units& units) {
  Page page;
  const bool may_be_trusted = MayBeWound(answer.record_check());
  page.Title(absl::StrCat(may_be_trusted ? "" : "NOT TO BE RECONNECTED YET: ", may_be_trusted ? "What" : "what",
                          " the coils in the machine can serve", request.record().title().empty() ? "" : ": ",
                          request.record().title()));
  if (!may_be_trusted) PrintConclusion(answer.record_check(), &page);
  page.Blank();
  Table table(
      {{"", {}},
       {"volts", Align::kPoint},
       {"Hz", Align::kPoint},
       {"A rms", Align::kPoint},
       {absl::StrCat("ohm ", units.Text(Quantity::kCelsius, 20)), Align::kPoint},
       {"ends", Align::kRight},
       {request.has_wanted_volts() ? absl::StrCat("at ", Figures(request.wanted_volts()), " V") : "", Align::kRight}});
  for (const v1::Reconnection& way : answer.reconnections()) {
    table.Add({absl::StrCat(ConnectionWords(way.connection(), way.parallel_circuits()),
                            way.as_recorded() ? " (recorded)" : ""),
               Fixed(way.rated_volts(), 1), way.has_frequency_hz() ? Figures(way.frequency_hz()) : "",
               way.has_line_amps_rms() ? Figures(way.line_amps_rms()) : "",
               units.Number(Quantity::kOhms, way.line_to_line_ohms().nominal()), absl::StrCat(way.coil_ends()),
               way.has_wanted_volts_ratio() ? Percent(way.wanted_volts_ratio() - 1, true) : ""});
    if (!way.notes().empty()) table.Note(absl::StrJoin(way.notes(), "; "));
  }
  page.Add(table);
  page.Blank();
  page.Paragraph(
      "The flux and the current in every wire are those of the nameplate. Ends: of coils, to be brought out or joined "
      "inside.");
  if (request.has_wanted_volts()) {
    page.Paragraph(request.record().machine().kind() == v1::MACHINE_KIND_PERMANENT_MAGNET
                       ? "Last column: how far the speed moves at the wanted voltage."
                       : "Last column: how far the flux moves at the wanted voltage.");
  }
  page.List(answer.cautions(), "!");
  return page.text();
}

}  // namespace coilwright::cli
