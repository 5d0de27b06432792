#include <algorithm>

#include "absl/strings/str_cat.h"
#include "rpc/read_programme.h"
#include "rpc/read_record.h"
#include "rpc/shop.h"
#include "testing/level_tables.h"

// What a shop chooses: rules and limits of its tests, its bench, its warning levels.
namespace coilwright::rpc {
namespace {

void Take(const Reader& reader, absl::string_view field, const Range& range, std::optional<double>& value) {
  if (const auto given = reader.Number(field, range)) value = given;
}

void ReadRun(const Reader& choice, testing::ShopRun& run) {
  Take(choice, "trip_ac_milliamps", {0, 1000, "mA", true}, run.trip_ac_milliamps);
  Take(choice, "trip_medium_voltage_ac_milliamps", {0, 10000, "mA", true}, run.trip_medium_voltage_ac_milliamps);
  Take(choice, "trip_megohms_milliamps", {0, 100, "mA", true}, run.trip_megohms_milliamps);
  Take(choice, "trip_surge_milliamps", {0, 10000, "mA", true}, run.trip_surge_milliamps);
  constexpr Range kSeconds = {0, 600, "s", true};
  Take(choice, "megohm_ramp_seconds", kSeconds, run.megohm_ramp_seconds);
  Take(choice, "surge_ramp_seconds", kSeconds, run.surge_ramp_seconds);
  Take(choice, "surge_hold_seconds", kSeconds, run.surge_hold_seconds);
  Take(choice, "least_discharge_seconds", {testing::Setting("discharge_least"), 86400, "s"},
       run.least_discharge_seconds);
  Take(choice, "surge_watch_ratio", {0, 1, "", true}, run.surge_watch_ratio);
  Take(choice, "surge_act_ratio", {0, 2, "", true}, run.surge_act_ratio);
  const double watch = run.surge_watch_ratio.value_or(testing::Setting("surge_watch"));
  const double act = run.surge_act_ratio.value_or(testing::Setting("surge_act"));
  if (watch > act)
    choice.Wrong("surge_watch_ratio", absl::StrCat(watch), absl::StrCat("at most the act level of ", act));
}

}  // namespace

plan::TestChoice ReadTestChoice(const Reader& choice) {
  static const plan::TestChoice& none = *new plan::TestChoice;
  const Shop* shop = TheShop();
  return ReadTestChoice(choice, shop == nullptr ? none : shop->tests);
}

plan::TestChoice ReadTestChoice(const Reader& choice, const plan::TestChoice& defaults) {
  plan::TestChoice read = defaults;
  read.family = choice.Enum<testing::Family>("family").value_or(read.family);
  read.condition = choice.Enum<testing::Condition>("condition").value_or(read.condition);
  read.megohm_edition = choice.Enum<insulation::MegohmEdition>("megohm_edition").value_or(read.megohm_edition);
  if (const auto family = choice.Enum<insulation::InsulationFamily>("insulation_family")) {
    read.insulation_family = *family;
    read.insulation_family_given = true;
  }
  read.form_wound_surge = choice.Enum<testing::FormWoundSurge>("form_wound_surge").value_or(read.form_wound_surge);
  read.shop_expectation_megohms =
      choice.Number("shop_expectation_megohms", {0.001, 1e6, "megohms"}).value_or(read.shop_expectation_megohms);
  read.resistance_unbalance_percent =
      choice.Number("resistance_unbalance_percent", {0.01, 50, "%"}).value_or(read.resistance_unbalance_percent);
  read.before_treatment_share =
      choice.Number("before_treatment_share", {0.1, 0.8, ""}).value_or(read.before_treatment_share);
  ReadRun(choice, read.run);
  return read;
}

double ReadUnbalancePercent(const Reader& choice, bool form_wound) {
  const Shop* shop = TheShop();
  const bool said = choice.Has("resistance_unbalance_percent") ||
                    (shop != nullptr && shop->file.tests().has_resistance_unbalance_percent());
  if (said) return ReadTestChoice(choice).resistance_unbalance_percent;
  return testing::Setting(form_wound ? "unbalance_form_wound" : "unbalance_random_wound");
}

testing::BenchMeans ReadBench(const Reader& bench) {
  const Shop* shop = TheShop();
  return ReadBench(bench, shop == nullptr ? testing::BenchMeans() : shop->tests.bench);
}

testing::BenchMeans ReadBench(const Reader& bench, const testing::BenchMeans& defaults) {
  testing::BenchMeans read = defaults;
  constexpr Range kVolts = {0, 500000, "V"};
  Take(bench, "greatest_withstand_volts_ac", kVolts, read.greatest_withstand_volts_ac);
  Take(bench, "greatest_withstand_volts_dc", kVolts, read.greatest_withstand_volts_dc);
  Take(bench, "greatest_surge_volts_peak", kVolts, read.greatest_surge_volts_peak);
  Take(bench, "least_ohms", {0, 1e6, "ohms"}, read.least_ohms);
  if (bench.Has("polarization_run")) read.polarization_run = bench.Flag("polarization_run");
  if (bench.Has("ring_flux_supply")) read.ring_flux_supply = bench.Flag("ring_flux_supply");
  const auto& volts = static_cast<const v1::Bench&>(bench.message()).megohm_test_volts_dc();
  constexpr int kMostVoltages = 50;
  if (volts.size() > kMostVoltages)
    bench.Wrong("megohm_test_volts_dc", absl::StrCat(volts.size(), " voltages"), "at most 50");
  if (!volts.empty()) read.megohm_test_volts_dc.clear();
  for (int i = 0; i < std::min(volts.size(), kMostVoltages); ++i) {
    const std::string field = absl::StrCat("megohm_test_volts_dc[", i, "]");
    // What is no number has been refused already.
    if (!(volts[i] >= 1 && volts[i] <= 100000) && volts[i] - volts[i] == 0)
      bench.Wrong(field, absl::StrCat(volts[i], " V"), "1 V to 100000 V");
    if (volts[i] >= 1 && volts[i] <= 100000) read.megohm_test_volts_dc.push_back(volts[i]);
  }
  return read;
}

plan::Settings ReadSettings(const Reader& settings) {
  const Shop* shop = TheShop();
  return ReadSettings(settings, shop == nullptr ? plan::Settings() : shop->plan);
}

plan::Settings ReadSettings(const Reader& settings, const plan::Settings& defaults) {
  plan::Settings read = defaults;
  read.fill_levels.watch_ratio =
      settings.Number("fullness_watch_ratio", {0.05, 1.5, ""}).value_or(read.fill_levels.watch_ratio);
  read.fill_levels.act_ratio =
      settings.Number("fullness_act_ratio", {0.05, 1.5, ""}).value_or(read.fill_levels.act_ratio);
  if (read.fill_levels.watch_ratio > read.fill_levels.act_ratio) {
    settings.Wrong("fullness_watch_ratio",
                   absl::StrCat(read.fill_levels.watch_ratio, " above the act level of ", read.fill_levels.act_ratio),
                   "at most the act level");
  }
  read.lead_share = settings.Number("lead_share", {0, 0.5, ""}).value_or(read.lead_share);
  read.waste_share = settings.Number("waste_share", {0, 0.5, ""}).value_or(read.waste_share);
  if (const auto given = settings.Number("current_density_watch_a_per_mm2", {0.1, 100, "A/mm2"})) {
    read.current_density_watch_a_per_mm2 = given;
  }
  const auto take = [&settings](absl::string_view field, std::optional<double>& value) {
    if (const auto given = settings.Number(field, {0.05, 3, "T"})) value = given;
  };
  take("air_gap_watch_teslas", read.air_gap_watch_teslas);
  take("tooth_watch_teslas", read.tooth_watch_teslas);
  take("back_iron_watch_teslas", read.back_iron_watch_teslas);
  read.preset = settings.Enum<standards::ConductorPreset>("conductor_preset").value_or(read.preset);
  if (const auto bench = settings.Celsius("bench_temperature", -40, 200)) read.bench_celsius = bench;
  return read;
}

}  // namespace coilwright::rpc
