#include "request.h"

#include <gmock/gmock.h>

#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/test_limit_service.pb.h"
#include "coilwright/v1/wire_service.pb.h"
#include "megohm_reading.h"
#include "wire_choice.h"

namespace coilwright::cli {
namespace {

using testing::HasSubstr;

template <class Message>
std::string Error(absl::string_view path, absl::string_view text) {
  Message message;
  return std::string(SetField(&message, path, text).message());
}

TEST(SetField, ReachesNestedNumbersSwitchesAndLists) {
  v1::PlanRewindRequest request;
  ASSERT_TRUE(SetField(&request, "change.rated_volts", "400").ok());
  ASSERT_TRUE(SetField(&request, "change.parallel_circuits", "2").ok());
  ASSERT_TRUE(SetField(&request, "record.machine.potted", "true").ok());
  ASSERT_TRUE(SetField(&request, "wires.systems", "awg, swg").ok());
  EXPECT_EQ(request.change().rated_volts(), 400);
  EXPECT_EQ(request.change().parallel_circuits(), 2);
  EXPECT_TRUE(request.record().machine().potted());
  ASSERT_EQ(request.wires().systems_size(), 2);
  EXPECT_EQ(request.wires().systems(1), v1::WIRE_SYSTEM_SWG);
}

TEST(SetField, KnowsAnEnumerationByAnyWordsThatFitOneValue) {
  v1::GetTestLimitsRequest request;
  for (const char* text : {"iec", "IEC-60034-1", "iec 60034 1"}) {
    ASSERT_TRUE(SetField(&request, "choice.family", text).ok()) << text;
    EXPECT_EQ(request.choice().family(), v1::STANDARD_FAMILY_IEC_60034_1);
  }
  ASSERT_TRUE(SetField(&request, "choice.family", "ar100").ok());
  EXPECT_EQ(request.choice().family(), v1::STANDARD_FAMILY_ANSI_EASA_AR100);
  // "new" is a value of its own although no other holds the word.
  ASSERT_TRUE(SetField(&request, "choice.condition", "new").ok());
  EXPECT_EQ(request.choice().condition(), v1::WINDING_CONDITION_NEW);
  EXPECT_THAT(Error<v1::GetTestLimitsRequest>("choice.condition", "rewound"),
              HasSubstr("got \"rewound\", accepted: new, fully-rewound, partly-rewound"));
  EXPECT_THAT(Error<v1::GetTestLimitsRequest>("choice.family", ""),
              HasSubstr("accepted: iec-60034-1, nema-mg-1, ansi-easa-ar100"));
  EXPECT_THAT(Error<v1::GetTestLimitsRequest>("choice.family", "unspecified"), HasSubstr("accepted:"));
}

TEST(SetField, ReadsQuantitiesWithTheirUnit) {
  v1::Core core;
  ASSERT_TRUE(SetField(&core, "bore_diameter", "60 mm").ok());
  EXPECT_EQ(core.bore_diameter().mm(), 60);
  ASSERT_TRUE(SetField(&core, "outer_diameter", "4.5in").ok());
  EXPECT_EQ(core.outer_diameter().inches(), 4.5);
  v1::Workshop workshop;
  ASSERT_TRUE(SetField(&workshop, "air_temperature", "-5c").ok());
  EXPECT_EQ(workshop.air_temperature().celsius(), -5);
  v1::Nameplate plate;
  ASSERT_TRUE(SetField(&plate, "rated_power", "1HP").ok());
  EXPECT_EQ(plate.rated_power().hp(), 1);
  EXPECT_EQ(Error<v1::Core>("bore_diameter", "60"),
            "got \"60\", accepted: a number with its unit, one of mm, in, inch, inches, mil, mils, m, ft");
  EXPECT_THAT(Error<v1::Core>("bore_diameter", "6-0mm"), HasSubstr("got \"6-0mm\""));
  EXPECT_THAT(Error<v1::Workshop>("air_temperature", "20 K"), HasSubstr("one of C, F"));
}

TEST(SetField, RefusesWhatIsNoNumber) {
  EXPECT_EQ(Error<v1::WindingChange>("rated_volts", "230V"), "got \"230V\", accepted: a number");
  EXPECT_EQ(Error<v1::WindingChange>("rated_volts", "nan"), "got \"nan\", accepted: a number");
  EXPECT_EQ(Error<v1::WindingChange>("rated_volts", "1e999"), "got \"1e999\", accepted: a number");
  EXPECT_EQ(Error<v1::WindingChange>("parallel_circuits", "1.5"), "got \"1.5\", accepted: a whole number");
  EXPECT_EQ(Error<v1::WindingChange>("parallel_circuits", "3000000000"),
            "got \"3000000000\", accepted: a whole number from -2147483648 to 2147483647");
  // Decimal commas and separators of thousands, which a list of lengths would take for two.
  for (const char* field : {"rated_volts", "rated_power"}) {
    EXPECT_THAT(Error<v1::WindingChange>(field, "0,71"), HasSubstr("got \"0,71\", accepted: a decimal point"));
  }
  EXPECT_THAT(Error<v1::IdentifyWireRequest>("diameters", "0,71mm"), HasSubstr("a decimal point"));
}

TEST(SetField, RefusesTwoUnitsOfOneQuantity) {
  v1::GetTestLimitsRequest request;
  ASSERT_TRUE(SetField(&request, "rated_power.kw", "0.75").ok());
  EXPECT_EQ(SetField(&request, "rated_power.hp", "1").message(), "the same is already given in another unit");
}

TEST(FillRequest, NamesTheFlag) {
  const auto arguments = Arguments::Parse({"--volts", "abc"}, {{"volts", "V", "rated_volts", "rated volts"}});
  ASSERT_TRUE(arguments.ok());
  v1::GetTestLimitsRequest request;
  EXPECT_EQ(FillRequest(*arguments, &request).message(), "--volts: got \"abc\", accepted: a number (rated volts)");
}

TEST(EnumText, PrintsWords) {
  EXPECT_EQ(EnumText(v1::WINDING_CONDITION_FULLY_REWOUND), "fully rewound");
  EXPECT_EQ(EnumText(v1::WINDING_CONDITION_UNSPECIFIED), "not stated");
  EXPECT_EQ(EnumText(static_cast<v1::WindingCondition>(99)), "unknown");
}

TEST(ReadStrands, TakesCountsAndSizesApart) {
  v1::StrandList list;
  ASSERT_TRUE(ReadStrands("2 x 0.80 mm grade 2 + AWG 18 heavy+3xSWG 22", &list).ok());
  ASSERT_EQ(list.strands_size(), 3);
  EXPECT_EQ(list.strands(0).wires_in_hand(), 2);
  EXPECT_EQ(list.strands(0).wire().designation(), "0.80 mm grade 2");
  EXPECT_FALSE(list.strands(1).has_wires_in_hand());
  EXPECT_EQ(list.strands(1).wire().designation(), "AWG 18 heavy");
  EXPECT_EQ(list.strands(2).wires_in_hand(), 3);
  EXPECT_EQ(list.strands(2).wire().designation(), "SWG 22");
  v1::StrandList other;
  ASSERT_TRUE(ReadStrands("0.71 mm grade 2", &other).ok());
  EXPECT_EQ(other.strands(0).wire().designation(), "0.71 mm grade 2");
  EXPECT_FALSE(ReadStrands("AWG 18 +", &other).ok());
  EXPECT_FALSE(ReadStrands("", &other).ok());
}

TEST(ReadMegohms, TakesAReadingApart) {
  v1::MegohmReading reading;
  ASSERT_TRUE(
      ReadMegohms("U to frame:>2000@72F,30s=610,10min=1900,volts=500,others=earthed,how=soaked,uncertainty=0.05",
                  &reading)
          .ok());
  EXPECT_EQ(reading.label(), "U to frame");
  EXPECT_TRUE(reading.over_range());
  EXPECT_EQ(reading.insulation_megohms(), 2000);
  EXPECT_EQ(reading.winding_temperature().fahrenheit(), 72);
  EXPECT_EQ(reading.megohms_at_30s(), 610);
  EXPECT_EQ(reading.megohms_at_10min(), 1900);
  EXPECT_EQ(reading.test_volts_dc(), 500);
  EXPECT_EQ(reading.other_phases(), v1::OTHER_PHASES_EARTHED);
  EXPECT_EQ(reading.temperature_evidence(), v1::TEMPERATURE_EVIDENCE_SOAKED);
  EXPECT_EQ(reading.instrument().uncertainty_ratio(), 0.05);
}

TEST(ReadMegohms, LeavesOutWhatWasNotSaid) {
  v1::MegohmReading reading;
  ASSERT_TRUE(ReadMegohms("850", &reading).ok());
  EXPECT_EQ(reading.insulation_megohms(), 850);
  EXPECT_FALSE(reading.over_range());
  EXPECT_FALSE(reading.has_winding_temperature());
  EXPECT_FALSE(reading.has_megohms_at_30s());
}

TEST(ReadMegohms, SaysWhatIsWrong) {
  v1::MegohmReading reading;
  EXPECT_THAT(std::string(ReadMegohms("many@22C", &reading).message()), HasSubstr("got \"many@22C\""));
  EXPECT_THAT(std::string(ReadMegohms("850@22", &reading).message()),
              HasSubstr("got \"22\", accepted: a number with its unit, one of C, F"));
  EXPECT_THAT(std::string(ReadMegohms("850@22C,1h=3", &reading).message()), HasSubstr("got \"1h=3\""));
  EXPECT_THAT(std::string(ReadMegohms("850@22C,30s=x", &reading).message()),
              HasSubstr("30s: got \"x\", accepted: a number"));
  EXPECT_EQ(ReadMegohms("850@22C,30s=610,30s=700", &reading).message(), "30s: given twice");
}

}  // namespace
}  // namespace coilwright::cli
