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

// "energised U, V, W; earthed frame"
std::string Terminals(const v1::TestStep& step) {
  std::map<int, std::vector<std::string>> by_potential;
  for (const v1::Terminal& terminal : step.terminals()) by_potential[terminal.potential()].push_back(terminal.name());
  std::vector<std::string> parts;
  for (const auto& [potential, names] : by_potential) {
    parts.push_back(absl::StrCat(EnumText(static_cast<v1::Potential>(potential)), " ", absl::StrJoin(names, ", ")));
  }
  return absl::StrJoin(parts, "; ");
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

void PrintStep(int number, const v1::TestStep& step, Page* page) {
  page->Blank();
  page->Item(step.title(), absl::StrCat(number, "."));
  page->Facts({{"  why", step.reason()},
               {"  after", After(step)},
               {"  prepare", absl::StrJoin(step.prepare(), "; ")},
               {"  terminals", Terminals(step)},
               {"  level", Level(step)},
               {"  level is", step.level_note()},
               {"  ramp", Seconds(step.has_ramp_seconds(), step.ramp_seconds())},
               {"  hold", Seconds(step.has_hold_seconds(), step.hold_seconds())},
               {"  trip", step.has_trip_milliamps() ? absl::StrCat(Figures(step.trip_milliamps()), " mA") : ""},
               {"  discharge", step.has_discharge_seconds()
                                   ? absl::StrCat("earth it at least ", Seconds(true, step.discharge_seconds()))
                                   : ""},
               {"  limit", LimitText(step.limit())},
               {"  shop", ShopExpectation(step)},
               {"  stop when", absl::StrJoin(step.abort_when(), "; ")},
               {"  caution", absl::StrJoin(step.cautions(), " ")}});
}

void PrintLeftOut(const v1::TestProgramme& programme, Page* page) {
  for (const v1::TestStep& step : programme.steps()) {
    if (step.left_out()) page->Item(absl::StrCat("not at this stage: ", step.title(), ": ", step.reason()));
  }
}

}  // namespace

std::string LevelText(double volts, v1::VoltageShape shape) {
  return absl::StrCat(Figures(volts), " V",
                      shape == v1::VOLTAGE_SHAPE_UNSPECIFIED ? "" : absl::StrCat(" ", EnumText(shape)));
}

std::string LimitText(const v1::AcceptanceLimit& limit) {
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
      text = "no limit in the standard";
      break;
    case v1::LIMIT_KIND_NOT_APPLICABLE:
      text = "not applicable";
      break;
    default:
      break;
  }
  if (!limit.corrected_to().empty()) absl::StrAppend(&text, ", corrected to ", limit.corrected_to());
  if (!limit.text().empty()) absl::StrAppend(&text, text.empty() ? "" : "; ", limit.text());
  return text;
}

void PrintProgramme(const v1::TestProgramme& programme, Page* page, std::set<std::string>* rules) {
  if (!programme.cautions().empty()) {
    page->Heading("Before any step");
    page->List(programme.cautions(), "!");
  }
  int number = 0;
  for (const v1::TestStep& step : programme.steps()) {
    CollectStepRules(step, rules);
    if (!step.left_out()) PrintStep(++number, step, page);
  }
  page->Blank();
  PrintLeftOut(programme, page);
  if (!programme.notes().empty()) {
    page->Heading("Notes");
    page->List(programme.notes());
  }
}

void PrintProgrammeTable(const v1::TestProgramme& programme, Page* page, std::set<std::string>* rules) {
  page->Heading(absl::StrCat("Tests: ", EnumText(programme.stage())));
  Table table({{"", Table::Align::kRight}, {"test", {}}, {"level", {}}, {"hold", Table::Align::kRight}, {"limit", {}}});
  int number = 0;
  for (const v1::TestStep& step : programme.steps()) {
    CollectStepRules(step, rules);
    if (step.left_out()) continue;
    const std::string shop = ShopExpectation(step);
    table.Add({absl::StrCat(++number), step.title(), Level(step), Seconds(step.has_hold_seconds(), step.hold_seconds()),
               absl::StrCat(LimitText(step.limit()), shop.empty() ? "" : "; ", shop)});
  }
  page->Add(table);
  PrintLeftOut(programme, page);
  page->List(programme.notes());
}

}  // namespace coilwright::cli
