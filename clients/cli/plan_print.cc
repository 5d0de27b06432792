#include "plan_print.h"

#include <set>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/strip.h"
#include "check_print.h"
#include "command.h"
#include "finding_text.h"
#include "programme_print.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"
#include "wire_print.h"
#include "words.h"

namespace coilwright::cli {
namespace {

// Pole, pitch, form or layers are other ones.
bool PatternChanged(const v1::PlanRewindResponse& plan) {
  const v1::PatternSummary &was = plan.pattern(), &is = plan.pattern_planned();
  return plan.has_pattern_planned() &&
         (was.poles() != is.poles() || was.layers() != is.layers() || was.coil_form() != is.coil_form() ||
          was.mean_pitch_slots() != is.mean_pitch_slots());
}

}  // namespace

void PrintFindings(const google::protobuf::RepeatedPtrField<v1::Finding>& findings, const std::string& heading,
                   const Units& units, Page* page) {
  if (findings.empty()) return;
  page->Heading(heading);
  Table table({{"", {}}, {"check", {}}, {"found", Table::Align::kRight}, {"expected", Table::Align::kRight}});
  for (const v1::Finding& finding : findings) {
    const double found = finding.found();
    const CheckedText shown = TextOfChecked(finding.unit(), finding.has_found() ? &found : nullptr,
                                            finding.has_expected() ? &finding.expected() : nullptr, units);
    table.Add({Mark(finding.level()), finding.what(), shown.found, shown.expected});
    if (finding.level() != v1::FINDING_LEVEL_OK) table.Note(finding.text());
  }
  page->Add(table);
  page->Paragraph(
      "look: worth a second look; stop: do not go on before it is settled; unchecked: something is missing.");
}

namespace {

void PrintPattern(const v1::PatternSummary& pattern, const std::string& heading, Page* page) {
  page->Heading(heading);
  std::vector<std::string> circuits;
  for (int count : pattern.permitted_circuits()) circuits.push_back(absl::StrCat(count));
  const int numerator = pattern.slots_per_pole_phase_numerator();
  const int denominator = pattern.slots_per_pole_phase_denominator();
  page->Facts({{"slots, poles", absl::StrCat(pattern.slots(), " slots, ", pattern.poles(), " poles")},
               {"slots per pole and phase",
                denominator > 1 ? absl::StrCat(numerator, "/", denominator) : absl::StrCat(numerator)},
               {"coils", CoilWords(pattern)},
               {"pitch", PitchWords(pattern)},
               {"winding factor", Fixed(pattern.winding_factor(), 4)},
               {"circuits permitted", absl::StrJoin(circuits, ", ")}});
}

}  // namespace

void PrintTurns(const v1::TurnsPlan& turns, Page* page) {
  page->Heading(turns.changed() ? "Turns: CHANGED from the original" : "Turns: as the original");
  const std::string mean = turns.groups().empty() ? "" : " on average";
  std::vector<std::pair<std::string, std::string>> facts = {
      {"turns per coil",
       absl::StrCat(Figures(turns.mean_turns_per_coil()), mean,
                    turns.changed() ? absl::StrCat(" (original ", Figures(turns.original_turns_per_coil()), ", exact ",
                                                   Figures(turns.exact_turns_per_coil()), ")")
                                    : "")}};
  for (const v1::CoilGroup& group : turns.groups()) facts.emplace_back("", GroupWords(group));
  if (turns.changed()) {
    facts.emplace_back("rounding",
                       absl::StrCat(turns.has_alternating() && turns.turns_per_coil() == 0 ? "alternating" : "whole",
                                    " turns are ", Percent(turns.rounding_ratio() - 1, true), " of exact turns"));
  }
  facts.emplace_back("series turns per phase", Figures(turns.series_turns_per_phase()));
  facts.emplace_back("connection", ConnectionWords(turns.connection(), turns.parallel_circuits()));
  facts.emplace_back(
      "rated", absl::StrCat(Figures(turns.rated_volts()), " V line to line",
                            turns.has_frequency_hz() ? absl::StrCat(", ", Figures(turns.frequency_hz()), " Hz") : "",
                            turns.has_speed_rpm() ? absl::StrCat(", ", Figures(turns.speed_rpm()), " rpm") : ""));
  if (turns.changed() && turns.has_line_amps_rms()) {
    facts.emplace_back("current at plate torque", absl::StrCat(Figures(turns.line_amps_rms()), " A rms"));
  }
  page->Facts(facts);
  page->List(turns.notes());
}

namespace {

// Texts in order, each once.
class OnceEach {
 public:
  template <class List>
  void Add(const List& texts) {
    for (const std::string& text : texts) {
      if (seen_.insert(text).second) texts_.push_back(text);
    }
  }
  const std::vector<std::string>& all() const { return texts_; }

 private:
  std::set<std::string> seen_;
  std::vector<std::string> texts_;
};

void PrintTests(const v1::PlanRewindResponse& plan, Page* page) {
  OnceEach cautions;
  OnceEach notes;
  cautions.Add(plan.cautions());
  notes.Add(plan.notes());
  for (const v1::TestProgramme& programme : plan.programmes()) {
    cautions.Add(programme.cautions());
    notes.Add(programme.notes());
  }
  if (!plan.programmes().empty()) {
    PrintProgrammes(plan.programmes(), page);
    page->Blank();
    page->Paragraph(
        "What to disconnect, connect, earth and beware of in each step: coilwright limits stage STAGE --record FILE");
  }
  PrintShop(plan.shop_settings(), page);
  if (!cautions.all().empty()) page->Heading("Cautions");
  page->List(cautions.all(), "!");
  if (!notes.all().empty()) page->Heading("Notes");
  page->List(notes.all());
}

void PrintRuleTitles(const v1::PlanRewindResponse& plan, Page* page) {
  page->Heading("Rules used (coilwright rules show ID)");
  Table table({{"", {}}, {"", {}}});
  for (const v1::Rule& rule : plan.rules()) {
    table.Add({std::string(absl::StripPrefix(rule.name(), "rules/")),
               absl::StrCat(rule.title(), " (", EnumText(rule.standing()), ")")});
  }
  page->Add(table);
  page->Paragraph(absl::StrCat("data revision ", plan.data_revision()));
}

}  // namespace

std::string Mark(v1::FindingLevel level) {
  switch (level) {
    case v1::FINDING_LEVEL_OK:
      return "ok";
    case v1::FINDING_LEVEL_WATCH:
      return "look";
    case v1::FINDING_LEVEL_ACT:
      return "stop";
    case v1::FINDING_LEVEL_NOT_CHECKED:
      return "unchecked";
    default:
      return "";
  }
}

int ExitStatusOf(const v1::PlanRewindResponse& plan) { return MayBeWound(plan) ? kExitDone : kExitDoubtful; }

std::string PrintPlan(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan, const Units& units) {
  Page page;
  const bool sound = MayBeWound(plan.record_check());
  page.Title(absl::StrCat(MayBeWound(plan) ? "Rewind plan" : "NOT TO BE WOUND YET: rewind plan",
                          plan.title().empty() ? "" : ": ", plan.title()));
  const v1::Nameplate& plate = request.record().machine().nameplate();
  page.Facts(
      {{"machine",
        absl::StrCat(EnumText(request.record().machine().kind()),
                     plate.has_rated_volts() ? absl::StrCat(", ", Figures(plate.rated_volts()), " V winding") : "",
                     plate.has_speed_rpm() ? absl::StrCat(", ", Figures(plate.speed_rpm()), " rpm") : "",
                     plate.has_line_amps_rms() ? absl::StrCat(", ", Figures(plate.line_amps_rms()), " A rms") : "")}});
  PrintConclusion(plan.record_check(), &page);
  // The service puts what stops the job first; a check that failed has said more already.
  if (sound && !plan.cautions().empty() && absl::StartsWith(plan.cautions(0), "STOP")) page.Item(plan.cautions(0), "!");
  PrintFindings(plan.findings(), "The record at a glance", units, &page);
  PrintPattern(plan.pattern(), "Pattern", &page);
  if (PatternChanged(plan)) PrintPattern(plan.pattern_planned(), "Pattern: CHANGED to", &page);
  PrintTurns(plan.turns(), &page);
  PrintFindings(plan.findings_planned(), "The new winding at a glance", units, &page);
  PrintOriginal(plan, units, &page);
  PrintOptions(plan, units, &page);
  if (const v1::WindingOption* wound = WoundOption(request, plan)) {
    PrintOption(
        *wound,
        absl::StrCat("In full: way ", request.has_way() ? request.way() : 1, ", ", StrandWords(wound->conductor())),
        units, &page);
  }
  PrintLoadings(plan, units, &page);
  if (!plan.materials().empty()) {
    page.Heading("Materials");
    Table table({{"", {}}, {"", {}}});
    for (const v1::Material& material : plan.materials()) table.Add({material.place(), material.material()});
    page.Add(table);
  }
  PrintTests(plan, &page);
  PrintRuleTitles(plan, &page);
  return page.text();
}

}  // namespace coilwright::cli
