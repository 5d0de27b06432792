#include "check_print.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "command.h"
#include "finding_text.h"
#include "request.h"
#include "text.h"
#include "words.h"

namespace coilwright::cli {
namespace {

std::string CheckVerdictText(v1::CheckVerdict verdict) {
  switch (verdict) {
    case v1::CHECK_VERDICT_SOUND:
      return "sound";
    case v1::CHECK_VERDICT_EXPLAINED:
      return "does NOT agree; explained";
    case v1::CHECK_VERDICT_UNEXPLAINED:
      return "does NOT agree; unexplained";
    case v1::CHECK_VERDICT_UNDECIDED:
      return "undecided";
    default:
      return "";
  }
}

std::string Sigmas(double value) { return absl::StrFormat("%+.1f", value); }

// "below 0.1 %" says more than "0 %".
std::string Chance(double probability) {
  return probability < 0.001 ? "< 0.1 %" : absl::StrFormat("%.1f %%", 100 * probability);
}

// The measurement that fits an explanation worst.
std::string WorstFit(const v1::Explanation& explanation) {
  const v1::CorrectedAgreement* worst = nullptr;
  for (const v1::CorrectedAgreement& a : explanation.agreements()) {
    if (worst == nullptr || std::abs(a.sigmas()) > std::abs(worst->sigmas())) worst = &a;
  }
  return worst == nullptr ? "" : absl::StrCat("worst fit ", Sigmas(worst->sigmas()), " sigma, ", worst->what());
}

void PrintExplanations(const v1::RecordCheck& check, Page* page) {
  if (check.explanations().empty()) return;
  page->Heading("Explanations, likeliest first; those of one group cannot be told apart by what was measured");
  Table table({{"group", Table::Align::kRight}, {"chance", Table::Align::kRight}, {"field", {}}, {"should read", {}}});
  for (const v1::Explanation& explanation : check.explanations()) {
    std::vector<std::string> slips;
    if (explanation.corrections().empty()) {
      const bool stopped = !check.stopped_by().empty();
      table.Add({absl::StrCat(explanation.group()), stopped ? "-" : Chance(explanation.probability()),
                 "the record as it stands",
                 stopped ? absl::StrCat("stopped by ", absl::StrJoin(check.stopped_by(), ", ")) : ""});
    }
    for (const v1::Correction& correction : explanation.corrections()) {
      const bool first = slips.empty();
      table.Add({first ? absl::StrCat(explanation.group()) : "", first ? Chance(explanation.probability()) : "and",
                 correction.field(), absl::StrCat(correction.should_read(), ", not ", correction.recorded())});
      slips.push_back(correction.what());
    }
    slips.push_back(WorstFit(explanation));
    table.Note(absl::StrJoin(slips, "; "));
  }
  table.Add({"", Chance(check.unexplained_probability()), "something not on the list", ""});
  page->Add(table);
}

}  // namespace

int ExitStatusOf(const v1::RecordCheck& check) { return MayBeWound(check) ? kExitDone : kExitDoubtful; }

void PrintConclusion(const v1::RecordCheck& check, Page* page) {
  page->Heading(absl::StrCat("Record check: ", CheckVerdictText(check.verdict())));
  page->Item(check.summary());
  if (check.verdict() != v1::CHECK_VERDICT_SOUND) {
    PrintExplanations(check, page);
    if (check.has_next()) {
      const bool tells = check.next().separation_sigmas() > 0;
      page->Heading(tells ? "Measure or look next, to tell the first two apart" : "Measure or look next");
      page->Item(absl::StrCat(
          check.next().what(), check.next().how().empty() ? "" : ": ", check.next().how(),
          tells ? absl::StrCat(" (", Figures(check.next().separation_sigmas(), 2), " sigma between them)") : ""));
    }
  }
  page->Facts({{"may be destroyed next", check.may_be_destroyed_next()}});
}

std::string PrintCheck(const std::string& title, const v1::RecordCheck& check, const Units& units) {
  Page page;
  page.Title(absl::StrCat("Record check", title.empty() ? "" : ": ", title));
  page.Facts({{"moment", EnumText(check.moment())}});
  PrintConclusion(check, &page);
  if (!check.agreements().empty()) {
    page.Heading("What the record makes of each measurement");
    Table table({{"measurement", {}},
                 {"found", Table::Align::kRight},
                 {"expected", Table::Align::kRight},
                 {"off, sigma", Table::Align::kRight},
                 {"", {}}});
    for (const v1::Agreement& agreement : check.agreements()) {
      const double found = agreement.found();
      const CheckedText shown = TextOfChecked(agreement.unit(), &found, &agreement.expected(), units);
      table.Add({agreement.what(), shown.found, shown.expected, Sigmas(agreement.sigmas()),
                 agreement.range_met_in_practice() ? "usual range" : ""});
    }
    page.Add(table);
  }
  if (check.verdict() == v1::CHECK_VERDICT_SOUND) PrintExplanations(check, &page);
  if (!check.still_to_record().empty()) {
    page.Heading("Still to record");
    page.List(check.still_to_record());
  }
  if (!check.unseen().empty()) {
    page.Heading("Would not show in these measurements: look for yourself");
    for (const v1::Correction& correction : check.unseen()) {
      page.Item(absl::StrCat(correction.field(), ": ", correction.what()));
    }
  }
  return page.text();
}

std::string PrintEstimates(const v1::EstimateMissingResponse& answer, const Units& units) {
  Page page;
  page.Title(absl::StrCat("Worked out from what is left", answer.title().empty() ? "" : ": ", answer.title()));
  page.Blank();
  if (answer.estimates().empty()) {
    page.Item("Nothing follows: it needs a resistance or a mass, or plate and core for the flux.");
    return page.text();
  }
  Table table(
      {{"estimate", {}}, {"value", Table::Align::kRight}, {"low to high", Table::Align::kRight}, {"field", {}}});
  for (const v1::Estimate& estimate : answer.estimates()) {
    const double nominal = estimate.value().nominal();
    const CheckedText shown = TextOfChecked(estimate.unit(), &nominal, &estimate.value(), units);
    table.Add({estimate.what(), shown.found, shown.expected, estimate.field()});
    table.Note(estimate.text());
  }
  page.Add(table);
  page.Blank();
  page.Paragraph("Enter what you take from here with EVIDENCE_ESTIMATED, and confirm it before anything is destroyed.");
  return page.text();
}

}  // namespace coilwright::cli
