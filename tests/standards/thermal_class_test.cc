#include "standards/thermal_class.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "standards/errors.h"

namespace coilwright::standards {
namespace {

using ::testing::HasSubstr;

// IEC 60085 letters as several public tables print them; N and R from memory.
TEST(ThermalClass, FoundByNumberAndByLetter) {
  const std::pair<const char*, int> printed[] = {{"Y", 90},  {"A", 105}, {"E", 120}, {"B", 130},
                                                 {"F", 155}, {"H", 180}, {"N", 200}, {"R", 220}};
  for (const auto& [letter, celsius] : printed) {
    EXPECT_EQ(FindThermalClass(letter)->celsius, celsius);
    EXPECT_EQ(FindThermalClass(std::to_string(celsius))->letter, letter);
  }
  EXPECT_EQ(FindThermalClass(" f ")->celsius, 155);
  EXPECT_EQ(FindThermalClass("250")->letter, "");
  EXPECT_EQ(ThermalClasses().size(), 9u);
}

// IEC 60034-1, rise by resistance at 40 C ambient, from memory.
TEST(ThermalClass, RiseByResistance) {
  const std::pair<const char*, std::pair<double, double>> rises[] = {
      {"A", {60, 65}}, {"E", {75, 75}}, {"B", {80, 85}}, {"F", {105, 110}}, {"H", {125, 130}}};
  for (const auto& [letter, rise] : rises) {
    EXPECT_EQ(FindThermalClass(letter)->rise_kelvin, rise.first) << letter;
    EXPECT_EQ(FindThermalClass(letter)->rise_small_kelvin, rise.second) << letter;
    EXPECT_LE(40 + rise.second, FindThermalClass(letter)->celsius) << letter;  // room for the hot spot
  }
  EXPECT_FALSE(FindThermalClass("200")->rise_kelvin.has_value());
}

TEST(ThermalClass, CIsRefusedBecauseItIsNotOneTemperature) {
  const auto found = FindThermalClass("c");
  ASSERT_EQ(found.status().code(), absl::StatusCode::kInvalidArgument);
  EXPECT_EQ(FieldErrorsOf(found.status())[0].field, "thermal_class");
  EXPECT_THAT(FieldErrorsOf(found.status())[0].accepted, HasSubstr("temperature"));
}

TEST(ThermalClass, UnknownNamesAreRefusedWithTheList) {
  for (const char* wrong : {"", " ", "Q", "160", "FF", "155.0"}) {
    const auto found = FindThermalClass(wrong);
    ASSERT_EQ(found.status().code(), absl::StatusCode::kInvalidArgument) << wrong;
    EXPECT_THAT(FieldErrorsOf(found.status())[0].accepted, HasSubstr("155 (F)")) << wrong;
  }
}

}  // namespace
}  // namespace coilwright::standards
