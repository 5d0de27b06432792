#include "standards/tables.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>
#include <string>

#include "standards/errors.h"
#include "standards/rules.h"

namespace coilwright::standards {
namespace {

TEST(Tables, DropCommentsAndReadQuotedCells) {
  const Table table("# a source, with a comma\nname,value\n\"one, two\",1.5\r\n\"say \"\"so\"\"\",\n");
  ASSERT_EQ(table.rows(), 2);
  EXPECT_EQ(table.Text(0, "name"), "one, two");
  EXPECT_EQ(table.Number(0, "value"), 1.5);
  EXPECT_EQ(table.Text(1, "name"), "say \"so\"");
  EXPECT_FALSE(table.Number(1, "value").has_value());
}

TEST(TablesDeathTest, AbortOnWhatIsNotATable) {
  EXPECT_DEATH(Table("# nothing but a comment\n"), "no header");
  EXPECT_DEATH(Table("a,b\n1\n"), "embedded table");
  EXPECT_DEATH(static_cast<void>(Table("a\n1\n").Text(0, "b")), "embedded table");
  EXPECT_DEATH(static_cast<void>(Table("a\nx\n").Number(0, "a")), "embedded table");
}

TEST(Tables, AreEmbeddedUnderTheirNames) {
  for (const char* name : {"awg", "swg", "nema_mw1000", "iec60317_round", "conductors", "resistivity", "densities",
                           "thermal_classes", "rules_wire"}) {
    EXPECT_FALSE(EmbeddedTable(name).empty()) << name;
    EXPECT_EQ(EmbeddedTable(name).substr(0, 1), "#") << name << " names its sources";
  }
  EXPECT_TRUE(EmbeddedTable("no_such_table").empty());
  EXPECT_TRUE(std::regex_match(std::string(DataRevision()), std::regex("[0-9a-f]{12}")));
}

TEST(Rules, AreFoundByIdOnly) {
  const Rule* rule = FindRule(rules::resistivity_iacs);
  ASSERT_NE(rule, nullptr);
  EXPECT_EQ(rule->source, "IEC 60028");
  EXPECT_EQ(rule->standing, Standing::kPublished);
  EXPECT_EQ(FindRule("no.such.rule"), nullptr);
  EXPECT_EQ(FindRule(""), nullptr);
}

TEST(FieldErrors, TravelInAStatus) {
  const absl::Status status = InvalidFields({{"turns", "-3", "1 or more"}, {"slots", "0", "3 or more"}});
  EXPECT_EQ(status.code(), absl::StatusCode::kInvalidArgument);
  const std::vector<FieldError> errors = FieldErrorsOf(UnderField("winding", status));
  ASSERT_EQ(errors.size(), 2u);
  EXPECT_EQ(errors[0].field, "winding.turns");
  EXPECT_EQ(errors[1].given, "0");
  EXPECT_TRUE(FieldErrorsOf(absl::NotFoundError("no wire")).empty());
  EXPECT_EQ(UnderField("x", absl::NotFoundError("no wire")), absl::NotFoundError("no wire"));
}

// What a caller sent may hold the separators of the packing; it must not make a field of its own.
TEST(FieldErrors, KeepTheirNumberWhateverWasSent) {
  const std::vector<FieldError> errors = FieldErrorsOf(InvalidField("wire",
                                                                    "a\x1e"
                                                                    "b\x1f"
                                                                    "c",
                                                                    "AWG 18"));
  ASSERT_EQ(errors.size(), 1u);
  EXPECT_EQ(errors[0].given, "a b c");
}

}  // namespace
}  // namespace coilwright::standards
