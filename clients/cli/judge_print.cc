#include "judge_print.h"

#include <set>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "page.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"
#include "words.h"

namespace coilwright::cli {
namespace {

std::string Three(const v1::ThreeValues& values) {
  const auto text = [](bool has, double value) { return has ? Figures(value) : std::string("-"); };
  return absl::StrCat(text(values.has_first(), values.first()), ", ", text(values.has_second(), values.second()), ", ",
                      text(values.has_third(), values.third()));
}

void PrintFindings(const v1::JudgedTest& test, Page* page) {
  if (test.has_phase_resistances()) {
    const v1::PhaseResistances& found = test.phase_resistances();
    page->Heading("Resistances");
    page->Facts({{"line to line at 20 C, ohm", Three(found.line_to_line_ohms_20c())},
                 {"phases at 20 C, ohm", found.has_phase_ohms_20c() ? Three(found.phase_ohms_20c()) : ""},
                 {"phases at 25 C, ohm", found.has_phase_ohms_25c() ? Three(found.phase_ohms_25c()) : ""},
                 {"fewest shorted turns that would show",
                  found.has_least_turns_seen() ? Figures(found.least_turns_seen(), 2) : ""}});
  } else if (test.has_surge()) {
    page->Heading("Surge waves");
    Table waves({{"wave", {}}, {"kHz", Table::Align::kPoint}, {"peak V", Table::Align::kRight}, {"note", {}}});
    for (const v1::WaveFinding& wave : test.surge().waves()) {
      waves.Add({EnumText(wave.point()), wave.has_frequency_hz() ? Fixed(wave.frequency_hz() / 1000, 2) : "",
                 Figures(wave.peak_volts()), wave.collapsed() ? "collapses" : wave.no_ring_reason()});
    }
    page->Add(waves);
    for (const v1::WaveDifference& d : test.surge().differences()) {
      page->Item(absl::StrCat(
          EnumText(d.first()), " against ", EnumText(d.second()), ": difference ratio ",
          Figures(d.waveform_difference_ratio(), 3),
          d.has_frequency_shift_ratio() ? absl::StrCat(", frequency ", Percent(d.frequency_shift_ratio(), true)) : ""));
    }
  } else if (test.has_back_emf() && test.back_emf().has_mean_volts_per_krpm_20c()) {
    page->Heading("Back-EMF");
    page->Facts({{"V per 1000 rpm, magnets at 20 C", Three(test.back_emf().volts_per_krpm_20c())}});
  } else if (test.has_temperature_rise()) {
    page->Heading("Heat run");
    page->Facts({{"winding", absl::StrCat(Figures(test.temperature_rise().winding_celsius()), " C")},
                 {"rise", absl::StrCat(Figures(test.temperature_rise().rise_kelvin()), " K")}});
  }
}

}  // namespace

std::string PrintJudgement(const v1::JudgeReadingsRequest& request, const v1::JudgeReadingsResponse& answer) {
  Page page;
  page.Title(answer.summary());
  page.Facts({{"verdict", EnumText(answer.verdict())}, {"stage", EnumText(request.stage())}});
  page.List(answer.reasons());
  page.Heading("Tests");
  Table table({{"test", {}}, {"verdict", {}}, {"found", {}}, {"limit", {}}});
  std::set<std::string> rules;
  for (const v1::JudgedTest& test : answer.tests()) {
    table.Add({TestWords(test), EnumText(test.verdict()),
               test.has_corrected() ? CorrectedWords(test) : AsReadWords(test), AskedWords(test)});
    std::vector<std::string> note = {test.reason()};
    note.insert(note.end(), test.points_to().begin(), test.points_to().end());
    table.Note(absl::StrJoin(note, "; "));
    CollectRules(test.rule_uses(), &rules);
    for (const std::string& rule : {test.limit().rule(), test.guard_band_rule()}) {
      if (!rule.empty()) rules.insert(rule);
    }
  }
  page.Add(table);
  for (const v1::JudgedTest& test : answer.tests()) PrintFindings(test, &page);
  page.Heading("Next");
  page.List(answer.next_steps());
  if (const std::string missing = MissingWords(answer); !missing.empty()) page.Item(missing);
  CollectRules(answer.rule_uses(), &rules);
  PrintEnd(answer.shop_settings(), answer.notes(), answer.cautions(), rules, answer.data_revision(), &page);
  return page.text();
}

}  // namespace coilwright::cli
