#include "field_path.h"

#include <gmock/gmock.h>

#include "coilwright/v1/winding.pb.h"

namespace coilwright::cli {
namespace {

using testing::HasSubstr;

v1::WindingRecord Record() {
  v1::WindingRecord record;
  record.mutable_winding()->set_turns_per_coil(36);
  record.mutable_machine()->mutable_core()->mutable_bore_diameter()->set_inches(2.36);
  auto* strand = record.mutable_winding()->add_strands();
  strand->mutable_wire()->set_designation("0.80 mm grade 2");
  strand->set_wires_in_hand(2);
  return record;
}

std::string Set(v1::WindingRecord* record, const char* assignment) {
  const auto path = Assign(record, assignment);
  return path.ok() ? *path : std::string(path.status().message());
}

TEST(Assign, SetsValuesInTheirUnits) {
  v1::WindingRecord record = Record();
  EXPECT_EQ(Set(&record, "winding.turns_per_coil=34"), "winding.turns_per_coil");
  EXPECT_EQ(record.winding().turns_per_coil(), 34);
  // Another unit takes the place of the one that was there.
  EXPECT_EQ(Set(&record, "machine.core.bore_diameter=60.2mm"), "machine.core.bore_diameter");
  EXPECT_EQ(record.machine().core().bore_diameter().mm(), 60.2);
  EXPECT_EQ(Set(&record, "machine.core.bore_diameter.inches = 2.5"), "machine.core.bore_diameter.inches");
  EXPECT_EQ(record.machine().core().bore_diameter().inches(), 2.5);
  EXPECT_EQ(Set(&record, "winding.connection=delta"), "winding.connection");
  EXPECT_EQ(record.winding().connection(), v1::CONNECTION_DELTA);
  EXPECT_EQ(Set(&record, "title=Retort pump = spare"), "title");
  EXPECT_EQ(record.title(), "Retort pump = spare");
}

TEST(Assign, TakesOffWhatHasNoValue) {
  v1::WindingRecord record = Record();
  EXPECT_EQ(Set(&record, "winding.turns_per_coil="), "winding.turns_per_coil");
  EXPECT_FALSE(record.winding().has_turns_per_coil());
  EXPECT_EQ(Set(&record, "machine.core.bore_diameter="), "machine.core.bore_diameter");
  EXPECT_FALSE(record.machine().core().has_bore_diameter());
}

// Lists are replaced whole, so that the mask ends at them.
TEST(Assign, ReachesIntoLists) {
  v1::WindingRecord record = Record();
  EXPECT_EQ(Set(&record, "winding.strands[0].wires_in_hand=3"), "winding.strands");
  EXPECT_EQ(Set(&record, "winding.strands[1].wire.designation=0.71 mm grade 2"), "winding.strands");
  ASSERT_EQ(record.winding().strands_size(), 2);
  EXPECT_EQ(record.winding().strands(0).wires_in_hand(), 3);
  EXPECT_EQ(Set(&record, "winding.strands=1 x AWG 18 heavy + 2 x AWG 19 heavy"), "winding.strands");
  ASSERT_EQ(record.winding().strands_size(), 2);
  EXPECT_EQ(record.winding().strands(1).wire().designation(), "AWG 19 heavy");
  EXPECT_EQ(Set(&record, "winding.strands="), "winding.strands");
  EXPECT_TRUE(record.winding().strands().empty());
}

TEST(Assign, SaysWhatIsWrong) {
  v1::WindingRecord record = Record();
  EXPECT_THAT(Set(&record, "winding.turn_per_coil=3"), HasSubstr("did you mean turns_per_coil?"));
  EXPECT_THAT(Set(&record, "winding.turns_per_coil=many"),
              HasSubstr("winding.turns_per_coil: got \"many\", accepted: a"));
  EXPECT_THAT(Set(&record, "machine.core.bore_diameter=60"), HasSubstr("a number with its unit"));
  EXPECT_THAT(Set(&record, "machine.core.bore_diameter=60,2mm"), HasSubstr("a decimal point, not a comma"));
  EXPECT_THAT(Set(&record, "winding=3"), HasSubstr("is a group of values; accepted: one of winding.coil_form"));
  EXPECT_THAT(Set(&record, "winding.strands.wires_in_hand=3"), HasSubstr("is a list; accepted: winding.strands[0]"));
  for (const char* index : {"[2]", "[-1]", "[x]", "[0", "[]"}) {
    EXPECT_THAT(Set(&record, (std::string("winding.strands") + index + ".wires_in_hand=3").c_str()),
                HasSubstr("no such element; accepted: winding.strands[0] to winding.strands[1]"))
        << index;
  }
  EXPECT_THAT(Set(&record, "title[0]=x"), HasSubstr("no such element"));
  EXPECT_THAT(Set(&record, "title.text=x"), HasSubstr("title: has no parts"));
  EXPECT_THAT(Set(&record, "winding.turns_per_coil"), HasSubstr("accepted: PATH=VALUE"));
  EXPECT_THAT(Set(&record, "=3"), HasSubstr("accepted: PATH=VALUE"));
  EXPECT_THAT(Set(&record, "winding..turns_per_coil=3"), HasSubstr("no such field"));
}

}  // namespace
}  // namespace coilwright::cli
