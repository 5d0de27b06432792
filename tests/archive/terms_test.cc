#include "archive/terms.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_split.h"

namespace coilwright::archive {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::SizeIs;

// Expected values by hand from the Unicode data files: CaseFolding.txt and the decompositions of UnicodeData.txt.
TEST(Words, AreFolded) {
  EXPECT_THAT(Words("Pump No. 7, frame 112M-4"), ElementsAre("pump", "no", "7", "frame", "112m", "4"));
  EXPECT_THAT(Words("Kr\xc3\xa4he Stra\xc3\x9f"
                    "e"),
              ElementsAre("krahe", "strasse"));
  EXPECT_THAT(Words("\xef\xac\x81t \xef\xbc\xab\xef\xbc\xb7"), ElementsAre("fit", "kw"));  // U+FB01, full-width K and W
  EXPECT_THAT(Words("e\xcc\x81 \xc3\x89"), ElementsAre("e", "e"));                         // composed or not
  EXPECT_THAT(Words("\xce\x91\xce\xa3 \xcf\x82"), ElementsAre("\xce\xb1\xcf\x83", "\xcf\x83"));
  EXPECT_THAT(Words("10\xc2\xb2 \xc2\xbd"), ElementsAre("102", "1", "2"));  // superscript two; one half is 1 U+2044 2
  EXPECT_THAT(Words(""), IsEmpty());
  EXPECT_THAT(Words(" -/*'\" "), IsEmpty());
}

TEST(Words, BytesThatAreNoTextPartThem) {
  EXPECT_THAT(Words("pu\xffmp \xc3"), ElementsAre("pu", "mp"));
  EXPECT_THAT(Words(absl::string_view("a\0b", 3)), ElementsAre("a", "b"));
}

TEST(Words, LongOnesAreCutBetweenCharacters) {
  const std::string letter = "\xd1\x8f";  // two bytes
  std::string word = "x";
  for (int i = 0; i < 100; ++i) word += letter;
  const std::vector<std::string> words = Words(word);
  ASSERT_THAT(words, SizeIs(1));
  EXPECT_EQ(words[0].size(), 47u);
}

TEST(Terms, OfAResource) {
  Facts facts;
  facts.text = "Pump pu";
  facts.machine_kind = 2;
  facts.slots = 36;
  facts.rated_kw = 4;
  facts.parent = "windings/A b";
  EXPECT_EQ(TermsOf(Kind::kWinding, facts),
            "w.1=p w.2=pu w.3=pum w.k=2 w.pc=2 w.pe=504000 w.pf=16 w.sc=5 w.sf=36 w.t=pu w.t=pump w.u=windings/a_b");
  EXPECT_EQ(TermsOf(Kind::kReadings, facts), "");
}

// IEC 60072-1 writes the frame "112M", NEMA MG 1 "184TC" and "143T"; a plate often has a blank in it.
TEST(Terms, ANumberAndItsLettersAreFoundTogetherAndApart) {
  const auto found = [](const std::string& text, const std::string& asked) {
    Facts facts;
    facts.text = text;
    Query query;
    query.text = asked;
    const std::vector<std::string> terms = absl::StrSplit(TermsOf(Kind::kWinding, facts), ' ');
    const TermQuery questions = TermsFor(query);
    return std::all_of(questions.begin(), questions.end(), [&](const std::vector<Term>& any) {
      return std::any_of(terms.begin(), terms.end(), [&](const std::string& term) {
        return any[0].beginning ? absl::StartsWith(term, any[0].text) : term == any[0].text;
      });
    });
  };
  for (const char* text : {"frame 112M", "frame 112 M, foot"}) {
    for (const char* asked : {"112M", "112 m", "112m frame"}) EXPECT_TRUE(found(text, asked)) << text << ": " << asked;
    for (const char* asked : {"112L", "112 s", "12M", "132M"})
      EXPECT_FALSE(found(text, asked)) << text << ": " << asked;
  }
  for (const char* text : {"184TC 400V", "184 TC 400 V"})
    for (const char* asked : {"184tc", "184 TC", "400V", "400 v"}) EXPECT_TRUE(found(text, asked)) << text << asked;
  EXPECT_FALSE(found("SN 4711AB", "4711 pump"));
}

TEST(Terms, OfAQuestion) {
  Query query;
  query.text = "pump x pu";
  query.slots = {36.0, 37.5};
  EXPECT_EQ(Fts5Text(TermsFor(query)),
            "(\"w.2=pu\") AND (\"w.t=pump\" *) AND (\"w.1=x\") AND (\"w.sf=36\" OR \"w.sf=37\")");
  EXPECT_EQ(TsQueryText(TermsFor(query)), "('w.2=pu') & ('w.t=pump':*) & ('w.1=x') & ('w.sf=36' | 'w.sf=37')");
  EXPECT_THAT(TermsFor(Query()), IsEmpty());
}

bool Hits(const TermQuery& question, const std::string& terms) {
  const std::set<std::string> there = absl::StrSplit(terms, ' ');
  for (const std::vector<Term>& any : question) {
    bool hit = false;
    for (const Term& term : any) {
      if (term.first.empty()) {
        hit = hit || there.count(term.text) != 0;
      } else {
        const auto digits = there.lower_bound(term.first);
        hit = hit || (digits != there.end() && *digits <= term.last);
      }
    }
    if (!hit) return false;
  }
  return true;
}

// A value within a range is never missed, one above it never hit, and no question grows without bound.
TEST(Terms, RangesTouchAllTheirValues) {
  std::minstd_rand random(5);
  std::uniform_real_distribution<double> exponent(-14, 28), width(0, 6);
  for (int i = 0; i < 20000; ++i) {
    const double least = std::exp2(exponent(random)), most = least * std::exp2(width(random));
    Query query;
    query.rated_kw = {least, most};
    query.slots = {least, most};
    if (i % 5 == 0) query.rated_kw.least.reset();
    if (i % 7 == 0) query.rated_kw.most.reset();
    const TermQuery question = TermsFor(query);
    ASSERT_LE(question.size(), 2u);
    for (const std::vector<Term>& any : question) ASSERT_LE(any.size(), 200u) << least << " to " << most;
    for (const double value : {least, most, std::sqrt(least * most)}) {
      Facts facts;
      facts.rated_kw = value;
      Query power = query;
      power.slots = {};
      ASSERT_TRUE(Hits(TermsFor(power), TermsOf(Kind::kWinding, facts))) << value << " in " << least << " to " << most;
      if (value > 1e9 || std::floor(value) < least) continue;
      facts.slots = static_cast<int>(value);
      ASSERT_TRUE(Hits(question, TermsOf(Kind::kWinding, facts))) << value << " in " << least << " to " << most;
    }
    Facts far;
    far.rated_kw = most * 1.0011;  // the digits tell one in a thousand apart
    if (query.rated_kw.most.has_value() && most < 1e7 && most > 0.001) {
      Query power = query;
      power.slots = {};
      ASSERT_FALSE(Hits(TermsFor(power), TermsOf(Kind::kWinding, far))) << most;
    }
  }
}

TEST(Terms, StrangeRangesFindNothingOrAreWide) {
  Query query;
  query.slots = {40.0, 30.0};
  ASSERT_THAT(TermsFor(query), SizeIs(1));
  EXPECT_THAT(TermsFor(query)[0], IsEmpty());
  query.slots = {-5.0, 1e300};
  EXPECT_LE(TermsFor(query)[0].size(), 40u);
  query.slots = {36.2, 36.8};
  EXPECT_LE(TermsFor(query)[0].size(), 1u);
}

}  // namespace
}  // namespace coilwright::archive
