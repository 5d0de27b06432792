// The shop's own settings: what they fill in, what wins over them, what is said of them, and what is refused.
#include "rpc/shop.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "absl/strings/str_cat.h"
#include "calls/samples.h"
#include "rpc/methods.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

constexpr char kSettings[] = R"pb(
  name: "Harbour Lane motor shop"
  tests { family: STANDARD_FAMILY_NEMA_MG_1 shop_expectation_megohms: 500 trip_ac_milliamps: 5 surge_act_ratio: 0.08 }
  bench { greatest_withstand_volts_ac: 1200 }
  plan {
    fullness_watch_ratio: 0.5
    fullness_act_ratio: 0.52
    bench_temperature { fahrenheit: 68 }
  }
)pb";

class Settings : public ::testing::Test {
 protected:
  ~Settings() override { EXPECT_TRUE(UseShop(nullptr).ok()); }
  static void Serve(const std::string& text) {
    const auto file = calls::Parse<v1::SettingsFile>(text);
    ASSERT_TRUE(UseShop(&file).ok());
  }
  static std::vector<std::string> Refused(const std::string& text) {
    const auto file = calls::Parse<v1::SettingsFile>(text);
    std::vector<std::string> fields;
    for (const auto& error : standards::FieldErrorsOf(UseShop(&file))) fields.push_back(error.field);
    return fields;
  }
  static v1::GetTestLimitsResponse Limits(const std::string& text) {
    v1::GetTestLimitsResponse response;
    const absl::Status status = GetTestLimits(calls::Parse<v1::GetTestLimitsRequest>(text), &response);
    EXPECT_TRUE(status.ok()) << status;
    return response;
  }
};

constexpr char kSmall[] = "rated_volts: 230 rated_power { watts: 300 }";

// NEMA MG 1 12.3: 1000 V up to 0.5 hp and 250 V; IEC 60034-1 asks 1500 V.
TEST_F(Settings, FillInWhatARequestLeavesOpen) {
  EXPECT_EQ(Limits(kSmall).withstand_ac().test_volts(), 1500);
  EXPECT_FALSE(Limits(kSmall).has_shop_settings());
  Serve(kSettings);
  const auto limits = Limits(kSmall);
  EXPECT_EQ(limits.withstand_ac().test_volts(), 1000);
  EXPECT_EQ(limits.shop_expectation_megohms(), 500);
  EXPECT_EQ(limits.shop_settings().name(), "Harbour Lane motor shop");
  EXPECT_THAT(limits.shop_settings().used(),
              ElementsAre("tests.family: STANDARD_FAMILY_NEMA_MG_1", "tests.shop_expectation_megohms: 500",
                          "tests.surge_act_ratio: 0.08", "tests.trip_ac_milliamps: 5"));
}

TEST_F(Settings, ARequestWins) {
  Serve(kSettings);
  const auto limits = Limits(std::string(kSmall) +
                             " choice { family: STANDARD_FAMILY_IEC_60034_1 "
                             "shop_expectation_megohms: 50 }");
  EXPECT_EQ(limits.withstand_ac().test_volts(), 1500);
  EXPECT_EQ(limits.shop_expectation_megohms(), 50);
  EXPECT_THAT(limits.shop_settings().used(), ElementsAre("tests.surge_act_ratio: 0.08", "tests.trip_ac_milliamps: 5"));
}

TEST_F(Settings, TheBenchOfTheShopLeavesStepsOut) {
  Serve(kSettings);
  v1::GetTestProgrammeResponse response;
  auto request = calls::Parse<v1::GetTestProgrammeRequest>(
      "stage: STAGE_ASSEMBLED machine { nameplate { rated_volts: 400 rated_power { kw: 3 } } }");
  ASSERT_TRUE(GetTestProgramme(request, &response).ok());
  const auto ac = [&response]() -> const v1::TestStep& {
    for (const auto& step : response.programme().steps()) {
      if (step.kind() == v1::TEST_KIND_WITHSTAND_AC) return step;
    }
    return v1::TestStep::default_instance();
  };
  EXPECT_TRUE(ac().left_out()) << "1800 V by NEMA MG 1, 2 x 400 V + 1000 V";
  EXPECT_THAT(response.shop_settings().used(), Contains("bench.greatest_withstand_volts_ac: 1200"));
  request.mutable_bench()->set_greatest_withstand_volts_ac(5000);
  response.Clear();
  ASSERT_TRUE(GetTestProgramme(request, &response).ok());
  EXPECT_EQ(ac().test_volts(), 1800);
  EXPECT_EQ(ac().trip_milliamps(), 5);
}

// ANSI/EASA AR100-2020: 2 % random wound, 1 % form wound. A programme asks for what the readings are judged by.
TEST_F(Settings, TheUnbalanceAskedForIsTheOneJudgedBy) {
  const auto programme = [](const std::string& more) {
    v1::GetTestProgrammeResponse response;
    const auto request = calls::Parse<v1::GetTestProgrammeRequest>(absl::StrCat(
        "stage: STAGE_WOUND_BEFORE_TREATMENT machine { nameplate { rated_volts: 690 rated_power { kw: 90 } } } ",
        more));
    EXPECT_TRUE(GetTestProgramme(request, &response).ok());
    for (const auto& step : response.programme().steps()) {
      if (step.kind() == v1::TEST_KIND_WINDING_RESISTANCE) return step.limit().high();
    }
    return 0.0;
  };
  const auto judged = [](const std::string& more) {
    v1::JudgeReadingsResponse response;
    const auto request = calls::Parse<v1::JudgeReadingsRequest>(
        absl::StrCat("stage: STAGE_WOUND_BEFORE_TREATMENT machine { nameplate { rated_volts: 690 rated_power { kw: 90 "
                     "} } } readings { resistance { "
                     "line_to_line { u_v_ohms: 1.02 v_w_ohms: 1 w_u_ohms: 1 winding_temperature { celsius: 22 } } } } ",
                     more));
    EXPECT_TRUE(JudgeReadings(request, &response).ok());
    return response.tests().empty() ? 0.0 : response.tests(0).limit().high();
  };
  const std::string form = "winding_kind: INSULATED_WINDING_KIND_FORM_WOUND ";
  for (const auto& [more, percent] :
       {std::pair<std::string, double>{"", 2}, {form, 1}, {form + "choice { resistance_unbalance_percent: 2 }", 2}}) {
    EXPECT_EQ(programme(more), percent) << more;
    EXPECT_EQ(judged(more), percent) << more;
  }
  Serve("name: \"x\" tests { resistance_unbalance_percent: 1.5 }");
  EXPECT_EQ(programme(form), 1.5);
  EXPECT_EQ(judged(form), 1.5);
}

TEST_F(Settings, APlanTakesItsLevelsAndSaysSo) {
  Serve(kSettings);
  v1::PlanRewindRequest request;
  *request.mutable_record() = calls::DemoRecord();
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(PlanRewind(request, &plan).ok());
  EXPECT_THAT(plan.shop_settings().used(), Contains("plan.fullness_watch_ratio: 0.5"));
  EXPECT_THAT(plan.shop_settings().used(), Contains("plan.bench_temperature: fahrenheit: 68"));
  request.mutable_settings()->set_fullness_watch_ratio(0.6);
  request.mutable_settings()->set_fullness_act_ratio(0.7);
  plan.Clear();
  ASSERT_TRUE(PlanRewind(request, &plan).ok());
  EXPECT_THAT(plan.shop_settings().used(), ::testing::Not(Contains("plan.fullness_watch_ratio: 0.5")));
}

TEST_F(Settings, EveryWrongFieldIsNamedAndNothingChanges) {
  Serve(kSettings);
  EXPECT_THAT(Refused(R"(tests { before_treatment_share: 0.9 trip_ac_milliamps: 0 least_discharge_seconds: 1
                                 surge_watch_ratio: 0.2 }
                         bench { least_ohms: -1 megohm_test_volts_dc: 500 megohm_test_volts_dc: 0 }
                         plan { waste_share: 3 })"),
              ::testing::UnorderedElementsAre("name", "tests.before_treatment_share", "tests.trip_ac_milliamps",
                                              "tests.least_discharge_seconds", "tests.surge_watch_ratio",
                                              "bench.least_ohms", "bench.megohm_test_volts_dc[1]", "plan.waste_share"));
  EXPECT_THAT(Refused("name: \"x\" tests { family: 77 }"), ElementsAre("tests.family"));
  EXPECT_THAT(Refused("name: \"x\" bench { least_ohms: nan }"), ElementsAre("bench.least_ohms"));
  EXPECT_EQ(Limits(kSmall).shop_settings().name(), "Harbour Lane motor shop");
  EXPECT_THAT(Refused("name: \"x\""), IsEmpty());
}

}  // namespace
}  // namespace coilwright::rpc
