#include "programme_print.h"

#include <map>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using Facts = std::vector<std::pair<std::string, std::string>>;

std::string Seconds(bool known, double seconds) { return known ? absl::StrCat(Figures(seconds), " s") : ""; }

std::string Level(const v1::TestStep& step) {
  return step.has_test_volts() ? LevelText(step.test_volts(), step.volts_shape()) : "";
}

// "energised: U, V, W", "earthed: frame"
std::vector<std::string> Terminals(const v1::TestStep& step) {
  std::map<int, std::vector<std::string>> by_potential;
  for (const v1::Terminal& terminal : step.terminals()) by_potential[terminal.potential()].push_back(terminal.name());
  std::vector<std::string> parts;
  for (const auto& [potential, names] : by_potential) {
    parts.push_back(absl::StrCat(EnumText(static_cast<v1::Potential>(potential)), ": ", absl::StrJoin(names, ", ")));
  }
  return parts;
}

std::string After(const v1::TestStep& step) {
  std::vector<std::string> kinds;
  for (int kind : step.after()) kinds.push_back(EnumText(static_cast<v1::TestKind>(kind)));
  return absl::StrJoin(kinds, ", ");
}

void CollectStepRules(const v1::TestStep& step, std::set<std::string>* rules) {
  CollectRules(step.rule_uses(), rules);
  if (!step.limit().rule().empty()) rules->insert(step.limit().rule());
}

std::string ShopExpectation(const v1::TestStep& step) {
  return step.has_shop_expectation()
             ? absl::StrCat("a good new winding: ", Figures(step.shop_expectation()), " ", step.limit().unit())
             : "";
}

// One line per text, the name before the first only.
template <class Texts>
void AddLines(const char* name, const Texts& texts, Facts* facts) {
  for (const std::string& text : texts) {
    facts->emplace_back(name, text);
    name = "";
  }
}

void PrintStep(int number, const v1::TestStep& step, const std::set<std::string>& said, Page* page) {
  Facts facts = {{"  why", step.reason()}, {"  after", After(step)}};
  AddLines("  prepare", step.prepare(), &facts);
  AddLines("  terminals", Terminals(step), &facts);
  facts.emplace_back("  level", Level(step));
  facts.emplace_back(Level(step).empty() ? "  level" : "", step.level_note());
  facts.emplace_back("  ramp", Seconds(step.has_ramp_seconds(), step.ramp_seconds()));
  facts.emplace_back("  hold", Seconds(step.has_hold_seconds(), step.hold_seconds()));
  facts.emplace_back("  trip", step.has_trip_milliamps() ? absl::StrCat(Figures(step.trip_milliamps()), " mA") : "");
  const std::string discharge = Seconds(step.has_discharge_seconds(), step.discharge_seconds());
  facts.emplace_back("  discharge", discharge.empty() ? "" : absl::StrCat("earth it at least ", discharge));
  const std::string figures = LimitFigures(step.limit());
  facts.emplace_back("  limit", figures);
  facts.emplace_back(figures.empty() ? "  limit" : "", step.limit().text());
  facts.emplace_back("  shop", ShopExpectation(step));
  AddLines("  stop when", step.abort_when(), &facts);
  std::vector<std::string> cautions;
  for (const std::string& caution : step.cautions()) {
    if (said.count(caution) == 0) cautions.push_back(caution);
  }
  AddLines("  caution", cautions, &facts);
  page->Blank();
  page->Item(step.title(), absl::StrCat(number, "."));
  page->Facts(facts);
}

}  // namespace

std::string LevelText(double volts, v1::VoltageShape shape) {
  return absl::StrCat(Figures(volts), " V",
                      shape == v1::VOLTAGE_SHAPE_UNSPECIFIED ? "" : absl::StrCat(" ", EnumText(shape)));
}

std::string LimitFigures(const v1::AcceptanceLimit& limit) {
  const std::string unit = limit.unit().empty() ? "" : absl::StrCat(" ", limit.unit());
  std::string text;
  switch (limit.kind()) {
    case v1::LIMIT_KIND_AT_LEAST:
      text = absl::StrCat("at least ", Figures(limit.low()), unit);
      break;
    case v1::LIMIT_KIND_AT_MOST:
      text = absl::StrCat("at most ", Figures(limit.high()), unit);
      break;
    case v1::LIMIT_KIND_WITHIN:
      text = absl::StrCat(Figures(limit.low()), " to ", Figures(limit.high()), unit);
      break;
    case v1::LIMIT_KIND_NO_LIMIT_IN_STANDARD:
      return "no limit in the standard";
    case v1::LIMIT_KIND_NOT_APPLICABLE:
      return "not applicable";
    default:
      return "";
  }
  return limit.corrected_to().empty() ? text : absl::StrCat(text, " at ", limit.corrected_to());
}

void PrintProgramme(const v1::TestProgramme& programme, Page* page, std::set<std::string>* rules) {
  page->Heading("Before any step");
  page->List(programme.cautions(), "!");
  const std::set<std::string> said(programme.cautions().begin(), programme.cautions().end());
  int number = 0;
  std::vector<std::string> left_out;
  for (const v1::TestStep& step : programme.steps()) {
    CollectStepRules(step, rules);
    if (step.left_out()) {
      left_out.push_back(absl::StrCat(step.title(), ": ", step.reason()));
    } else {
      PrintStep(++number, step, said, page);
    }
  }
  if (!left_out.empty()) page->Heading("Not at this stage");
  page->List(left_out);
  if (!programme.notes().empty()) page->Heading("Notes");
  page->List(programme.notes());
}

void PrintProgrammeTable(const v1::TestProgramme& programme, Page* page) {
  page->Heading(absl::StrCat("Tests: ", EnumText(programme.stage())));
  Table table({{"", Table::Align::kRight}, {"test", {}}, {"level", {}}, {"hold", Table::Align::kRight}, {"limit", {}}});
  int number = 0;
  std::vector<std::string> left_out;
  for (const v1::TestStep& step : programme.steps()) {
    if (step.left_out()) {
      left_out.push_back(step.title());
      continue;
    }
    const std::string figures = LimitFigures(step.limit());
    const std::string shop = ShopExpectation(step);
    const bool judged = step.limit().has_low() || step.limit().has_high();
    table.Add({absl::StrCat(++number), step.title(), Level(step), Seconds(step.has_hold_seconds(), step.hold_seconds()),
               absl::StrCat(figures, shop.empty() ? "" : "; ", shop)});
    if (!judged) table.Note(step.limit().text());
  }
  page->Add(table);
  if (!left_out.empty()) page->Item(absl::StrCat("not at this stage: ", absl::StrJoin(left_out, "; ")));
}

}  // namespace coilwright::cli
