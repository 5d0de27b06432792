#include "archive_text.h"

#include <gmock/gmock.h>

namespace coilwright::cli {
namespace {

using testing::HasSubstr;

v1::NumberRange Range(const char* text, RangeOf what) {
  v1::NumberRange range;
  const absl::Status read = ReadRange(text, what, &range);
  EXPECT_TRUE(read.ok()) << read;
  return range;
}

std::string Refused(const char* text, RangeOf what) {
  v1::NumberRange range;
  return std::string(ReadRange(text, what, &range).message());
}

TEST(ReadRange, TakesAFigureForWhatRoundsToIt) {
  EXPECT_EQ(Range("36", RangeOf::kCount).least(), 36);
  EXPECT_EQ(Range("36", RangeOf::kCount).most(), 36);
  EXPECT_EQ(Range("400", RangeOf::kFigure).least(), 399.5);
  EXPECT_EQ(Range("400", RangeOf::kFigure).most(), 400.5);
  EXPECT_NEAR(Range("0.75", RangeOf::kPower).least(), 0.745, 1e-12);
  EXPECT_NEAR(Range("95 mm", RangeOf::kLength).most(), 95.5, 1e-12);
  EXPECT_NEAR(Range("95.0mm", RangeOf::kLength).least(), 94.95, 1e-12);
  EXPECT_NEAR(Range("3.74in", RangeOf::kLength).least(), 3.735 * 25.4, 1e-9);
  // 550 foot-pounds a second, of 0.3048 m and 0.45359237 x 9.80665 N.
  EXPECT_NEAR(Range("1 hp", RangeOf::kPower).least(), 0.5 * 550 * 0.3048 * 0.45359237 * 9.80665 / 1000, 1e-9);
}

TEST(ReadRange, TakesEndsAsTheyStand) {
  EXPECT_NEAR(Range("90..100 mm", RangeOf::kLength).least(), 90, 1e-6);
  EXPECT_NEAR(Range("90..100 mm", RangeOf::kLength).most(), 100, 1e-6);
  EXPECT_NEAR(Range("3.5in..95mm", RangeOf::kLength).least(), 88.9, 1e-6);
  // 4 in is 101.6 mm, however it was multiplied.
  EXPECT_GE(Range("..4in", RangeOf::kLength).most(), 101.6);
  EXPECT_FALSE(Range("..4in", RangeOf::kLength).has_least());
  EXPECT_FALSE(Range("500..", RangeOf::kFigure).has_most());
  EXPECT_EQ(Range("36..48", RangeOf::kCount).most(), 48);
}

TEST(ReadRange, SaysWhatIsAccepted) {
  EXPECT_THAT(Refused("95", RangeOf::kLength), HasSubstr("a length with its unit"));
  EXPECT_THAT(Refused("95 kg", RangeOf::kLength), HasSubstr("a length with its unit"));
  EXPECT_THAT(Refused("36.5", RangeOf::kCount), HasSubstr("a whole number"));
  EXPECT_THAT(Refused("48..36", RangeOf::kCount), HasSubstr("from the smaller to the larger"));
  for (const char* text : {"", "..", "many", "1e400", "400 V", "3..4..5", "1,5"})
    EXPECT_THAT(Refused(text, RangeOf::kFigure), HasSubstr("accepted: a number, or a range")) << text;
}

TEST(ReadName, TakesNamesAsListsShowThem) {
  EXPECT_EQ(ReadName("x", {"windings"})->name, "windings/x");
  EXPECT_EQ(ReadName("windings/x", {"windings", "jobs"})->name, "windings/x");
  EXPECT_EQ(ReadName("jobs/x", {"windings", "jobs"})->name, "jobs/x");
  EXPECT_EQ(ReadName("x@3", {"windings"})->revision, 3);
  for (const char* wrong : {"", "jobs/x", "x@", "x@0", "x@last", "@2"})
    EXPECT_EQ(ReadName(wrong, {"windings"}).status().code(), absl::StatusCode::kInvalidArgument) << wrong;
  EXPECT_EQ(ShortName("windings/x"), "x");
}

TEST(ReadTime, TakesDaysAndMoments) {
  google::protobuf::Timestamp time;
  ASSERT_TRUE(ReadTime("2017-05-03T14:30:00Z", &time).ok());
  // date -u -d 2017-05-03T14:30:00Z +%s
  EXPECT_EQ(time.seconds(), 1493821800);
  EXPECT_EQ(time.nanos(), 0);
  ASSERT_TRUE(ReadTime("2017-05-03", &time).ok());
  EXPECT_EQ(Moment(time), "2017-05-03 12:00");
  EXPECT_EQ(Day(time), "2017-05-03");
  ASSERT_TRUE(ReadTime("1969-12-31T23:59:59.25Z", &time).ok());
  EXPECT_EQ(time.seconds(), -1);
  EXPECT_EQ(time.nanos(), 250000000);
  for (const char* wrong : {"", "2017", "2017-13-01", "03.05.2017", "yesterday", "infinite-future"})
    EXPECT_THAT(std::string(ReadTime(wrong, &time).message()), HasSubstr("accepted: a day ")) << wrong;
  EXPECT_EQ(Moment({}), "");
}

TEST(ArchiveText, WritesWhatAPlateSays) {
  v1::WindingSummary winding;
  winding.set_rated_volts(400);
  winding.set_rated_kw(0.75);
  winding.set_slots(36);
  winding.set_bore_mm(60);
  winding.set_outer_mm(104.5);
  winding.set_serial_text("0417");
  EXPECT_EQ(PlateText(winding), "400 V, 0.75 kW");
  EXPECT_EQ(PlateWords(winding), "serial 0417");
  EXPECT_EQ(SlotsAndPoles(winding), "36/-");
  EXPECT_EQ(CoreText(winding, Units(false)), "60 / 104.5 / -");
  EXPECT_EQ(CoreText(winding, Units(true)), "2.362 / 4.114 / -");
}

}  // namespace
}  // namespace coilwright::cli
