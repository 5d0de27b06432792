#include "rpc/reader.h"

#include <gmock/gmock.h>

#include <limits>

#include "calls/samples.h"

namespace coilwright::rpc {
namespace {

using calls::Parse;
using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::SizeIs;

class ReaderTest : public ::testing::Test {
 protected:
  std::vector<std::string> Fields() const {
    std::vector<std::string> fields;
    for (const standards::FieldError& error : errors_) fields.push_back(error.field);
    return fields;
  }
  std::vector<standards::FieldError> errors_;
};

// Each unit by its definition: inch 25.4 mm and foot 0.3048 m exactly, pound 0.45359237 kg exactly (international yard
// and pound agreement of 1959); horsepower 550 ft lbf/s = 745.69987 W; circular mil pi/4 of a square mil.
TEST_F(ReaderTest, ConvertsWhatWasReadInAnotherUnit) {
  constexpr Range kAny = {0, 1e9, ""};
  const auto mm = [&](const std::string& length) {
    const auto size = Parse<v1::WireSize>("bare_diameter { " + length + " }");
    return *Reader(size, "", &errors_).Mm("bare_diameter", kAny);
  };
  EXPECT_DOUBLE_EQ(mm("mm: 1.5"), 1.5);
  EXPECT_DOUBLE_EQ(mm("inches: 2"), 50.8);
  EXPECT_DOUBLE_EQ(mm("mils: 40"), 1.016);
  EXPECT_DOUBLE_EQ(mm("metres: 0.25"), 250);
  EXPECT_DOUBLE_EQ(mm("feet: 3"), 914.4);
  const auto kg = [&](const std::string& mass) {
    const auto weighed = Parse<v1::WindingMass>("mass { " + mass + " }");
    return *Reader(weighed, "", &errors_).Kg("mass", kAny);
  };
  EXPECT_DOUBLE_EQ(kg("grams: 250"), 0.25);
  EXPECT_DOUBLE_EQ(kg("pounds: 2"), 0.90718474);
  EXPECT_DOUBLE_EQ(kg("ounces: 16"), 0.45359237);
  const auto kw = [&](const std::string& power) {
    const auto plate = Parse<v1::Nameplate>("rated_power { " + power + " }");
    return *Reader(plate, "", &errors_).Kw("rated_power", kAny);
  };
  EXPECT_DOUBLE_EQ(kw("watts: 370"), 0.37);
  EXPECT_NEAR(kw("hp: 10"), 7.4569987, 1e-6);
  const auto warm = Parse<v1::Workshop>("air_temperature { fahrenheit: 212 }");
  EXPECT_DOUBLE_EQ(*Reader(warm, "", &errors_).Celsius("air_temperature"), 100);
  const auto mm2 = [&](const std::string& area) {
    const auto shape = Parse<v1::SlotShape>("measured_area { " + area + " }");
    return *Reader(shape, "", &errors_).Mm2("measured_area", kAny);
  };
  EXPECT_DOUBLE_EQ(mm2("in2: 1"), 645.16);
  EXPECT_NEAR(mm2("cmil: 1000"), 0.5067075, 1e-7);
  EXPECT_THAT(errors_, IsEmpty());
}

TEST_F(ReaderTest, AbsentIsAbsentAndNotZero) {
  const v1::Nameplate plate;
  const Reader reader(plate, "p", &errors_);
  EXPECT_FALSE(reader.Number("rated_volts", {1, 10, "V"}).has_value());
  EXPECT_FALSE(reader.Count("poles", 2, 120).has_value());
  EXPECT_FALSE(reader.Flag("drive_fed").has_value());
  EXPECT_FALSE(reader.Kw("rated_power", {0, 10, "kW"}).has_value());
  const auto unit_unsaid = Parse<v1::Nameplate>("rated_power {}");
  EXPECT_FALSE(Reader(unit_unsaid, "", &errors_).Kw("rated_power", {0, 10, "kW"}).has_value());
  EXPECT_THAT(errors_, IsEmpty());
}

TEST_F(ReaderTest, RangesHoldTheirEnds) {
  const auto read = [&](double volts, const Range& range) {
    v1::Nameplate plate;
    plate.set_rated_volts(volts);
    return Reader(plate, "plate", &errors_).Number("rated_volts", range).has_value();
  };
  EXPECT_TRUE(read(1, {1, 10, "V"}));
  EXPECT_TRUE(read(10, {1, 10, "V"}));
  EXPECT_TRUE(read(std::nextafter(0.0, 1.0), {0, 10, "V", true}));
  EXPECT_THAT(errors_, IsEmpty());
  EXPECT_FALSE(read(std::nextafter(1.0, 0.0), {1, 10, "V"}));
  EXPECT_FALSE(read(std::nextafter(10.0, 11.0), {1, 10, "V"}));
  EXPECT_FALSE(read(0, {0, 10, "V", true}));
  ASSERT_THAT(errors_, SizeIs(3));
  EXPECT_EQ(errors_[2].field, "plate.rated_volts");
  EXPECT_EQ(errors_[2].given, "0 V");
  EXPECT_EQ(errors_[2].accepted, "more than 0 V, at most 10 V");
  EXPECT_EQ(Accepted({1, 10, "V"}), "1 V to 10 V");
  EXPECT_EQ(Accepted({0.5, 1, ""}), "0.5 to 1");
}

TEST_F(ReaderTest, SaysTheValueInTheUnitItWasReadIn) {
  const auto size = Parse<v1::WireSize>("bare_diameter { inches: 3 }");
  Reader(size, "wire", &errors_).Mm("bare_diameter", {0.01, 10, "mm"});
  ASSERT_THAT(errors_, SizeIs(1));
  EXPECT_EQ(errors_[0].given, "3 inches");
  EXPECT_EQ(errors_[0].accepted, "0.01 mm to 10 mm");
}

TEST_F(ReaderTest, PathsFollowMessagesAndLists) {
  const auto winding = Parse<v1::Winding>("groups { coils { turns: 1 } coils { turns: 0 } } groups { count: 0 }");
  const Reader reader(winding, "record.winding", &errors_);
  for (const Reader& group : reader.Each("groups", 10)) {
    group.Count("count", 1, 720);
    for (const Reader& coil : group.Each("coils", 10)) coil.Count("turns", 1, 100);
  }
  EXPECT_THAT(Fields(), ElementsAre("record.winding.groups[0].coils[1].turns", "record.winding.groups[1].count"));
}

TEST_F(ReaderTest, ListsTooLongAreOneErrorAndNotRead) {
  v1::Winding winding;
  for (int i = 0; i < 11; ++i) winding.add_groups();
  EXPECT_THAT(Reader(winding, "", &errors_).Each("groups", 10), IsEmpty());
  EXPECT_THAT(Fields(), ElementsAre("groups"));
}

TEST_F(ReaderTest, NeedSaysOnceThatAFieldIsMissingOrWrong) {
  v1::Nameplate plate;
  const Reader reader(plate, "", &errors_);
  const Range range = {1, 10, "V"};
  EXPECT_EQ(reader.Need("rated_volts", reader.Number("rated_volts", range), "1 V to 10 V", 5.0), 5.0);
  EXPECT_THAT(Fields(), ElementsAre("rated_volts"));
  EXPECT_EQ(errors_[0].given, "nothing");
  errors_.clear();
  plate.set_rated_volts(11);
  reader.Need("rated_volts", reader.Number("rated_volts", range), "1 V to 10 V", 5.0);
  EXPECT_THAT(Fields(), ElementsAre("rated_volts"));
  EXPECT_EQ(errors_[0].given, "11 V");
}

TEST_F(ReaderTest, EngineErrorsGoBelowTheField) {
  const v1::Winding winding;
  const Reader reader(winding, "record", &errors_);
  reader.Add("strands", standards::InvalidFields({{"a", "1", "2"}, {"b", "3", "4"}}));
  reader.Add("metal", absl::FailedPreconditionError("copper only"));
  EXPECT_THAT(Fields(), ElementsAre("record.strands.a", "record.strands.b", "record.metal"));
  EXPECT_EQ(errors_[2].accepted, "copper only");
}

TEST_F(ReaderTest, AMessageFullOfErrorsIsGivenUp) {
  const v1::Winding winding;
  const Reader reader(winding, "", &errors_);
  for (int i = 0; i < 100000; ++i) reader.Wrong("strands", "x", "y");
  EXPECT_THAT(errors_, SizeIs(1000));
}

TEST_F(ReaderTest, LongTextsAreFoundWhereverTheyStand) {
  v1::WindingRecord record;
  record.set_note(std::string(20001, 'n'));
  record.set_title(std::string(2000, 't'));
  v1::Machine* const machine = record.mutable_machine();
  machine->mutable_nameplate()->set_serial_text(std::string(2001, 's'));
  machine->add_leads()->set_pin("A");
  machine->add_leads()->set_pin(std::string(3000, 'p'));
  const Reader reader(record, "record", &errors_);
  reader.Wrong("note", "20001 bytes", "words");
  reader.RefuseLongTexts();
  EXPECT_THAT(Fields(),
              ElementsAre("record.note", "record.machine.nameplate.serial_text", "record.machine.leads[1].pin"));
  EXPECT_EQ(errors_[2].given, "3000 bytes");
  EXPECT_EQ(errors_[2].accepted, "at most 2000 bytes");
  record.mutable_machine()->Clear();
  errors_.clear();
  reader.RefuseLongTexts();
  EXPECT_EQ(errors_.at(0).accepted, "at most 20000 bytes");
  EXPECT_THAT(errors_, SizeIs(1));
}

TEST_F(ReaderTest, UnreadableNumbersAreFoundWhereverTheyStand) {
  auto request = Parse<v1::PlanRewindRequest>(
      "record { evidence { repeats: 1 repeats: nan } machine { core { bore_diameter { feet: inf } } } } "
      "wires { stock {} stock { mass_left_kg: -inf } }");
  request.mutable_wires()->add_systems(v1::WIRE_SYSTEM_AWG);
  request.mutable_wires()->add_systems(static_cast<v1::WireSystem>(9));
  request.mutable_record()->mutable_winding()->set_connection(static_cast<v1::Connection>(-3));
  RefuseUnreadable(request, &errors_);
  EXPECT_THAT(Fields(),
              ElementsAre("record.machine.core.bore_diameter.feet", "record.winding.connection",
                          "record.evidence[0].repeats[1]", "wires.systems[1]", "wires.stock[1].mass_left_kg"));
  EXPECT_EQ(errors_[0].given, "infinity");
  EXPECT_EQ(errors_[1].given, "unknown number -3");
  EXPECT_EQ(errors_[1].accepted, "CONNECTION_STAR, CONNECTION_DELTA, CONNECTION_OPEN");
  EXPECT_EQ(errors_[2].given, "not a number");
  EXPECT_EQ(errors_[4].given, "minus infinity");
}

}  // namespace
}  // namespace coilwright::rpc
