#include "text.h"

#include <gmock/gmock.h>

namespace coilwright::cli {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

TEST(Wrap, BreaksAtSpacesAndKeepsLongWordsWhole) {
  EXPECT_THAT(Wrap("earth the winding  first", 10), ElementsAre("earth the", "winding", "first"));
  EXPECT_THAT(Wrap("a thermosetting", 5), ElementsAre("a", "thermosetting"));
  EXPECT_THAT(Wrap("exactly ten", 11), ElementsAre("exactly ten"));
  EXPECT_THAT(Wrap("exactly ten", 10), ElementsAre("exactly", "ten"));
  EXPECT_THAT(Wrap(" \n ", 10), IsEmpty());
}

TEST(Width, CountsCharactersNotBytes) {
  EXPECT_EQ(Width("Motor"), 5);
  EXPECT_EQ(Width("M\xC3\xB6rtel"), 6);  // o with diaeresis is two bytes
}

TEST(Printable, TakesControlCharactersOut) {
  EXPECT_EQ(Printable("a\x1B[31mb\tc\x7F"), "a?[31mb?c?");
  EXPECT_EQ(Printable("x\xC2\x9By\xC2\xA0z"), "x?y\xC2\xA0z");
  EXPECT_EQ(Printable("\xC3\xB6"), "\xC3\xB6");
  EXPECT_EQ(Printable("a\xE2\x80\xAE"
                      "b\xE2\x81\xA9"),
            "a?b?");
  EXPECT_EQ(Printable("\xE2\x80\x93"), "\xE2\x80\x93");
}

// Table 3-7 of The Unicode Standard lists the well-formed byte sequences; each case here lies on one side of a row's
// edge.
TEST(FirstLineNotUtf8, FollowsTheTableOfWellFormedSequences) {
  for (const char* good : {"", "plain", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80",
                           "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"}) {
    EXPECT_EQ(FirstLineNotUtf8(good), 0) << good;
  }
  for (const char* bad : {"\x80", "\xC1\xBF", "\xC3", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xF0\x8F\xBF\xBF",
                          "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xE2\x82", "\xFF"}) {
    EXPECT_EQ(FirstLineNotUtf8(bad), 1) << bad;
  }
  EXPECT_EQ(FirstLineNotUtf8("one\ntwo\nthr\xE9"
                             "e\n"),
            3);
}

TEST(Nearest, FindsASlipButNotAnotherWord) {
  const std::vector<std::string> known = {"volts", "hertz", "circuits"};
  EXPECT_EQ(Nearest("volt", known), "volts");
  EXPECT_EQ(Nearest("cirucits", known), "circuits");
  EXPECT_EQ(Nearest("speed", known), "");
  EXPECT_EQ(Nearest("", known), "");
}

}  // namespace
}  // namespace coilwright::cli
