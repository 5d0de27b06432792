#include "rpc/paging.h"

#include <gtest/gtest.h>

namespace coilwright::rpc {
namespace {

TEST(PageOf, FiftyWhereNobodySays) {
  const auto page = PageOf(120, 0, "");
  ASSERT_TRUE(page.ok());
  EXPECT_EQ(page->begin, 0);
  EXPECT_EQ(page->end, 50);
  EXPECT_FALSE(page->next_token.empty());
}

TEST(PageOf, NeverMoreThanTwoHundred) {
  EXPECT_EQ(PageOf(1000, 201, "")->end, 200);
  EXPECT_EQ(PageOf(1000, std::numeric_limits<int>::max(), "")->end, 200);
}

TEST(PageOf, LastPageHasNoToken) {
  EXPECT_TRUE(PageOf(50, 50, "")->next_token.empty());
  EXPECT_FALSE(PageOf(51, 50, "")->next_token.empty());
  const auto last = PageOf(51, 50, PageOf(51, 50, "")->next_token);
  ASSERT_TRUE(last.ok());
  EXPECT_EQ(last->begin, 50);
  EXPECT_EQ(last->end, 51);
  EXPECT_TRUE(last->next_token.empty());
}

TEST(PageOf, AnEmptyListIsOnePage) {
  const auto page = PageOf(0, 10, "");
  ASSERT_TRUE(page.ok());
  EXPECT_EQ(page->end, 0);
  EXPECT_TRUE(page->next_token.empty());
}

TEST(PageOf, NegativeSizesAreRefused) {
  EXPECT_TRUE(absl::IsInvalidArgument(PageOf(10, -1, "").status()));
  EXPECT_TRUE(absl::IsInvalidArgument(PageOf(10, std::numeric_limits<int>::min(), "").status()));
}

// A token of another data revision would skip or repeat entries.
TEST(PageOf, TokensFromElsewhereAreRefused) {
  const std::string revision(standards::DataRevision());
  for (const std::string& token :
       {std::string("5"), std::string("x.5"), revision, revision + ".", revision + ".x", revision + ".-1",
        revision + ".11", revision + ".99999999999999999999", "0" + revision + ".5", revision + ".5x"}) {
    const auto page = PageOf(10, 3, token);
    EXPECT_TRUE(absl::IsInvalidArgument(page.status())) << token;
    EXPECT_EQ(standards::FieldErrorsOf(page.status()).at(0).field, "page_token");
  }
  EXPECT_TRUE(PageOf(10, 3, revision + ".10").ok());
}

}  // namespace
}  // namespace coilwright::rpc
