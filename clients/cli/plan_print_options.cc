#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "plan_print.h"
#include "text.h"
#include "wire_print.h"
#include "words.h"

namespace coilwright::cli {
namespace {

using Align = Table::Align;

std::string Density(const v1::WindingOption& option, const Units& units) {
  if (!option.has_current_density_a_per_mm2()) return "";
  return units.Number(Quantity::kAmpsPerMm2, option.current_density_a_per_mm2());
}

using Facts = std::vector<std::pair<std::string, std::string>>;

void AddFill(const v1::WindingOption& option, const Units& units, Facts* facts) {
  if (!option.has_fill()) {
    facts->emplace_back("slot", "not measured: fill not known");
    return;
  }
  const v1::SlotFill& fill = option.fill();
  facts->emplace_back("slot", absl::StrCat(units.Text(Quantity::kSlotAreaMm2, fill.slot_gross_mm2()), " gross, ",
                                           units.Text(Quantity::kSlotAreaMm2, fill.slot_net_mm2()),
                                           " net of liner, wedge and separator"));
  facts->emplace_back("bare copper over gross slot", Percent(fill.bare_copper_fill_ratio()));
  facts->emplace_back("wire over film, net slot", Percent(fill.insulated_wire_fill_ratio()));
  facts->emplace_back("diameters squared, net slot",
                      absl::StrCat(Percent(fill.fullness_ratio()), ", ", Mark(fill.level()),
                                   fill.text().empty() ? "" : ": ", fill.text()));
}

}  // namespace

void PrintOriginal(const v1::PlanRewindResponse& plan, const Units& units, Page* page) {
  const v1::WindingOption& original = plan.as_recorded();
  page->Heading("Wire of the original");
  Facts facts = {
      {"wires", StrandWords(original.conductor())},
      {"area", units.Text(Quantity::kWireAreaMm2, original.conductor().area_mm2())},
      {"current density", original.has_current_density_a_per_mm2()
                              ? units.Text(Quantity::kAmpsPerMm2, original.current_density_a_per_mm2())
                              : ""},
      {"mean turn", absl::StrCat(units.Text(Quantity::kLengthMetres, plan.mean_turn_metres()),
                                 plan.mean_turn_method().empty() ? "" : absl::StrCat(", ", plan.mean_turn_method()))},
      {"bare copper", units.Text(Quantity::kMassKg, original.bare_copper_kg())},
      {"area wanted now", units.Text(Quantity::kWireAreaMm2, plan.target_area_mm2())}};
  AddFill(original, units, &facts);
  page->Facts(facts);
  page->List(original.conductor().warnings(), "!");
}

void PrintOptions(const v1::PlanRewindResponse& plan, const Units& units, Page* page) {
  page->Heading("Ways to wind it, best first");
  if (plan.options().empty()) page->Paragraph("No wires within the limits hold the area and fit the slot.");
  Table table({{"", Align::kRight},
               {"in hand", Align::kRight},
               {"area off", Align::kPoint},
               {"fullness", Align::kPoint},
               {"", {}},
               {units.Name(Quantity::kAmpsPerMm2), Align::kPoint},
               {absl::StrCat("ohm ", units.Text(Quantity::kCelsius, 20)), Align::kPoint},
               {"wires", {}}});
  int rank = 0;
  for (const v1::WindingOption& option : plan.options()) {
    const v1::StrandChoice& conductor = option.conductor();
    const std::string warnings =
        conductor.warnings().empty() ? "" : absl::StrCat(" (", absl::StrJoin(conductor.warnings(), "; "), ")");
    table.Add({absl::StrCat(++rank), absl::StrCat(conductor.wires_in_hand()),
               Percent(conductor.area_error_ratio(), true),
               option.has_fill() ? Percent(option.fill().fullness_ratio()) : "",
               option.has_fill() ? Mark(option.fill().level()) : "", Density(option, units),
               option.resistance().empty()
                   ? ""
                   : units.Number(Quantity::kOhms, option.resistance(0).line_to_line_ohms().nominal()),
               StrandWords(conductor) + warnings});
  }
  page->Add(table);
  if (!plan.wires_left_out().empty()) {
    page->Blank();
    page->Paragraph("Left out:");
    page->List(plan.wires_left_out());
  }
}

void PrintOption(const v1::WindingOption& option, const std::string& heading, const Units& units, Page* page) {
  page->Heading(heading);
  Facts facts;
  AddFill(option, units, &facts);
  facts.emplace_back("bare copper", units.Text(Quantity::kMassKg, option.bare_copper_kg()));
  page->Facts(facts);
  page->Heading("Resistance to expect");
  Table resistance({{"winding at", Align::kRight},
                    {"line to line, ohm", Align::kPoint},
                    {"low to high", Align::kRight},
                    {"phase, ohm", Align::kPoint},
                    {"low to high", Align::kRight}});
  for (const v1::ExpectedResistance& at : option.resistance()) {
    resistance.Add({units.Text(Quantity::kCelsius, at.winding_celsius()),
                    units.Number(Quantity::kOhms, at.line_to_line_ohms().nominal()),
                    units.Range(Quantity::kOhms, at.line_to_line_ohms()),
                    units.Number(Quantity::kOhms, at.phase_ohms().nominal()),
                    units.Range(Quantity::kOhms, at.phase_ohms())});
  }
  page->Add(resistance);
  page->Heading("Wire to order");
  Table orders({{"wire", {}},
                {absl::StrCat("length ", units.Name(Quantity::kLengthMetres)), Align::kPoint},
                {absl::StrCat("bare in the coils ", units.Name(Quantity::kMassKg)), Align::kPoint},
                {absl::StrCat("to buy, with film, leads, waste ", units.Name(Quantity::kMassKg)), Align::kPoint}});
  for (const v1::WireOrder& order : option.wire_orders()) {
    orders.Add({order.designation(), units.Number(Quantity::kLengthMetres, order.length_metres()),
                units.Number(Quantity::kMassKg, order.bare_copper_kg()),
                units.Number(Quantity::kMassKg, order.order_kg())});
  }
  page->Add(orders);
}

void PrintLoadings(const v1::PlanRewindResponse& plan, const Units& units, Page* page) {
  const v1::Loading& before = plan.loading_as_recorded();
  const v1::Loading& after = plan.loading_planned();
  Table table({{"", {}}, {"as recorded", Align::kLeft}, {"as planned", Align::kLeft}});
  const auto add = [&](const std::string& what, bool has_before, const std::string& was, bool has_after,
                       const std::string& is) {
    if (has_before || has_after) table.Add({what, has_before ? was : "not known", has_after ? is : "not known"});
  };
  const auto scalar = [&](const char* what, Quantity quantity, bool has_before, double was, bool has_after, double is) {
    add(what, has_before, units.Text(quantity, was), has_after, units.Text(quantity, is));
  };
  add("flux per pole", before.has_flux_webers(), units.Text(Quantity::kWebers, before.flux_webers()),
      after.has_flux_webers(), units.Text(Quantity::kWebers, after.flux_webers()));
  scalar("air gap, mean", Quantity::kTeslas, before.has_air_gap_mean_teslas(), before.air_gap_mean_teslas(),
         after.has_air_gap_mean_teslas(), after.air_gap_mean_teslas());
  scalar("air gap, peak", Quantity::kTeslas, before.has_air_gap_peak_teslas(), before.air_gap_peak_teslas(),
         after.has_air_gap_peak_teslas(), after.air_gap_peak_teslas());
  scalar("tooth", Quantity::kTeslas, before.has_tooth_teslas(), before.tooth_teslas(), after.has_tooth_teslas(),
         after.tooth_teslas());
  scalar("back iron", Quantity::kTeslas, before.has_back_iron_teslas(), before.back_iron_teslas(),
         after.has_back_iron_teslas(), after.back_iron_teslas());
  scalar("current density", Quantity::kAmpsPerMm2, before.has_current_density_a_per_mm2(),
         before.current_density_a_per_mm2(), after.has_current_density_a_per_mm2(), after.current_density_a_per_mm2());
  const v1::MachineConstants& was = plan.constants_as_recorded();
  const v1::MachineConstants& is = plan.constants_planned();
  if (plan.has_constants_as_recorded() || plan.has_constants_planned()) {
    const auto volts = [&](const v1::MachineConstants& c) {
      return units.Text(Quantity::kVolts, c.ke_ll_rms_volts_per_krpm());
    };
    const auto torque = [&](const v1::MachineConstants& c) {
      return units.Text(Quantity::kNmPerAmp, c.kt_nm_per_arms());
    };
    const auto motor = [&](const v1::MachineConstants& c) {
      return units.Text(Quantity::kNmPerRootWatt, c.km_nm_per_sqrt_watt().nominal());
    };
    add("volts line to line, rms, per 1000 rpm", was.has_ke_ll_rms_volts_per_krpm(), volts(was),
        is.has_ke_ll_rms_volts_per_krpm(), volts(is));
    add("torque per A rms", was.has_kt_nm_per_arms(), torque(was), is.has_kt_nm_per_arms(), torque(is));
    add(absl::StrCat("motor constant, ", units.Text(Quantity::kCelsius, 20)), was.has_km_nm_per_sqrt_watt(), motor(was),
        is.has_km_nm_per_sqrt_watt(), motor(is));
    add("no-load speed at rated volts, rpm", was.no_load_rpm() > 0, Figures(was.no_load_rpm()), is.no_load_rpm() > 0,
        Figures(is.no_load_rpm()));
  }
  if (table.empty()) return;
  page->Heading("Flux and constants, before and after");
  page->Add(table);
  if (!was.ke_source().empty()) page->Paragraph(absl::StrCat("Voltage constant from: ", was.ke_source(), "."));
}

}  // namespace coilwright::cli
