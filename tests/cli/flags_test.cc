#include "flags.h"

#include <gmock/gmock.h>

namespace coilwright::cli {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

const std::vector<Flag> kFlags = {{"volts", "V", "rated_volts", ""},
                                  {"kw", "KW", "rated_power.kw", ""},
                                  {"have", "WIRE...", "", ""},
                                  {"json", "", "", ""},
                                  {"celsius", "C", "temperature.celsius", ""}};

absl::StatusOr<Arguments> Parse(const std::vector<std::string>& words) { return Arguments::Parse(words, kFlags); }

std::string Error(const std::vector<std::string>& words) { return std::string(Parse(words).status().message()); }

TEST(Arguments, SortWordsFromFlags) {
  const auto arguments = Parse({"file.json", "--volts", "230", "--json", "--have=AWG 18", "--have", "AWG 19", "-"});
  ASSERT_TRUE(arguments.ok()) << arguments.status();
  EXPECT_THAT(arguments->words(), ElementsAre("file.json", "-"));
  EXPECT_EQ(arguments->Text("volts"), "230");
  EXPECT_TRUE(arguments->Has("json"));
  EXPECT_THAT(arguments->All("have"), ElementsAre("AWG 18", "AWG 19"));
  EXPECT_EQ(arguments->Text("kw", "none"), "none");
}

TEST(Arguments, TakeNegativeNumbersForValuesAndWords) {
  const auto arguments = Parse({"--celsius", "-10", "-5"});
  ASSERT_TRUE(arguments.ok()) << arguments.status();
  EXPECT_EQ(arguments->Text("celsius"), "-10");
  EXPECT_THAT(arguments->words(), ElementsAre("-5"));
}

TEST(Arguments, EndAtTwoDashes) {
  const auto arguments = Parse({"--", "--volts"});
  ASSERT_TRUE(arguments.ok()) << arguments.status();
  EXPECT_THAT(arguments->words(), ElementsAre("--volts"));
}

TEST(Arguments, NameTheWrongFlagInOneLine) {
  EXPECT_EQ(Error({"--volt", "230"}), "unknown flag --volt; did you mean --volts?");
  EXPECT_EQ(Error({"--colour=red"}), "unknown flag --colour");
  EXPECT_EQ(Error({"-volts", "230"}), "unknown flag -volts; did you mean --volts?");
  EXPECT_EQ(Error({"--volts"}), "--volts: needs a value, V");
  EXPECT_EQ(Error({"--volts", "--json"}), "--volts: needs a value, V");
  EXPECT_EQ(Error({"--json=yes"}), "--json: takes no value");
  EXPECT_EQ(Error({"--volts", "1", "--volts", "2"}), "--volts: given twice");
}

TEST(Arguments, FindTheFlagOfAField) {
  const auto arguments = Parse({"--volts", "230"});
  ASSERT_TRUE(arguments.ok()) << arguments.status();
  EXPECT_EQ(arguments->FlagFor("rated_volts"), "--volts");
  EXPECT_EQ(arguments->FlagFor("rated_power"), "--kw");
  EXPECT_EQ(arguments->FlagFor("rated_power.kw"), "--kw");
  EXPECT_EQ(arguments->FlagFor("rated_voltsy"), "");
  EXPECT_EQ(arguments->FlagFor(""), "");
  EXPECT_EQ(arguments->GivenFlagFor("rated_volts"), "--volts");
  EXPECT_EQ(arguments->GivenFlagFor("rated_power"), "");
}

// One flag fills a message, another a field in it: the error of the field is the other's, whichever was given first.
TEST(Arguments, FindTheNearestFlagOfAField) {
  const std::vector<Flag> flags = {{"record", "FILE", "machine", "", true},
                                   {"volts", "V", "machine.nameplate.rated_volts", ""},
                                   {"group", "GROUP...", "change.groups", "", true}};
  const auto arguments =
      Arguments::Parse({"--record", "a", "--volts", "230", "--group", "1:8/4", "--group", "2:8/4"}, flags);
  ASSERT_TRUE(arguments.ok()) << arguments.status();
  EXPECT_EQ(arguments->FlagFor("machine.nameplate.rated_volts"), "--volts");
  EXPECT_EQ(arguments->FlagFor("machine.core.slots"), "--record");
  EXPECT_EQ(arguments->FlagFor("change.groups"), "--group");
  EXPECT_EQ(arguments->FlagFor("change.groups[1].coils[0].span_slots"), "--group");
}

}  // namespace
}  // namespace coilwright::cli
