// Roles: what the table says of every method, what a roles file may hold, and who is let through.
#include "rpc/access.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>
#include <string>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "contract_methods.h"
#include "google/protobuf/text_format.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

std::map<std::string, Role> Table() {
  std::map<std::string, Role> table;
  for (const MethodEntry& entry : MethodTable()) {
    EXPECT_TRUE(table.emplace(std::string(entry.name), entry.needs).second) << entry.name << " stands twice";
  }
  return table;
}

// What a method does is in its name by the conventions of the contract; the table is held against that.
Role RoleByName(const std::string& name) {
  if (name == "SignOffJob" || name == "ImportEntries") return Role::kSignOff;
  const std::set<std::string> writes = {"ReachStage", "ChoosePlan"};
  for (const char* verb : {"Create", "Update", "Delete", "Undelete", "Add"}) {
    if (absl::StartsWith(name, verb)) return Role::kRecord;
  }
  return writes.count(name) > 0 ? Role::kRecord : Role::kRead;
}

TEST(MethodTable, HoldsEveryMethodOfTheContractOnceWithItsRole) {
  std::map<std::string, Role> table = Table();
  EXPECT_EQ(MethodTable().back().name, "other");
  EXPECT_EQ(table["other"], Role::kSignOff) << "what nobody thought of needs the most";
  table.erase("other");
  for (const auto* method : AllMethods()) {
    const std::string name = absl::StrCat(method->service()->full_name(), "/", method->name());
    ASSERT_EQ(table.count(name), 1u) << name << " has no role";
    EXPECT_EQ(table[name], RoleByName(method->name())) << name;
    EXPECT_EQ(EntryTaking(*method->input_type()).stream, method->client_streaming()) << name;
    EXPECT_EQ(EntryTaking(*method->input_type()).name, name) << "a request belongs to one method";
    table.erase(name);
    // Whatever takes a request id writes.
    const auto* fields = method->input_type();
    if (fields->FindFieldByName("request_id") != nullptr) {
      EXPECT_GE(RoleByName(method->name()), Role::kRecord) << name;
    }
  }
  EXPECT_THAT(table, ::testing::IsEmpty()) << "of methods that are gone";
}

TEST(MethodTable, AMessageOfNoMethodNeedsTheMost) {
  EXPECT_EQ(EntryTaking(*v1::RolesFile::descriptor()).needs, Role::kSignOff);
}

absl::Status Made(const std::string& text) {
  v1::RolesFile file;
  EXPECT_TRUE(google::protobuf::TextFormat::ParseFromString(text, &file)) << text;
  return Access::Make(&file).status();
}

std::vector<std::string> Refused(const std::string& text) {
  std::vector<std::string> fields;
  for (const standards::FieldError& error : standards::FieldErrorsOf(Made(text)))
    fields.push_back(absl::StrCat(error.field, ": ", error.given));
  return fields;
}

TEST(RolesFile, IsReadWhole) {
  const std::string digits(64, 'a');
  EXPECT_TRUE(Made(absl::StrCat("clients { common_name: 'bench 3' role: ACCESS_ROLE_RECORD note: 'hall 2' } "
                                "clients { sha256_fingerprint: '",
                                digits, "' role: ACCESS_ROLE_SIGN_OFF }"))
                  .ok());
}

TEST(RolesFile, EveryWrongFieldIsNamed) {
  EXPECT_THAT(Refused(""), ElementsAre("clients: nothing"));
  EXPECT_THAT(Refused("clients { common_name: 'a' }"), ElementsAre("clients[0].role: nothing"));
  EXPECT_THAT(Refused("clients { role: ACCESS_ROLE_READ }"), ElementsAre("clients[0].common_name: nothing"));
  EXPECT_THAT(Refused("clients { sha256_fingerprint: '12:ZZ' role: ACCESS_ROLE_READ }"),
              ElementsAre("clients[0].sha256_fingerprint: \"12:ZZ\""));
  EXPECT_THAT(Refused("clients { common_name: 'a' role: ACCESS_ROLE_READ } "
                      "clients { common_name: 'b' role: 9 } clients { common_name: 'a' role: ACCESS_ROLE_READ }"),
              ElementsAre("clients[1].role: unknown number 9", "clients[2].common_name: \"a\""));
  const std::string pairs =
      "AB:CD:EF:00:AB:CD:EF:00:AB:CD:EF:00:AB:CD:EF:00:AB:CD:EF:00:AB:CD:EF:00:AB:CD:EF:00:AB:CD:EF:00";
  EXPECT_THAT(Refused(absl::StrCat("clients { sha256_fingerprint: '", pairs, "' role: ACCESS_ROLE_READ } ",
                                   "clients { sha256_fingerprint: '",
                                   std::string("abcdef00abcdef00abcdef00abcdef00") + "abcdef00abcdef00abcdef00abcdef00",
                                   "' role: ACCESS_ROLE_READ }")),
              ElementsAre(HasSubstr("clients[1].sha256_fingerprint: ")))
      << "the same one written twice";
}

TEST(Permits, RolesAreNested) {
  const MethodEntry read{"s/Get", Role::kRead}, record{"s/Create", Role::kRecord}, release{"s/SignOff", Role::kSignOff};
  const auto may = [](Role role, const MethodEntry& method) {
    const Client client{"bench 3", "", role};
    return Access::Permits(&client, method).ok();
  };
  for (const MethodEntry& method : {read, record, release}) {
    for (const Role role : {Role::kNone, Role::kRead, Role::kRecord, Role::kSignOff})
      EXPECT_EQ(may(role, method), role >= method.needs) << Name(role) << " " << method.name;
  }
  EXPECT_EQ(Access::Permits(nullptr, read).code(), absl::StatusCode::kUnauthenticated);
  const Client client{"bench 3", "", Role::kRead};
  const absl::Status refused = Access::Permits(&client, release);
  EXPECT_EQ(refused.code(), absl::StatusCode::kPermissionDenied);
  EXPECT_EQ(refused.message(), "the certificate \"bench 3\" has the role read; s/SignOff needs the role sign off");
}

}  // namespace
}  // namespace coilwright::rpc
