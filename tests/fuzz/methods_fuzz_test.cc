// Requests bent at random, in bytes and in fields: whatever comes in, the body of a call neither crashes nor answers
// with a number that is none, costs no more than a bounded number of plans, and blames a field that exists.
// Seeded and counted, so that a run can be repeated.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "absl/strings/match.h"
#include "calls/cost.h"
#include "calls/edges.h"
#include "calls/samples.h"
#include "calls/walk.h"

namespace coilwright::calls {
namespace {

using ::testing::IsEmpty;

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr int kRounds = 1000;
#else
constexpr int kRounds = 20000;
#endif

// A document takes a thousand times as long as a limit, an archive writes to its disk, and their requests hold little
// that others do not.
int RoundsOf(const AnyMethod& method) {
  const std::string& file = method.request->GetDescriptor()->file()->name();
  if (file == "coilwright/v1/sheet_service.proto") return std::max(100, kRounds / 100);
  return absl::EndsWith(file, "archive_service.proto") || absl::EndsWith(file, "job_service.proto") ? kRounds / 4
                                                                                                    : kRounds;
}

class Fuzz : public ::testing::TestWithParam<AnyMethod> {
 protected:
  Fuzz() : good_(GoodRequests(GetParam().name)), places_(PlacesOf(GetParam().request->GetDescriptor())) {}

  size_t Below(size_t most) { return most == 0 ? 0 : static_cast<size_t>(random_() % most); }
  bool OneIn(size_t many) { return Below(many) == 0; }
  const Message& AnyGood() { return *good_[Below(good_.size())]; }

  // Runs it and says what was wrong.
  void Check(const Message& request) {
    const std::unique_ptr<Message> answer(GetParam().response->New());
    const double start = ProcessorSeconds();
    const grpc::Status status = GetParam().body(request, answer.get());
    const double seconds = ProcessorSeconds() - start;
    if (seconds > slowest_) {
      slowest_ = seconds;
      slowest_request_ = request.ShortDebugString().substr(0, 3000);
    }
    (status.ok() ? answered_ : refused_) += 1;
    ASSERT_THAT(FaultsOf(status, request.GetDescriptor(), *answer), IsEmpty())
        << request.ShortDebugString().substr(0, 20000);
    std::string bytes;
    ASSERT_TRUE(answer->SerializeToString(&bytes));
    ASSERT_TRUE(std::unique_ptr<Message>(answer->New())->ParseFromString(bytes));
  }

  void TearDown() override {
    RecordProperty("answered", answered_);
    RecordProperty("refused", refused_);
    RecordProperty("slowest_microseconds", static_cast<int>(1e6 * slowest_));
    EXPECT_LT(slowest_ / PlanSeconds(), kMostPlans) << slowest_request_;
    EXPECT_GT(answered_, RoundsOf(GetParam()) / 100) << "hardly a request was answered";
    EXPECT_GT(answered_ + refused_, RoundsOf(GetParam()) / 30) << "hardly a request reached the method";
  }

  std::string BentBytes() {
    std::string bytes = AnyGood().SerializeAsString();
    for (size_t times = 1 + Below(OneIn(2) ? 2 : 6); times > 0; --times) {
      const size_t at = Below(bytes.size() + 1);
      switch (Below(6)) {
        case 0:
          if (at < bytes.size()) bytes[at] = static_cast<char>(bytes[at] ^ (1 << Below(8)));
          break;
        case 1:
          if (at < bytes.size()) bytes[at] = static_cast<char>(Below(256));
          break;
        case 2:
          bytes.insert(at, 1, static_cast<char>(Below(256)));
          break;
        case 3:
          bytes.erase(at, Below(8));
          break;
        case 4:
          bytes.insert(Below(bytes.size() + 1), bytes.substr(at, Below(60)));
          break;
        default:
          bytes += AnyGood().SerializeAsString().substr(0, Below(200));  // a second message merges into the first
      }
    }
    return bytes;
  }

  void Bend(Message* request) {
    if (places_.empty()) return;  // a message without fields
    const Place& place = places_[Below(places_.size())];
    const FieldDescriptor* field = place.back();
    Message* holder = Holder(request, place, !OneIn(3));
    if (holder == nullptr) return;
    const Reflection* reflection = holder->GetReflection();
    const std::vector<Edge>& edges = EdgesOf(field);
    if (OneIn(8)) {
      reflection->ClearField(holder, field);
    } else if (field->is_repeated() && field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE) {
      Repeat(holder, field);
    } else if (field->cpp_type() == FieldDescriptor::CPPTYPE_DOUBLE && !field->is_repeated() && OneIn(2)) {
      // Any exponent of ten, or near what it was.
      const double old = reflection->GetDouble(*holder, field);
      const double power = std::pow(10.0, static_cast<double>(Below(16)) - 7.0);
      reflection->SetDouble(holder, field, OneIn(2) ? power * static_cast<double>(1 + Below(9)) : old * power);
    } else if (field->cpp_type() == FieldDescriptor::CPPTYPE_INT32 && !field->is_repeated() && OneIn(2)) {
      reflection->SetInt32(holder, field, static_cast<int>(Below(OneIn(2) ? 40 : 1000)));
    } else if (field->cpp_type() == FieldDescriptor::CPPTYPE_ENUM && !field->is_repeated() && !OneIn(4)) {
      reflection->SetEnumValue(
          holder, field,
          field->enum_type()
              ->value(static_cast<int>(Below(static_cast<size_t>(field->enum_type()->value_count()))))
              ->number());
    } else if (!edges.empty()) {
      const Edge& edge = edges[Below(edges.size())];
      if (edge.text.size() < 10000 || OneIn(10)) Put(holder, field, edge);
    }
  }

  // The first entry again and again, so that groups, strands and stock grow.
  void Repeat(Message* holder, const FieldDescriptor* field) {
    const Reflection* reflection = holder->GetReflection();
    const int size = reflection->FieldSize(*holder, field);
    const size_t times = OneIn(20) ? 800 : 1 + Below(12);
    for (size_t i = 0; i < times; ++i) {
      Message* added = reflection->AddMessage(holder, field);
      if (size > 0) added->CopyFrom(reflection->GetRepeatedMessage(*holder, field, 0));
    }
  }

  std::mt19937_64 random_{20240607};
  Requests good_;
  std::vector<Place> places_;
  double slowest_ = 0;
  std::string slowest_request_;
  int answered_ = 0;
  int refused_ = 0;
};

TEST_P(Fuzz, BentBytes) {
  const std::unique_ptr<Message> request(GetParam().request->New());
  for (int round = 0; round < RoundsOf(GetParam()); ++round) {
    if (!request->ParseFromString(BentBytes())) continue;
    ASSERT_NO_FATAL_FAILURE(Check(*request)) << "round " << round;
  }
}

TEST_P(Fuzz, BentFields) {
  for (int round = 0; round < RoundsOf(GetParam()); ++round) {
    const Message& good = AnyGood();
    const std::unique_ptr<Message> request(good.New());
    request->CopyFrom(good);
    for (size_t times = 1 + Below(OneIn(2) ? 2 : 6); times > 0; --times) Bend(request.get());
    ASSERT_NO_FATAL_FAILURE(Check(*request)) << "round " << round;
  }
}

INSTANTIATE_TEST_SUITE_P(All, Fuzz, ::testing::ValuesIn(Methods()),
                         [](const auto& method) { return method.param.name; });

}  // namespace
}  // namespace coilwright::calls
