// The golden answers, over a real socket; the clients in other languages run the same files.
#include "golden/golden.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <set>

#include "absl/strings/match.h"
#include "calls/loopback.h"
#include "contract_methods.h"

namespace coilwright::golden {
namespace {

using ::testing::IsEmpty;
using ::testing::Not;

std::vector<std::string> Files() {
  std::vector<std::string> files;
  for (const auto& file : std::filesystem::directory_iterator(COILWRIGHT_SOURCE_DIR "/tests/golden")) {
    if (file.path().extension() == ".json") files.push_back(file.path().stem());
  }
  return files;
}

class Golden : public ::testing::TestWithParam<std::string> {};

TEST_P(Golden, AnswersAreStillThose) {
  const Json file = Json::parse(std::ifstream(COILWRIGHT_SOURCE_DIR "/tests/golden/" + GetParam() + ".json"));
  const auto* method = MethodNamed(file.at("method"));
  ASSERT_NE(method, nullptr) << file.at("method");
  EXPECT_EQ(GetParam(), method->service()->name() + "." + method->name());
  calls::Loopback loopback;
  ASSERT_THAT(file.at("cases"), Not(IsEmpty()));
  for (const Json& expected : file.at("cases"))
    EXPECT_EQ(DifferenceOf(expected, Played(loopback.channel(), *method, expected)), "") << expected.at("name");
}

INSTANTIATE_TEST_SUITE_P(All, Golden, ::testing::ValuesIn(Files()),
                         [](const auto& file) { return file.param.substr(file.param.find('.') + 1); });

// Of the archive only refusals: what it answers otherwise holds the time of the day and names of chance.
TEST(GoldenFiles, AreThereForEveryMethod) {
  std::set<std::string> wanted;
  for (const auto* method : AllMethods()) wanted.insert(method->service()->name() + "." + method->name());
  const std::vector<std::string> files = Files();
  EXPECT_EQ(std::set<std::string>(files.begin(), files.end()), wanted);
}

TEST(GoldenDifferences, AreSeenWhereverTheyAre) {
  const auto difference = [](const char* expected, const char* actual) {
    return DifferenceOf(Json::parse(expected), Json::parse(actual));
  };
  EXPECT_EQ(difference(R"({"a": [1, {"b": 0.1}]})", R"({"a": [1, {"b": 0.10000000001}]})"), "");
  EXPECT_EQ(difference(R"({"a": [1, {"b": 0.1}]})", R"({"a": [1, {"b": 0.1000001}]})"),
            ".a[1].b: 0.1000001, expected 0.1");
  EXPECT_EQ(difference(R"({"a": 1})", R"({})"), ".a: left out");
  EXPECT_EQ(difference(R"({})", R"({"a": 1})"), ".a: not expected");
  EXPECT_EQ(difference(R"([1])", R"([1, 2])"), ": [1,2], expected [1]");
  EXPECT_EQ(difference(R"("1")", "1"), R"(: 1, expected "1")");
}

}  // namespace
}  // namespace coilwright::golden
