// The settings file and what `limits` says of bench and fitted devices, as a person meets them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdio>
#include <fstream>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "program.h"
#include "rpc/server.h"
#include "settings_file.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr char kDemo[] = COILWRIGHT_SOURCE_DIR "/clients/demo/shop-settings.json";

class SettingsFile : public ::testing::Test {
 protected:
  ~SettingsFile() override { std::remove(path_.c_str()); }
  Ran LimitsWith(const std::string& text) {
    std::ofstream(path_, std::ios::binary) << text;
    return RunProgram({"limits", "--volts", "230", "--settings", path_});
  }
  std::string path_ = absl::StrCat(::testing::TempDir(), "coilwright_settings_", getpid(), ".json");
};

TEST_F(SettingsFile, FillsInAndIsNamed) {
  const Ran ran = RunProgram({"limits", "--volts", "400", "--settings", kDemo});
  ASSERT_EQ(ran.exit_status, 0) << ran.err;
  EXPECT_THAT(ran.out, HasSubstr("Settings of Harbour Lane motor shop"));
  EXPECT_THAT(ran.out, HasSubstr("tests.shop_expectation_megohms: 500"));
  EXPECT_THAT(ran.out, HasSubstr("500 megohms or more"));
  EXPECT_THAT(RunProgram({"limits", "--volts", "400"}).out, Not(HasSubstr("Settings of")));
}

// Every command whose answer rests on them shows them, once.
TEST_F(SettingsFile, StandInEveryAnswerThatRestsOnThem) {
  const std::vector<std::vector<std::string>> commands = {
      {"limits", "--volts", "400"},
      {"limits", "stage", "assembled", "--volts", "400", "--kw", "2"},
      {"megohm", "--volts", "400", "--kw", "2", "--reading", "850@22C"},
      {"judge", "--volts", "400", "--kw", "2", "--megohms", "850@22C"},
      {"plan", COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json"}};
  for (std::vector<std::string> words : commands) {
    EXPECT_THAT(RunProgram(words).out, Not(HasSubstr("\nSettings of Harbour"))) << words[0];
    words.insert(words.end(), {"--settings", kDemo});
    const Ran ran = RunProgram(words);
    EXPECT_EQ(ran.exit_status, 0) << words[0] << ": " << ran.err;
    const std::vector<std::string> parts = absl::StrSplit(ran.out, "\nSettings of Harbour Lane motor shop");
    EXPECT_EQ(parts.size(), 2) << words[0];
  }
}

TEST_F(SettingsFile, WrongOnesAreToldByFileLineAndField) {
  const Ran range = LimitsWith(
      "{\n \"name\": \"x\",\n \"tests\": {\n  \"before_treatment_share\": 0.9\n },\n"
      " \"bench\": { \"least_ohms\": -1 }\n}\n");
  EXPECT_EQ(range.exit_status, 2);
  EXPECT_EQ(
      range.err,
      absl::StrCat("coilwright: ", path_, ": line 4: tests.before_treatment_share: got 0.9, accepted: 0.1 to 0.8\n",
                   "coilwright: ", path_, ": line 6: bench.least_ohms: got -1 ohms, accepted: 0 ohms to 1e+06 ohms\n"));
  const Ran unknown = LimitsWith("{\n \"name\": \"x\",\n \"tests\": { \"famly\": 1 } }");
  EXPECT_EQ(unknown.exit_status, 2);
  EXPECT_THAT(unknown.err, HasSubstr("line 3: tests.famly: no such field; did you mean family?"));
  const Ran value = LimitsWith("{ \"name\": \"x\", \"tests\": { \"family\": \"IEC\" } }");
  EXPECT_EQ(value.exit_status, 2);
  EXPECT_THAT(value.err, HasSubstr("accepted: STANDARD_FAMILY_IEC_60034_1"));
  EXPECT_THAT(LimitsWith("{ \"name\": ").err, HasSubstr("not JSON"));
  EXPECT_THAT(LimitsWith("{}").err, HasSubstr("name: got nothing"));
  const Ran absent = RunProgram({"limits", "--volts", "230", "--settings", "/no/such/file"});
  EXPECT_EQ(absent.exit_status, 2);
  EXPECT_THAT(absent.err, HasSubstr("/no/such/file: cannot be read"));
}

TEST_F(SettingsFile, OfAServerCountAndBothAreRefused) {
  rpc::ServerOptions options;
  const auto server = StartWithSettings(options, kDemo);
  ASSERT_TRUE(server.ok()) << server.status();
  const std::string address = absl::StrCat("127.0.0.1:", (*server)->port());
  const Ran served = RunProgram({"limits", "--volts", "400", "--server", address});
  EXPECT_THAT(served.out, HasSubstr("Settings of Harbour Lane motor shop"));
  const Ran both = RunProgram({"limits", "--volts", "400", "--server", address, "--settings", kDemo});
  EXPECT_EQ(both.exit_status, 2);
  EXPECT_THAT(both.err, HasSubstr("--settings beside --server: a server has its own"));
  EXPECT_TRUE(rpc::Server::Start(options).ok()) << "the next one serves by none";
}

TEST(LimitsStage, TakesFittedDevicesAndTheBenchFromFlags) {
  const Ran ran = RunProgram({"limits",
                              "stage",
                              "as-received",
                              "--volts",
                              "400",
                              "--kw",
                              "3",
                              "--feedback",
                              "absolute-encoder",
                              "--sensor",
                              "ptc",
                              "--sensor",
                              "platinum-rtd",
                              "--heater",
                              "--brake-volts",
                              "24",
                              "--rectifier",
                              "--surge-parts",
                              "--drive-fed",
                              "--mains",
                              "400",
                              "--bench-surge",
                              "500",
                              "--bench-megohms",
                              "500,1000"});
  ASSERT_EQ(ran.exit_status, 0) << ran.err;
  for (const char* part :
       {"Winding sensor: PTC thermistor", "Winding sensor: platinum RTD", "Space heater, insulation to frame",
        "Brake rectifier, off its coil", "Varistors and capacitors, off the machine", "Feedback device: electronics",
        "the bench gives at most 500 V peak surge", "feedback: absolute encoder"}) {
    EXPECT_THAT(ran.out, HasSubstr(part));
  }
  for (absl::string_view line : absl::StrSplit(ran.out, '\n')) EXPECT_LE(Width(line), 100) << line;
  const Ran wrong = RunProgram({"limits", "stage", "treated", "--volts", "400", "--sensor", "thermocouple"});
  EXPECT_EQ(wrong.exit_status, 2);
  EXPECT_THAT(wrong.err, HasSubstr("--sensor: "));
  const Ran bench = RunProgram({"limits", "stage", "treated", "--volts", "400", "--bench", "-"},
                               "{ \"megohm_test_volts_dc\": [1000] }");
  EXPECT_THAT(bench.out, HasSubstr("this step needs 500 V"));
}

}  // namespace
}  // namespace coilwright::cli
