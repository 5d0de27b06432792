// Every field of every request, set to what nobody should send: never a crash, never a NaN, never an error of our own,
// and what is refused is named.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "calls/edges.h"
#include "calls/loopback.h"
#include "calls/samples.h"
#include "calls/walk.h"

namespace coilwright::calls {
namespace {

using ::testing::Contains;
using ::testing::IsEmpty;

// Under a sanitizer, where a call takes twenty times as long, one in four is sent: another edge from field to field.
#ifdef __SANITIZE_ADDRESS__
constexpr size_t kOneIn = 4;
#else
constexpr size_t kOneIn = 1;
#endif

class BadRequests : public ::testing::TestWithParam<AnyMethod> {
 protected:
  // Sends it and says what was wrong with the outcome.
  grpc::Status Send(const Message& request, const std::string& what) {
    const std::unique_ptr<Message> answer(GetParam().response->New());
    const grpc::Status status = loopback_.Call(GetParam(), request, answer.get());
    EXPECT_THAT(FaultsOf(status, request.GetDescriptor(), *answer), IsEmpty()) << what;
    return status;
  }

  // Every field, but what a document is made of: that is sent one by one to the methods that plan and judge, and it
  // takes a hundred times as long to draw.
  static std::vector<Place> Places() {
    const Descriptor* type = GetParam().request->GetDescriptor();
    std::vector<Place> places = PlacesOf(type);
    if (type->file()->name() != "coilwright/v1/sheet_service.proto") return places;
    const auto made_of = [](const Place& place) {
      return place.size() > 1 && (place[0]->name() == "plan" || place[0]->name() == "readings");
    };
    places.erase(std::remove_if(places.begin(), places.end(), made_of), places.end());
    return places;
  }

  Loopback loopback_{WithTestArchive()};
};

TEST_P(BadRequests, EmptyMessageIsRefusedOrMeansTheWholeList) {
  const std::unique_ptr<Message> empty(GetParam().request->New());
  const std::set<std::string> wholes = {"ListRules", "ListWindings", "ListJobs", "GetArchive", "ExportEntries"};
  const grpc::Status status = Send(*empty, "empty message");
  EXPECT_EQ(status.error_code(),
            wholes.count(GetParam().name) > 0 ? grpc::StatusCode::OK : grpc::StatusCode::INVALID_ARGUMENT);
}

TEST_P(BadRequests, EveryFieldAtEveryEdge) {
  const auto good = calls::GoodRequests(GetParam().name).front();
  size_t counted = 0;
  for (const Place& place : Places()) {
    ++counted;
    for (const Edge& edge : EdgesOf(place.back())) {
      if (counted++ % kOneIn != 0) continue;
      const std::unique_ptr<Message> request(good->New());
      request->CopyFrom(*good);
      Put(Holder(request.get(), place, true), place.back(), edge);
      const std::string what = PathOf(place) + " = " + edge.what;
      const grpc::Status status = Send(*request, what);
      if (!edge.unreadable) continue;
      EXPECT_EQ(status.error_code(), grpc::StatusCode::INVALID_ARGUMENT) << what;
      EXPECT_THAT(ViolationsOf(status).fields, Contains(PathOf(place))) << what;
    }
  }
}

TEST_P(BadRequests, EveryFieldLeftOut) {
  size_t counted = 0;
  for (const auto& good : calls::GoodRequests(GetParam().name)) {
    for (const Place& place : Places()) {
      if (counted++ % kOneIn != 0) continue;
      const std::unique_ptr<Message> request(good->New());
      request->CopyFrom(*good);
      Message* holder = Holder(request.get(), place, false);
      if (holder == nullptr) continue;
      holder->GetReflection()->ClearField(holder, place.back());
      Send(*request, "without " + PathOf(place));
    }
  }
}

// An empty element, and a thousand of them, in every list.
TEST_P(BadRequests, EveryListWithEmptyEntries) {
  const auto good = calls::GoodRequests(GetParam().name).front();
  for (const Place& place : Places()) {
    if (!place.back()->is_repeated() || place.back()->cpp_type() != FieldDescriptor::CPPTYPE_MESSAGE) continue;
    for (const int entries : {1, 1000}) {
      const std::unique_ptr<Message> request(good->New());
      request->CopyFrom(*good);
      Message* holder = Holder(request.get(), place, true);
      for (int i = 0; i < entries; ++i) holder->GetReflection()->AddMessage(holder, place.back());
      Send(*request, absl::StrCat(entries, " empty entries in ", PathOf(place)));
    }
  }
}

INSTANTIATE_TEST_SUITE_P(All, BadRequests, ::testing::ValuesIn(Methods()),
                         [](const auto& method) { return method.param.name; });

}  // namespace
}  // namespace coilwright::calls
