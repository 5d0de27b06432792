#include "print/figures.h"

#include <gtest/gtest.h>

namespace coilwright::print {
namespace {

TEST(Figures, KeepsDigitsBeforeThePointAndDropsTrailingZeros) {
  EXPECT_EQ(Figures(230), "230");
  EXPECT_EQ(Figures(12345.6), "12346");
  EXPECT_EQ(Figures(1.02362, 4), "1.024");
  EXPECT_EQ(Figures(0.00012346), "0.0001235");
  EXPECT_EQ(Figures(-2.5), "-2.5");
  EXPECT_EQ(Figures(0), "0");
  EXPECT_EQ(Figures(9.9996, 4), "10");
}

TEST(Percent, SignsOnlyWhereAsked) {
  EXPECT_EQ(Percent(0.0123), "1.2 %");
  EXPECT_EQ(Percent(0.0123, true), "+1.2 %");
  EXPECT_EQ(Percent(-0.0123, true), "-1.2 %");
  EXPECT_EQ(Percent(-0.0001, true), "+0.0 %");
}

}  // namespace
}  // namespace coilwright::print
