#include "wire_print.h"

#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "page.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"
#include "words.h"

namespace coilwright::cli {
namespace {

using Align = Table::Align;

std::string Heading(const char* what, const Units& units, Quantity quantity) {
  return absl::StrCat(what, " ", units.Name(quantity));
}

}  // namespace

std::string PrintWire(const v1::LookUpWireResponse& answer, const Units& units) {
  const v1::Wire& wire = answer.wire();
  Page page;
  page.Title(wire.designation());
  page.Facts({
      {"bare diameter", units.Text(Quantity::kWireDiameterMm, wire.bare_diameter_mm())},
      {"over the film",
       wire.film() == v1::FILM_BARE ? "" : units.Text(Quantity::kWireDiameterMm, wire.overall_diameter_mm())},
      {"area", absl::StrCat(Figures(wire.area_mm2()), " mm2, ", Figures(wire.area_cmil()), " cmil")},
      {absl::StrCat("resistance at ", units.Text(Quantity::kCelsius, wire.celsius())),
       units.Text(Quantity::kOhmsPerKm, wire.resistance_ohms_per_km())},
      {"mass, bare", units.Text(Quantity::kKgPerKm, wire.bare_kg_per_km())},
      {"mass, with film", wire.film() == v1::FILM_BARE ? "" : units.Text(Quantity::kKgPerKm, wire.coated_kg_per_km())},
      {"size", wire.tabulated() ? "in the table of its series" : "not in a table: by formula or as measured"},
      {"next thicker",
       answer.has_next_thicker()
           ? absl::StrCat(answer.next_thicker().designation(), ", bare ",
                          units.Text(Quantity::kWireDiameterMm, answer.next_thicker().bare_diameter_mm().nominal()))
           : ""},
      {"next thinner",
       answer.has_next_thinner()
           ? absl::StrCat(answer.next_thinner().designation(), ", bare ",
                          units.Text(Quantity::kWireDiameterMm, answer.next_thinner().bare_diameter_mm().nominal()))
           : ""},
  });
  PrintRuleUses(wire.rule_uses(), answer.data_revision(), &page);
  return page.text();
}

std::string PrintWires(const v1::ListWiresResponse& answer, const Units& units) {
  Page page;
  const auto q = [&](Quantity quantity, double si) { return units.Number(quantity, si); };
  Table table({{"wire", {}},
               {Heading("bare", units, Quantity::kWireDiameterMm), Align::kPoint},
               {Heading("over film", units, Quantity::kWireDiameterMm), Align::kPoint},
               {"least to greatest", Align::kRight},
               {"mm2", Align::kPoint},
               {"cmil", Align::kPoint},
               {absl::StrCat(units.Name(Quantity::kOhmsPerKm), " ", units.Text(Quantity::kCelsius, 20)), Align::kPoint},
               {units.Name(Quantity::kKgPerKm), Align::kPoint}});
  for (const v1::Wire& wire : answer.wires()) {
    const bool film = wire.film() != v1::FILM_BARE;
    table.Add({wire.designation(), q(Quantity::kWireDiameterMm, wire.bare_diameter_mm().nominal()),
               film ? q(Quantity::kWireDiameterMm, wire.overall_diameter_mm().nominal()) : "",
               film ? units.Range(Quantity::kWireDiameterMm, wire.overall_diameter_mm()) : "",
               Figures(wire.area_mm2(), 4, false), Figures(wire.area_cmil(), 4, false),
               q(Quantity::kOhmsPerKm, wire.resistance_ohms_per_km().nominal()),
               q(Quantity::kKgPerKm, film ? wire.coated_kg_per_km() : wire.bare_kg_per_km())});
  }
  page.Add(table);
  page.Heading(absl::StrCat(answer.wires_size(), " wires, data revision ", answer.data_revision()));
  return page.text();
}

std::string PrintCandidates(const v1::IdentifyWireResponse& answer, bool over_film, const Units& units) {
  Page page;
  page.Title(absl::StrCat("mean reading ", units.Text(Quantity::kWireDiameterMm, answer.mean_mm()),
                          over_film ? " over the film" : " on the bare wire", ", spread ",
                          units.Text(Quantity::kWireDiameterMm, answer.spread_mm())));
  page.Blank();
  Table table({{"wire", {}},
               {"chance", Align::kPoint},
               {Heading("should read", units, Quantity::kWireDiameterMm), Align::kPoint},
               {"off by", Align::kPoint},
               {"within limits", {}},
               {"alike", Align::kRight}});
  for (const v1::WireCandidate& candidate : answer.candidates()) {
    const std::string off = units.Number(Quantity::kWireDiameterMm, candidate.deviation_mm());
    table.Add({candidate.wire().designation(), Percent(candidate.probability()),
               units.Number(Quantity::kWireDiameterMm, candidate.expected_mm()),
               absl::StrCat(off[0] == '-' ? "" : "+", off), candidate.within_limits() ? "yes" : "no",
               absl::StrCat(candidate.group())});
  }
  page.Add(table);
  page.Blank();
  if (answer.candidates().empty()) {
    page.Paragraph("No tabulated wire lies near.");
  } else {
    page.Paragraph(
        answer.decided()
            ? "Decided: the first stands alone in front."
            : "Not decided: wires with the same number under \"alike\" cannot be told apart by these readings.");
  }
  page.Paragraph(answer.advice());
  PrintRuleUses(answer.rule_uses(), answer.data_revision(), &page);
  return page.text();
}

std::string PrintStrandChoices(const v1::ChooseStrandsResponse& answer, const Units& units) {
  Page page;
  page.Title(absl::StrCat("conductor area wanted: ", units.Text(Quantity::kWireAreaMm2, answer.target_area_mm2())));
  page.Blank();
  if (answer.choices().empty()) page.Paragraph("No wires within the limits hold this area.");
  Table table({{"", Align::kRight},
               {"in hand", Align::kRight},
               {units.Name(Quantity::kWireAreaMm2), Align::kPoint},
               {"area off", Align::kPoint},
               {"fullness", Align::kPoint},
               {"wires", {}}});
  int rank = 0;
  for (const v1::StrandChoice& choice : answer.choices()) {
    const std::string warnings =
        choice.warnings().empty() ? "" : absl::StrCat(" (", absl::StrJoin(choice.warnings(), "; "), ")");
    table.Add({absl::StrCat(++rank), absl::StrCat(choice.wires_in_hand()),
               units.Number(Quantity::kWireAreaMm2, choice.area_mm2()), Percent(choice.area_error_ratio(), true),
               choice.has_fullness_ratio() ? Percent(choice.fullness_ratio()) : "", StrandWords(choice) + warnings});
  }
  page.Add(table);
  if (!answer.left_out().empty()) {
    page.Heading("Left out");
    page.List(answer.left_out());
  }
  PrintRuleUses(answer.rule_uses(), answer.data_revision(), &page);
  return page.text();
}

}  // namespace coilwright::cli
