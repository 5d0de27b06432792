// Core tests and drive stress by the program itself.
#include <gmock/gmock.h>

#include "coilwright/v1/core_test_service.pb.h"
#include "coilwright/v1/drive_stress_service.pb.h"
#include "json.h"
#include "program.h"

namespace coilwright::cli {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

const std::vector<std::string> kInches = {"core",          "--outside", "20in", "--bore",   "14in", "--slot-depth",
                                          "1.25in",        "--length",  "10in", "--vents",  "2",    "--vent-width",
                                          "0.375in",       "--hertz",   "60",   "--supply", "120",  "--flux",
                                          "85000lines/in2"};

std::vector<std::string> With(std::vector<std::string> words, const std::vector<std::string>& more) {
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

// Worked by hand in inches: 34 turns at 120 V; 1.75 in of back iron, 8.7875 in of iron.
TEST(CoreCommand, PlansInInches) {
  const Ran ran = RunProgram(With(kInches, {"--units", "shop"}));
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("85.0 kl/in2"), HasSubstr("1.750 in deep"), HasSubstr("15.4 in2"),
                             HasSubstr("120     34"), HasSubstr("! the cable is live")));
  v1::PlanCoreTestResponse plan;
  ASSERT_TRUE(ParseJson(*ReadJson("plan", RunProgram(With(kInches, {"--json"})).out), &plan).ok());
  EXPECT_EQ(plan.options(0).turns(), 34);
  EXPECT_NEAR(plan.options(0).volts_per_turn(), 120.0 / 34, 1e-12);
}

TEST(CoreCommand, NamesTheFlagThatIsWrong) {
  EXPECT_THAT(RunProgram({"core", "--outside", "300mm", "--bore", "200mm", "--slot-depth", "60mm", "--length", "180mm",
                          "--hertz", "50", "--supply", "24"})
                  .err,
              HasSubstr("--slot-depth (core.slot_depth): got 60 mm"));
  EXPECT_THAT(RunProgram(With(kInches, {"--operating-flux", "1.2T"})).err, HasSubstr("--operating-flux"));
  const Ran magnets = RunProgram(With(kInches, {"--magnets"}));
  EXPECT_EQ(magnets.exit_status, 3);
  EXPECT_THAT(magnets.err, HasSubstr("magnets are in the core"));
}

TEST(CoreCommand, ComparesAndKnowsOvens) {
  const std::vector<std::string> compare = {"core",          "compare", "--watts-before", "98",
                                            "--watts-after", "130",     "--volts-before", "1.41",
                                            "--volts-after", "1.41",    "--mass",         "70lb"};
  EXPECT_THAT(RunProgram(compare).out, AllOf(HasSubstr("core before and after: fail"), HasSubstr("32.7 %"),
                                             HasSubstr("1.86 W/lb"), HasSubstr("not read")));
  EXPECT_THAT(RunProgram({"core", "oven", "--core-plate", "inorganic"}).out, HasSubstr("part at most 400 C"));
  EXPECT_THAT(RunProgram({"core", "oven", "--construction", "segmented"}).out,
              AllOf(HasSubstr("burn-out oven: none"), Not(HasSubstr("at most 370"))));
}

// 400 V, 0.1 us, 20 m, 80 and 2000 ohm, worked by hand: 1088 V, 5.44 x rated peak to peak, class C.
TEST(DriveCommand, AssessesTheWorkedChain) {
  const std::vector<std::string> words = {"drive", "--volts",      "400",  "--mains",     "400",       "--cable",
                                          "20m",   "--rise-0-100", "0.1",  "--velocity",  "150",       "--z-cable",
                                          "80",    "--z-motor",    "2000", "--bus-basis", "mains-peak"};
  const Ran ran = RunProgram(words);
  EXPECT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("not more than 1088 V"), HasSubstr("5.44 x rated: needs class C"),
                             HasSubstr("! the bus of a drive stays charged")));
  v1::AssessDriveStressResponse answer;
  ASSERT_TRUE(ParseJson(*ReadJson("drive", RunProgram(With(words, {"--json"})).out), &answer).ok());
  EXPECT_EQ(answer.stress(), v1::STRESS_CLASS_C);
  EXPECT_THAT(RunProgram({"drive", "--volts", "690", "--mains", "690", "--cable", "20m", "--rise-10-90", "0.1"}).err,
              HasSubstr("--bus (dc_bus_volts): got nothing"));
}

// A bus of 100 V makes at most 71 V of the 400: said before any figure (closed form, bus / sqrt(2)).
TEST(DriveCommand, SaysInTheHeadlineThatTheBusCannotBe) {
  const Ran ran = RunProgram({"drive", "--volts", "400", "--bus", "100", "--cable", "20m", "--rise-10-90", "0.1"});
  EXPECT_THAT(ran.out, ::testing::StartsWith("NOT CLEARED: a bus of 100 V makes at most 70.71 V"));
}

TEST(CoreCommand, SizesTheCableAndTakesNoOvenToMagnets) {
  EXPECT_THAT(RunProgram(kInches).out, HasSubstr("5 A/mm2, assumed"));
  EXPECT_THAT(RunProgram({"core", "oven", "--magnets"}).out,
              AllOf(HasSubstr("the winding comes out cold"), Not(HasSubstr("ran away"))));
}

}  // namespace
}  // namespace coilwright::cli
