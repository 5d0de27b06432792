#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "standards/errors.h"
#include "wire/wire.h"

namespace coilwright::wire {
namespace {

using ::testing::HasSubstr;

// What people say at the bench, and which wire it is. Common practice, no source.
TEST(Parse, UnderstandsWhatPeopleSay) {
  const std::pair<const char*, const char*> said[] = {
      {"AWG 18 heavy", "AWG 18 heavy"},
      {"18 awg", "AWG 18"},
      {"18AWG heavy", "AWG 18 heavy"},
      {"#18 triple", "AWG 18 triple"},
      {"# 18", "AWG 18"},
      {"AWG-18", "AWG 18"},
      {"18 ga single build", "AWG 18 single"},
      {"18 gauge heavy film wire", "AWG 18 heavy"},
      {"B&S 18", "AWG 18"},
      {"18 heavy", "AWG 18 heavy"},
      {"heavy 18", "AWG 18 heavy"},
      {"4/0", "AWG 4/0"},
      {"0000", "AWG 4/0"},
      {"AWG 0", "AWG 1/0"},
      {"000 awg", "AWG 3/0"},
      {"AWG 18.5", "AWG 18.5"},
      {"AWG 18,5", "AWG 18.5"},
      {"18 1/2 awg", "AWG 18.5"},
      {"18-1/2 heavy", "AWG 18.5 heavy"},
      {"18½ AWG single", "AWG 18.5 single"},
      {"0.71 mm grade 2", "0.71 mm grade 2"},
      {"0,71mm G2", "0.71 mm grade 2"},
      {"0,71 g2", "0.71 mm grade 2"},
      {".71 mm gr.1", "0.71 mm grade 1"},
      {"0.710 MM Grade2", "0.71 mm grade 2"},
      {"0.75 mm", "0.75 mm"},
      {"1 mm bare", "1.00 mm"},
      {"1.000 mm", "1.00 mm"},
      {"SWG 22", "SWG 22"},
      {"22 swg grade 1", "SWG 22 grade 1"},
      {"swg 7/0", "SWG 7/0"},
      {"  AWG   24  ", "AWG 24"},
  };
  for (const auto& [text, designation] : said) {
    const auto wire = Parse(text);
    ASSERT_TRUE(wire.ok()) << text << ": " << wire.status();
    EXPECT_EQ(wire->designation, designation) << text;
  }
}

// Refused, not guessed: a bare number is gauge or millimetres, two systems or two films contradict each other.
TEST(Parse, RefusesWhatCouldMeanTwoThings) {
  const std::string too_long(5000, '1');
  for (const std::string& text : {std::string(),
                                  std::string("18"),
                                  std::string("0.71"),
                                  std::string("abc"),
                                  std::string("AWG"),
                                  std::string("AWG heavy"),
                                  std::string("AWG 18 18"),
                                  std::string("AWG mm 18"),
                                  std::string("SWG 22 awg"),
                                  std::string("AWG 18 heavy single"),
                                  std::string("AWG 18 quad"),
                                  std::string("0.71 mm grade 4"),
                                  std::string("0.71 mm grade"),
                                  std::string("-5 mm"),
                                  std::string("AWG -3"),
                                  std::string("AWG 1e5"),
                                  std::string("0.5 1/2 mm"),
                                  std::string("AWG 1/2"),
                                  std::string("0.028 in"),
                                  std::string("AWG 18 1/2 1/2"),
                                  std::string("0 mm"),
                                  std::string("AWG 18\n\x01"),
                                  std::string("\xff\xfe"),
                                  std::string("18\0AWG", 6),
                                  std::string("AWG 18 grade 2"),
                                  std::string("0.71 mm heavy"),
                                  std::string("SWG 5 grade 1"),
                                  too_long}) {
    const auto wire = Parse(text);
    ASSERT_EQ(wire.status().code(), absl::StatusCode::kInvalidArgument) << text;
    const auto errors = standards::FieldErrorsOf(wire.status());
    ASSERT_EQ(errors.size(), 1u) << text;
    EXPECT_EQ(errors[0].field, "wire");
    EXPECT_FALSE(errors[0].given.empty());
    EXPECT_LT(errors[0].given.size(), 300u);
    EXPECT_FALSE(errors[0].accepted.empty());
  }
  EXPECT_THAT(standards::FieldErrorsOf(Parse("18").status())[0].accepted, HasSubstr("\"AWG 18 heavy\""));
}

TEST(Parse, AMissingSizeNamesTheNearestTwo) {
  EXPECT_EQ(Parse("0.72 mm").status().code(), absl::StatusCode::kNotFound);
  EXPECT_THAT(std::string(Parse("0.72 mm").status().message()), HasSubstr("0.71 mm and 0.75 mm"));
  EXPECT_THAT(std::string(Parse("AWG 60 heavy").status().message()), HasSubstr("AWG 50 and AWG 49"));
  EXPECT_THAT(std::string(Parse("SWG 51").status().message()), HasSubstr("SWG 50 and SWG 49"));
}

}  // namespace
}  // namespace coilwright::wire
