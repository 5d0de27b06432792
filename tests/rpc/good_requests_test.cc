// Every method answers a good request over a real socket, and what any answer of the contract promises is true of it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calls/loopback.h"
#include "calls/samples.h"
#include "calls/walk.h"
#include "contract_methods.h"
#include "standards/rules.h"
#include "standards/tables.h"

namespace coilwright::calls {
namespace {

using ::testing::IsEmpty;

std::unique_ptr<Message> New(const Message* prototype) { return std::unique_ptr<Message>(prototype->New()); }

// Maps are absent from the contract, so that equal messages have equal bytes.
// An export says when it began, in its token too.
std::string Bytes(Message& message) {
  if (const auto* time = message.GetDescriptor()->FindFieldByName("snapshot_time")) {
    message.GetReflection()->ClearField(&message, time);
    message.GetReflection()->ClearField(&message, message.GetDescriptor()->FindFieldByName("next_page_token"));
  }
  return message.SerializeAsString();
}

TEST(Methods, AreAllOfTheContract) {
  std::set<std::string> listed;
  for (const AnyMethod& method : Methods()) listed.insert(method.request->GetTypeName());
  std::set<std::string> declared;
  for (const auto* method : AllMethods()) declared.insert(method->input_type()->full_name());
  EXPECT_EQ(listed, declared);
}

class RightRequests : public ::testing::TestWithParam<AnyMethod> {
 protected:
  Loopback loopback_{WithTestArchive()};
};

TEST_P(RightRequests, AreAnsweredWithFiniteNumbersThatNameTheirRules) {
  for (const auto& request : calls::GoodRequests(GetParam().name)) {
    const auto answer = New(GetParam().response);
    const grpc::Status status = loopback_.Call(GetParam(), *request, answer.get());
    ASSERT_TRUE(status.ok()) << status.error_message() << "\n" << request->DebugString();
    EXPECT_THAT(FaultsOf(*answer), IsEmpty()) << answer->DebugString();
    const auto* revision = answer->GetDescriptor()->FindFieldByName("data_revision");
    if (revision != nullptr) {
      EXPECT_EQ(answer->GetReflection()->GetString(*answer, revision), std::string(standards::DataRevision()));
    }
    for (const std::string& rule : RulesNamed(*answer)) {
      v1::GetRuleRequest by_name;
      by_name.set_name("rules/" + rule);
      v1::GetRuleResponse found;
      EXPECT_TRUE(loopback_.Call(Named("GetRule"), by_name, &found).ok()) << rule;
      EXPECT_EQ(found.rule().name(), by_name.name());
      EXPECT_FALSE(found.rule().source().empty()) << rule;
      EXPECT_NE(found.rule().standing(), v1::RULE_STANDING_UNSPECIFIED) << rule;
    }
  }
}

TEST_P(RightRequests, GiveTheSameBytesAgainAndWithoutASocket) {
  int calls = 0;
  for (const auto& good : calls::GoodRequests(GetParam().name)) {
    const auto request = New(good.get());
    request->CopyFrom(*good);
    // A call that writes is the same call only with a request id.
    if (const auto* id = request->GetDescriptor()->FindFieldByName("request_id"))
      request->GetReflection()->SetString(request.get(), id, absl::StrCat(GetParam().name, ".", ++calls));
    const auto first = New(GetParam().response);
    const auto second = New(GetParam().response);
    const auto direct = New(GetParam().response);
    for (const auto* answer : {&first, &second}) {
      const grpc::Status status = loopback_.Call(GetParam(), *request, answer->get());
      ASSERT_TRUE(status.ok()) << status.error_message() << "\n" << request->ShortDebugString();
    }
    ASSERT_TRUE(GetParam().body(*request, direct.get()).ok());
    EXPECT_EQ(Bytes(*first), Bytes(*second));
    EXPECT_EQ(Bytes(*first), Bytes(*direct));
  }
}

INSTANTIATE_TEST_SUITE_P(All, RightRequests, ::testing::ValuesIn(Methods()),
                         [](const auto& method) { return method.param.name; });

TEST(PlanRewind, TurnsTheDemoRecordIntoAPlanThatListsItsRules) {
  const Loopback loopback;
  v1::PlanRewindRequest request;
  *request.mutable_record() = DemoRecord();
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(loopback.Call(Named("PlanRewind"), request, &plan).ok());
  EXPECT_EQ(plan.title(), request.record().title());
  EXPECT_GT(plan.options_size(), 0);
  EXPECT_EQ(plan.turns().turns_per_coil(), 35);
  EXPECT_EQ(plan.programmes_size(), 6);
  EXPECT_FALSE(plan.cautions().empty());
  std::set<std::string> listed;
  for (const v1::Rule& rule : plan.rules()) listed.insert(rule.name());
  for (const std::string& rule : RulesNamed(plan)) EXPECT_EQ(listed.count("rules/" + rule), 1u) << rule;
}

// Walks a list page by page and returns the names in order.
template <typename Request, typename Response, typename NamesOf>
std::vector<std::string> Walked(const Loopback& loopback, const char* method, Request request, int page_size,
                                NamesOf names_of) {
  std::vector<std::string> names;
  request.set_page_size(page_size);
  do {
    Response page;
    const grpc::Status status = loopback.Call(Named(method), request, &page);
    EXPECT_TRUE(status.ok()) << status.error_message();
    const std::vector<std::string> on_page = names_of(page);
    EXPECT_LE(on_page.size(), static_cast<size_t>(page_size));
    names.insert(names.end(), on_page.begin(), on_page.end());
    request.set_page_token(page.next_page_token());
  } while (!request.page_token().empty() && names.size() < 10000);
  return names;
}

TEST(Pages, HoldEveryRuleOnceWhateverTheirSize) {
  const Loopback loopback;
  const auto names_of = [](const v1::ListRulesResponse& page) {
    std::vector<std::string> names;
    for (const v1::Rule& rule : page.rules()) names.push_back(rule.name());
    return names;
  };
  const auto by_seven = Walked<v1::ListRulesRequest, v1::ListRulesResponse>(loopback, "ListRules", {}, 7, names_of);
  const auto by_200 = Walked<v1::ListRulesRequest, v1::ListRulesResponse>(loopback, "ListRules", {}, 200, names_of);
  EXPECT_EQ(by_seven, by_200);
  EXPECT_EQ(by_seven.size(), standards::Rules().size());
  EXPECT_EQ(std::set<std::string>(by_seven.begin(), by_seven.end()).size(), by_seven.size());
}

TEST(Pages, HoldEveryWireThickestFirst) {
  const Loopback loopback;
  v1::ListWiresRequest request;
  request.set_system(v1::WIRE_SYSTEM_IEC_R20);
  std::vector<double> bare_mm;
  const auto names_of = [&](const v1::ListWiresResponse& page) {
    std::vector<std::string> names;
    for (const v1::Wire& wire : page.wires()) {
      names.push_back(wire.designation());
      bare_mm.push_back(wire.bare_diameter_mm().nominal());
    }
    return names;
  };
  const auto names = Walked<v1::ListWiresRequest, v1::ListWiresResponse>(loopback, "ListWires", request, 3, names_of);
  EXPECT_GT(names.size(), 30u);
  EXPECT_TRUE(std::is_sorted(bare_mm.rbegin(), bare_mm.rend()));
}

}  // namespace
}  // namespace coilwright::calls
