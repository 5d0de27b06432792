#include "json.h"

#include <gmock/gmock.h>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/winding.pb.h"
#include "templates.h"

namespace coilwright::cli {
namespace {

using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

std::string Error(absl::string_view text) {
  const auto source = ReadJson("motor.json", text);
  if (!source.ok()) return std::string(source.status().message());
  v1::WindingRecord record;
  const absl::Status parsed = ParseJson(*source, &record);
  EXPECT_EQ(parsed.code(), absl::StatusCode::kInvalidArgument) << text;
  EXPECT_THAT(std::string(parsed.message()), Not(HasSubstr("\n")));
  return std::string(parsed.message());
}

TEST(ReadJson, BlanksCommentsOutsideStringsOnly) {
  const auto source = ReadJson("f", "// top\n{\"note\": \"http://x \\\" // kept\", // gone\n \"title\": \"t\"}");
  ASSERT_TRUE(source.ok()) << source.status();
  v1::WindingRecord record;
  ASSERT_TRUE(ParseJson(*source, &record).ok());
  EXPECT_EQ(record.note(), "http://x \" // kept");
  EXPECT_EQ(source->lines.at("note"), 2);
  EXPECT_EQ(source->lines.at("title"), 3);
}

TEST(ReadJson, TakesAByteOrderMark) {
  const auto source = ReadJson("f", "\xEF\xBB\xBF{\"title\": \"t\"}");
  v1::WindingRecord record;
  ASSERT_TRUE(source.ok());
  EXPECT_TRUE(ParseJson(*source, &record).ok());
}

TEST(ReadJson, NotesKeysByPath) {
  const auto source =
      ReadJson("f", "{\"machine\": {\n\"leads\": [{\"pin\": \"1\"},\n{\"pin\": \"2\"}]}, \"title\": \"a\"}");
  ASSERT_TRUE(source.ok());
  EXPECT_EQ(source->lines.at("machine.leads[0].pin"), 2);
  EXPECT_EQ(source->lines.at("machine.leads[1].pin"), 3);
  EXPECT_EQ(source->lines.count("pin"), 0u);
}

TEST(ReadJson, RefusesAKeyThatStandsTwice) {
  EXPECT_EQ(Error("{\"winding\": {\n\"turns_per_coil\": 36,\n\"turns_per_coil\": 72}}"),
            "motor.json: line 3: winding.turns_per_coil stands twice, first in line 2");
}

TEST(ReadJson, RefusesWhatIsNotText) {
  EXPECT_EQ(Error("{\n\"title\": \"\xE9\"}"), "motor.json: line 2: not UTF-8; save the file as UTF-8");
  EXPECT_EQ(Error(" // nothing but a comment\n"), "motor.json: empty; accepted: a JSON object");
}

TEST(ReadJson, SurvivesAnything) {
  for (const char* text :
       {"}", "]]]", "{{{{", "[\"", "\"\\", "{\"a", "{\"a\":[}", ",,,", "{\"a\":1,,\"b\"", "// x", "{\"a\"\n\n:"}) {
    const auto source = ReadJson("f", text);
    v1::WindingRecord record;
    EXPECT_FALSE(source.ok() && ParseJson(*source, &record).ok()) << text;
  }
}

TEST(ReadJson, RefusesBottomlessNesting) {
  for (const char* open : {"[", "{\"machine\":", "{\"note\":["}) {
    std::string text;
    for (int i = 0; i < 50000; ++i) text += open;
    EXPECT_THAT(Error(text), StartsWith("motor.json: "));
  }
}

TEST(ParseJson, NamesLineAndField) {
  EXPECT_EQ(Error("{\"machine\": {\n\"core\": {\n\"slot\": 36}}}"),
            "motor.json: line 3: machine.core.slot: no such field; did you mean slots?");
  EXPECT_EQ(Error("{\"machine\": {\"core\": {\n\"slots\": \"many\"}}}"),
            "motor.json: line 2: machine.core.slots: got \"many\", accepted: a whole number");
  EXPECT_EQ(Error("{\"machine\": {\"core\": {\"slots\": 3.5}}}"),
            "motor.json: line 1: machine.core.slots: got 3.5, accepted: a whole number");
  EXPECT_EQ(Error("{\"winding\": {\n\n\"connection\": \"STAR\"}}"),
            "motor.json: line 3: winding.connection: got \"STAR\", accepted: CONNECTION_STAR, CONNECTION_DELTA, "
            "CONNECTION_OPEN");
  EXPECT_EQ(Error("{\"machine\": {\"core\": {\"bore_diameter\": {\"mm\": 60, \"inches\": 2.36}}}}"),
            "motor.json: line 1: machine.core.bore_diameter: two units given, accepted: one");
  EXPECT_EQ(Error("{\"machine\": {\"core\": {\"bore_diameter\": 60}}}"),
            "motor.json: line 1: machine.core.bore_diameter: got 60, accepted: an object { ... } with mm, inches, "
            "mils, metres, feet");
  EXPECT_THAT(Error("{\"machin\": {}}"),
              StartsWith("motor.json: line 1: machin: no such field; did you mean machine?"));
  EXPECT_THAT(Error("{\"machine\": {\"core\": {\"bore_diameter\": {\"cm\": 7.5}}}}"),
              testing::HasSubstr("no such field; accepted: mm, inches, mils, metres, feet"));
}

TEST(ParseJson, NamesTheLineOfASlipOfSyntax) {
  EXPECT_EQ(Error("{\n\"title\": \"a\"\n\"note\": \"b\"}"),
            "motor.json: line 3: not JSON: Expected , or } after key:value pair");
  EXPECT_EQ(Error("{\n \"machine\": {\n  \"core\" {}}}"),
            "motor.json: line 3: not JSON: Expected : between key:value pair");
  EXPECT_THAT(Error("{\"title\": \"\\ud800\"}"), HasSubstr("line 1: not JSON: "));
  EXPECT_THAT(Error("[1]"), HasSubstr("motor.json: "));
}

TEST(PlaceOf, FindsTheLineOfAFieldOrOfWhatShouldHoldIt) {
  const auto source =
      ReadJson("motor.json", "{\n\"machine\": {\n\"core\": {\"slots\": 2},\n\"leads\": [{\n\"pin\": \"\"}]}}");
  ASSERT_TRUE(source.ok());
  EXPECT_EQ(PlaceOf(*source, "record", "record.machine.core.slots"), "motor.json: line 3: machine.core.slots");
  EXPECT_EQ(PlaceOf(*source, "record", "record.machine.nameplate.rated_volts"),
            "motor.json: line 2: machine.nameplate.rated_volts");
  EXPECT_EQ(PlaceOf(*source, "record", "record.machine.leads[0].pin"), "motor.json: line 5: machine.leads[0].pin");
  EXPECT_EQ(PlaceOf(*source, "record", "record.winding.turns_per_coil"), "motor.json: winding.turns_per_coil");
  EXPECT_EQ(PlaceOf(*source, "record", "change.rated_volts"), "change.rated_volts");
  EXPECT_EQ(PlaceOf(*source, "", "machine.core.slots"), "motor.json: line 3: machine.core.slots");
}

TEST(ToJson, KeepsTheNamesOfTheContractAndReadsBack) {
  v1::WindingRecord record;
  record.mutable_machine()->mutable_nameplate()->set_rated_volts(230);
  const std::string json = ToJson(record);
  EXPECT_THAT(json, HasSubstr("\"rated_volts\": 230"));
  const auto source = ReadJson("f", json);
  v1::WindingRecord again;
  ASSERT_TRUE(ParseJson(*source, &again).ok());
  EXPECT_EQ(again.SerializeAsString(), record.SerializeAsString());
}

TEST(Template, OfEachKindOfMachineParsesAsItStands) {
  for (const char* text : {PermanentMagnetTemplate(), InductionTemplate()}) {
    const auto source = ReadJson("template", text);
    ASSERT_TRUE(source.ok()) << source.status();
    v1::WindingRecord record;
    const absl::Status parsed = ParseJson(*source, &record);
    ASSERT_TRUE(parsed.ok()) << parsed;
    EXPECT_TRUE(record.machine().nameplate().has_rated_volts());
    EXPECT_TRUE(record.winding().has_turns_per_coil());
    EXPECT_EQ(source->lines.count("record"), 0u);
  }
}

// What the comments of a template offer in place of a value must be in the contract too.
TEST(Template, OffersOnlyValuesOfTheContract) {
  const auto source = ReadJson(
      "f",
      R"({"winding": {"strands": [{"wire": {"bare_diameter": {"mm": 0.80}, "film": "FILM_GRADE_2", "overall_diameter": {"mm": 0.88}}}],
      "groups": [{"coils": [{"span_slots": 7, "turns": 68}, {"span_slots": 5, "turns": 72}], "count": 12}], "mean_turn": {"mm": 214}},
      "measured": {"mass": {"mass": {"kg": 0.83}, "basis": "MASS_BASIS_BARE", "leads_included": false}},
      "machine": {"nameplate": {"dc_bus_volts": 325, "line_amps_peak": 8.5, "pole_pairs": 5},
      "slot": {"shape": {"measured_area": {"mm2": 120}}, "depth": {"mm": 18}}}})");
  ASSERT_TRUE(source.ok()) << source.status();
  v1::WindingRecord record;
  const absl::Status parsed = ParseJson(*source, &record);
  EXPECT_TRUE(parsed.ok()) << parsed;
}

TEST(Template, OfAShelfParsesAsItStands) {
  const auto source = ReadJson("template", ShelfTemplate());
  ASSERT_TRUE(source.ok()) << source.status();
  v1::WireChoice choice;
  const absl::Status parsed = ParseJson(*source, &choice);
  ASSERT_TRUE(parsed.ok()) << parsed;
  EXPECT_EQ(choice.stock_size(), 6);
}

}  // namespace
}  // namespace coilwright::cli
