#include "programme_print.h"

#include <algorithm>
#include <map>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"
#include "words.h"

namespace coilwright::cli {
namespace {

using Facts = std::vector<std::pair<std::string, std::string>>;

std::string Seconds(bool known, double seconds) { return known ? absl::StrCat(Figures(seconds), " s") : ""; }

std::string Level(const v1::TestStep& step) {
  return step.has_test_volts() ? LevelWords(step.test_volts(), step.volts_shape()) : "";
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

// What to do first. Lines that open the list of an earlier step are named by it, "as in step 2", so that what differs
// shows. Lists by step, first first.
std::vector<std::string> Prepare(const v1::TestStep& step, const std::vector<std::vector<std::string>>& earlier) {
  const std::set<std::string> own(step.prepare().begin(), step.prepare().end());
  size_t as_in = 0, shared = 1;  // one line is said again
  for (size_t i = 0; i < earlier.size(); ++i) {
    const auto differs = std::find_if(earlier[i].begin(), earlier[i].end(),
                                      [&own](const std::string& text) { return own.count(text) == 0; });
    const auto same = static_cast<size_t>(differs - earlier[i].begin());
    if (same <= shared) continue;
    as_in = i;
    shared = same;
  }
  if (shared == 1) return {step.prepare().begin(), step.prepare().end()};
  const std::vector<std::string>& list = earlier[as_in];
  const auto end = list.begin() + static_cast<std::ptrdiff_t>(shared);
  std::vector<std::string> texts = {absl::StrCat(
      "as in step ", as_in + 1, shared == list.size() ? "" : absl::StrCat(", its first ", shared, " points"))};
  for (const std::string& text : step.prepare()) {
    if (std::find(list.begin(), end, text) == end) texts.push_back(text);
  }
  return texts;
}

void PrintStep(int number, const v1::TestStep& step, const std::vector<std::string>& prepare,
               const std::set<std::string>& said, Page* page) {
  Facts facts = {{"  why", step.reason()}, {"  after", After(step)}};
  AddLines("  prepare", prepare, &facts);
  AddLines("  terminals", Terminals(step), &facts);
  facts.emplace_back("  level", Level(step));
  facts.emplace_back(Level(step).empty() ? "  level" : "", step.level_note());
  facts.emplace_back("  ramp", Seconds(step.has_ramp_seconds(), step.ramp_seconds()));
  facts.emplace_back("  hold", Seconds(step.has_hold_seconds(), step.hold_seconds()));
  facts.emplace_back("  trip", step.has_trip_milliamps() ? absl::StrCat(Figures(step.trip_milliamps()), " mA") : "");
  const std::string discharge = Seconds(step.has_discharge_seconds(), step.discharge_seconds());
  facts.emplace_back("  discharge", discharge.empty() ? "" : absl::StrCat("earth it at least ", discharge));
  const std::string figures = LimitWords(step.limit());
  facts.emplace_back("  limit", figures);
  facts.emplace_back(figures.empty() ? "  limit" : "", step.limit().text());
  facts.emplace_back("  shop", ShopExpectation(step));
  AddLines("  stop when", step.abort_when(), &facts);
  std::vector<std::string> cautions;
  for (const std::string& caution : step.cautions()) {
    if (said.count(caution) == 0) cautions.push_back(caution);
  }
  AddLines("  caution", cautions, &facts);
  AddLines("  note", step.notes(), &facts);
  page->Blank();
  page->Item(step.title(), absl::StrCat(number, "."));
  page->Facts(facts);
}

// Short heads, so that every stage has a column; the line below the table says them in full.
std::string StageHeading(v1::Stage stage) {
  switch (stage) {
    case v1::STAGE_AS_RECEIVED:
      return "intake";
    case v1::STAGE_STRIPPED_CORE:
      return "core";
    case v1::STAGE_WOUND_STAR_OPEN:
      return "open";
    case v1::STAGE_WOUND_BEFORE_TREATMENT:
      return "wound";
    case v1::STAGE_ASSEMBLED:
      return "release";
    default:
      return EnumText(stage);
  }
}

std::string ShortLevel(const v1::TestStep& step) {
  const char* shape = step.volts_shape() == v1::VOLTAGE_SHAPE_DC       ? " dc"
                      : step.volts_shape() == v1::VOLTAGE_SHAPE_AC_RMS ? " ac"
                      : step.volts_shape() == v1::VOLTAGE_SHAPE_PEAK   ? " pk"
                                                                       : " V";
  return absl::StrCat(Figures(step.test_volts()), shape);
}

const v1::TestStep* StepCalled(const std::string& title, const v1::TestProgramme& programme) {
  for (const v1::TestStep& step : programme.steps()) {
    if (!step.left_out() && step.title() == title) return &step;
  }
  return nullptr;
}

// The tests of all stages, each once: one that a later stage adds stands behind what it follows there.
std::vector<std::string> TitlesInOrder(const google::protobuf::RepeatedPtrField<v1::TestProgramme>& programmes) {
  std::vector<std::string> titles;
  for (const v1::TestProgramme& programme : programmes) {
    auto at = titles.begin();
    for (const v1::TestStep& step : programme.steps()) {
      if (step.left_out()) continue;
      const auto known = std::find(titles.begin(), titles.end(), step.title());
      at = known == titles.end() ? titles.insert(at, step.title()) : known;
      ++at;
    }
  }
  return titles;
}

// What a reading has to meet, or what to look for; how long the voltage is held.
std::string Wanted(const v1::TestStep& step) {
  // Percent of what stands in the text only.
  const bool judged = (step.limit().has_low() || step.limit().has_high()) && step.limit().unit() != "percent";
  std::vector<std::string> parts = {judged ? LimitWords(step.limit()) : step.limit().text()};
  if (step.has_shop_expectation()) parts.push_back(ShopExpectation(step));
  if (step.has_hold_seconds()) parts.push_back(absl::StrCat("held ", Seconds(true, step.hold_seconds())));
  return absl::StrJoin(parts, "; ");
}

}  // namespace

void PrintProgramme(const v1::TestProgramme& programme, Page* page, std::set<std::string>* rules) {
  page->Heading("Before any step");
  page->List(programme.cautions(), "!");
  const std::set<std::string> said(programme.cautions().begin(), programme.cautions().end());
  int number = 0;
  std::vector<std::vector<std::string>> prepared;
  std::vector<std::string> left_out;
  for (const v1::TestStep& step : programme.steps()) {
    CollectStepRules(step, rules);
    if (step.left_out()) {
      left_out.push_back(absl::StrCat(step.title(), ": ", step.reason()));
    } else {
      PrintStep(++number, step, Prepare(step, prepared), said, page);
      prepared.emplace_back(step.prepare().begin(), step.prepare().end());
    }
  }
  if (!left_out.empty()) page->Heading("Not at this stage");
  page->List(left_out);
  if (!programme.notes().empty()) page->Heading("Notes");
  page->List(programme.notes());
}

void PrintProgrammes(const google::protobuf::RepeatedPtrField<v1::TestProgramme>& programmes, Page* page) {
  page->Heading("Tests, stage by stage");
  std::vector<Table::Column> columns = {{"test", {}}};
  for (const v1::TestProgramme& programme : programmes) columns.push_back({StageHeading(programme.stage()), {}});
  Table table(columns);
  Facts limits;
  for (const std::string& title : TitlesInOrder(programmes)) {
    std::vector<std::string> cells = {title};
    std::string wanted;
    for (const v1::TestProgramme& programme : programmes) {
      const v1::TestStep* step = StepCalled(title, programme);
      cells.push_back(step == nullptr ? "-" : step->has_test_volts() ? ShortLevel(*step) : "yes");
      if (step != nullptr) wanted = Wanted(*step);
    }
    table.Add(std::move(cells));
    limits.emplace_back(title, wanted);
  }
  page->Add(table);
  std::vector<std::string> stages;
  for (const v1::TestProgramme& programme : programmes) {
    const std::string heading = StageHeading(programme.stage());
    const std::string name = EnumText(programme.stage());
    stages.push_back(heading == name ? name : absl::StrCat(heading, " = ", name));
  }
  page->Paragraph(absl::StrCat("Stages: ", absl::StrJoin(stages, ", "), ". Volts dc, ac rms, pk = peak of a surge."));
  page->Paragraph("What each test has to show at its last stage:");
  page->Facts(limits);
}

}  // namespace coilwright::cli
