#pragma once

#include <initializer_list>
#include <string>

#include "absl/status/status.h"
#include "coilwright/v1/settings_file.pb.h"
#include "google/protobuf/message.h"
#include "plan/plan.h"

namespace coilwright::rpc {

// The settings of the shop that this process serves: what a request leaves open is taken from here, in
// read_settings.cc only.
struct Shop {
  v1::SettingsFile file;
  plan::TestChoice tests;  // with the bench
  plan::Settings plan;
};

// Checks a file and serves by it from now on; null: by none. INVALID_ARGUMENT with every wrong field, and nothing
// changed. Not meant to be called while calls run: one of them could be read by two shops.
absl::Status UseShop(const v1::SettingsFile* file);

// Null where the process was started without settings.
const Shop* TheShop();

// Which settings filled in the parts of a request given here, each a TestChoice, a Bench or a ShopSettings.
void DescribeUse(const Shop& shop, std::initializer_list<const google::protobuf::Message*> given,
                 v1::ShopSettingsUse* out);

template <typename Response>
void WriteShop(std::initializer_list<const google::protobuf::Message*> given, Response* response) {
  if (const Shop* shop = TheShop()) DescribeUse(*shop, given, response->mutable_shop_settings());
}

}  // namespace coilwright::rpc
