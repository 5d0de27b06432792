#include "absl/strings/str_cat.h"
#include "coilwright/v1/core_test_service.pb.h"
#include "command.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"

namespace coilwright::cli {
namespace {

template <class Answer>
void PrintWords(const Answer& answer, Page* page) {
  if (!answer.notes().empty()) {
    page->Heading("Notes");
    page->List(answer.notes());
  }
  page->Heading("Cautions");
  page->List(answer.cautions(), "!");
}

std::string OvenText(const v1::OvenLimit& oven, const Units& units) {
  if (!oven.has_part_celsius()) return absl::StrCat("none: ", oven.reason());
  return absl::StrCat("part at most ", units.Text(Quantity::kCelsius, oven.part_celsius()), "; ", oven.reason());
}

std::string Print(const v1::PlanCoreTestResponse& plan, const Units& units) {
  Page page;
  page.Title("ring-flux test of a core");
  page.Blank();
  page.Facts({{"flux wanted in the back iron", units.Text(Quantity::kTeslas, plan.target_teslas())},
              {"volts per turn for it", absl::StrCat(Figures(plan.target_volts_per_turn()), " V")},
              {"back iron", absl::StrCat(units.Text(Quantity::kLengthMm, plan.back_iron_depth_mm()), " deep, ",
                                         units.Text(Quantity::kLengthMm, plan.net_length_mm()), " of iron, ",
                                         units.Text(Quantity::kSlotAreaMm2, plan.back_iron_area_mm2()))},
              {"mean path", units.Text(Quantity::kLengthMm, plan.mean_path_mm())},
              {"mass of the back iron", units.Text(Quantity::kMassKg, plan.back_iron_kg())},
              {"mass of the teeth", plan.has_teeth_kg() ? units.Text(Quantity::kMassKg, plan.teeth_kg()) : ""},
              {"keep it on for", absl::StrCat("at least ", Figures(plan.minutes()), " minutes")}});
  page.Heading("Turns");
  Table table({{"supply V", Table::Align::kRight},
               {"turns", Table::Align::kRight},
               {"V per turn", Table::Align::kPoint},
               {absl::StrCat("flux ", units.Name(Quantity::kTeslas)), Table::Align::kPoint},
               {"off", Table::Align::kRight},
               {"amps", Table::Align::kRight},
               {"kVA", Table::Align::kRight},
               {absl::StrCat("cable ", units.Name(Quantity::kWireAreaMm2)), Table::Align::kPoint}});
  const auto range = [](const v1::Band& band) {
    return absl::StrCat(Figures(band.low(), 3),
                        band.high() > band.low() ? absl::StrCat(" to ", Figures(band.high(), 3)) : "");
  };
  for (const v1::CoreTestOption& option : plan.options()) {
    table.Add({Figures(option.supply_volts()), absl::StrCat(option.turns()), Figures(option.volts_per_turn(), 4, false),
               units.Number(Quantity::kTeslas, option.flux_teslas()), Percent(option.flux_off_ratio(), true),
               option.has_amps_rms() ? range(option.amps_rms()) : "", option.has_kva() ? range(option.kva()) : "",
               option.has_cable_mm2() ? units.Number(Quantity::kWireAreaMm2, option.cable_mm2()) : ""});
    if (!option.note().empty()) table.Note(option.note());
  }
  page.Add(table);
  page.Blank();
  page.Facts({{"search coil", plan.search_coil_formula()}, {"burn-out oven", OvenText(plan.oven(), units)}});
  PrintWords(plan, &page);
  std::set<std::string> rules;
  CollectRules(plan.rule_uses(), &rules);
  rules.insert(plan.oven().rule());
  PrintRules(rules, plan.data_revision(), &page);
  return page.text();
}

std::string Kelvin(bool known, double kelvin, const Units& units) {
  if (!known) return "";
  return units.shop() ? absl::StrCat(Figures(1.8 * kelvin, 3), " F") : absl::StrCat(Figures(kelvin, 3), " K");
}

std::string Print(const v1::CompareCoreTestsResponse& answer, const Units& units) {
  Page page;
  page.Title(absl::StrCat("core before and after: ", EnumText(answer.verdict()), ", ", answer.reason()));
  page.Blank();
  const auto value = [&](const v1::CoreCheck& check, bool has, double figure) -> std::string {
    if (!has) return "";
    switch (check.kind()) {
      case v1::CORE_CHECK_KIND_SPECIFIC_LOSS:
        // Answers hold W/kg; a pound is 0.45359237 kg.
        return units.shop() ? absl::StrCat(Figures(figure * 0.45359237, 3), " W/lb")
                            : absl::StrCat(Figures(figure, 3), " W/kg");
      case v1::CORE_CHECK_KIND_HOT_SPOT:
        return Kelvin(true, figure, units);
      default:
        return absl::StrCat(Fixed(figure, 1), " %");
    }
  };
  Table table(
      {{"check", {}}, {"verdict", {}}, {"found", Table::Align::kRight}, {"limit", Table::Align::kRight}, {"why", {}}});
  std::set<std::string> rules;
  for (const v1::CoreCheck& check : answer.checks()) {
    table.Add({EnumText(check.kind()), EnumText(check.verdict()), value(check, check.has_value(), check.value()),
               value(check, check.has_limit(), check.limit()), check.reason()});
    rules.insert(check.rule());
  }
  page.Add(table);
  page.Blank();
  const auto both = [&](double per_kg, double per_pound) {
    return absl::StrCat(Figures(per_kg, 3), " W/kg, ", Figures(per_pound, 3), " W/lb of back iron");
  };
  const auto flux = [&](bool known, double teslas) {
    return known ? units.Text(Quantity::kTeslas, teslas) : std::string();
  };
  page.Facts(
      {{"mass of the back iron", answer.has_back_iron_kg() ? units.Text(Quantity::kMassKg, answer.back_iron_kg()) : ""},
       {"before",
        answer.has_before_watts_per_kg() ? both(answer.before_watts_per_kg(), answer.before_watts_per_pound()) : ""},
       {"after",
        answer.has_after_watts_per_kg() ? both(answer.after_watts_per_kg(), answer.after_watts_per_pound()) : ""},
       {"flux before", flux(answer.has_before_flux_teslas(), answer.before_flux_teslas())},
       {"flux after", flux(answer.has_after_flux_teslas(), answer.after_flux_teslas())},
       {"hot spot over the start",
        Kelvin(answer.has_hot_spot_over_start_kelvin(), answer.hot_spot_over_start_kelvin(), units)},
       {"hot spot over the mean",
        Kelvin(answer.has_hot_spot_over_average_kelvin(), answer.hot_spot_over_average_kelvin(), units)}});
  PrintWords(answer, &page);
  CollectRules(answer.rule_uses(), &rules);
  PrintRules(rules, answer.data_revision(), &page);
  return page.text();
}

std::string Print(const v1::GetOvenLimitResponse& answer, const Units& units) {
  Page page;
  page.Title(absl::StrCat("burn-out oven: ", OvenText(answer.oven(), units)));
  page.Heading("Cautions");
  page.List(answer.cautions(), "!");
  PrintRules({answer.oven().rule()}, answer.data_revision(), &page);
  return page.text();
}

template <class Request, class Answer>
absl::Status Ask(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 0, "flags only"); !words.ok()) return words;
  Request request;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if constexpr (std::is_same_v<Request, v1::GetOvenLimitRequest>) request.mutable_make();
  Answer answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : Print(answer, session.units);
  return absl::OkStatus();
}

std::vector<Flag> MakeFlags() {
  return {
      {"construction", "HOW", "make.construction", "segmented and bobbin cores get no forecast of current, no oven"},
      {"core-plate", "KIND", "make.core_plate", "organic (taken where unknown), inorganic"},
      {"glued", "", "make.glued", "laminations bonded to each other"},
      {"potted", "", "make.potted", "resin left in the slots or round the core"},
      {"magnets", "", "make.magnets_fitted", "magnets in the stator, or the rotor in the bore"},
      {"aluminium-frame", "", "make.aluminium_frame", "the frame is aluminium"}};
}

std::vector<Flag> With(std::vector<Flag> flags, const std::vector<Flag>& more) {
  flags.insert(flags.end(), more.begin(), more.end());
  return flags;
}

std::vector<Flag> CoreFlags() {
  return With({{"outside", "LENGTH", "core.outer_diameter", "outer diameter of the laminations: 300mm, 20in"},
               {"bore", "LENGTH", "core.bore_diameter", "bore"},
               {"slot-depth", "LENGTH", "core.slot_depth", "depth of a slot, or"},
               {"back-iron", "LENGTH", "core.back_iron_depth", "depth of the iron behind it"},
               {"length", "LENGTH", "core.stack_length", "length over the laminations, vents included"},
               {"vents", "N", "core.vents", "cooling vents"},
               {"vent-width", "LENGTH", "core.vent_width", "width of one"},
               {"stacking", "RATIO", "core.stacking_factor", "iron over length (0.95)"},
               {"slots", "N", "core.slots", "for the mass of the teeth, with"},
               {"tooth-width", "LENGTH", "core.tooth_width", "width of a tooth"},
               {"hertz", "HZ", "frequency_hz", "frequency of the supply"},
               {"designed-hertz", "HZ", "designed_for_hz", "what the machine runs at: poles x rpm / 120"}},
              MakeFlags());
}

}  // namespace

std::vector<Command> CoreCommands() {
  return {{"core compare", "two core tests compared: watts and hot spot",
           "--watts-before W --watts-after W --volts-before V --volts-after V",
           With({{"watts-before", "W", "before.watts", "before burn-out"},
                 {"watts-after", "W", "after.watts", "after the winding is out"},
                 {"volts-before", "V", "before.volts_per_turn", "volts per turn: search coil, or supply over turns"},
                 {"volts-after", "V", "after.volts_per_turn", "the same, after"},
                 {"start", "TEMPERATURE", "after.start_temperature", "core before the loop was on: 21C, 70F"},
                 {"hot-spot", "TEMPERATURE", "after.hot_spot_temperature", "hottest spot"},
                 {"average", "TEMPERATURE", "after.average_temperature", "mean of the core"},
                 {"uncertainty-before", "RATIO", "before.instrument.uncertainty_ratio", "of the watts, k = 2"},
                 {"uncertainty-after", "RATIO", "after.instrument.uncertainty_ratio", "of the watts, k = 2"},
                 {"mass", "MASS", "back_iron_mass", "of the back iron, where its dimensions are not given: 31kg, 70lb"},
                 {"increase", "PERCENT", "loss_increase_most_percent", "most (20)"},
                 {"most-watts-per-kg", "W/KG", "specific_loss_most_watts_per_kg", "most (4 W/lb, 8.82 W/kg)"},
                 {"hot-spot-rule", "RULE", "hot_spot_rule", "service-practice (15 K, default), ieee-1068 (10 K)"},
                 {"hot-spot-over", "WHAT", "hot_spot_reference", "start (default), average"}},
                CoreFlags()),
           Ask<v1::CompareCoreTestsRequest, v1::CompareCoreTestsResponse>},
          {"core oven", "how hot a core may get in a burn-out oven, if at all", "", MakeFlags(),
           Ask<v1::GetOvenLimitRequest, v1::GetOvenLimitResponse>},
          {"core", "plan a ring-flux test of a stripped core",
           "--outside LENGTH --bore LENGTH --slot-depth LENGTH --length LENGTH --hertz HZ --supply V,...",
           With({{"supply", "V,...", "supply_volts", "voltage of the supply, or several to choose from"},
                 {"flux", "FLUX", "target_flux", "1.32T (default), 85000lines/in2"},
                 {"operating-flux", "FLUX", "operating_flux", "in its place: tested at 1.05 times this"},
                 {"h", "A/M", "magnetizing_amps_per_metre_rms", "of this steel at that flux, rms"},
                 {"cable-density", "A/MM2", "cable_amps_per_mm2", "the shop's for the loop cable"},
                 {"lamination", "LENGTH", "lamination_thickness", "of one"}},
                CoreFlags()),
           Ask<v1::PlanCoreTestRequest, v1::PlanCoreTestResponse>}};
}

}  // namespace coilwright::cli
