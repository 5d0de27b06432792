#include "rpc/shop.h"

#include <atomic>
#include <memory>
#include <mutex>
#include <vector>

#include "absl/strings/str_cat.h"
#include "google/protobuf/text_format.h"
#include "rpc/read_record.h"

namespace coilwright::rpc {
namespace {

using google::protobuf::FieldDescriptor;
using google::protobuf::Message;

std::atomic<const Shop*> serving{nullptr};

// Calls may still hold a shop that is no longer served by: each lives as long as the process.
void Keep(std::unique_ptr<const Shop> shop) {
  static std::mutex& mutex = *new std::mutex;
  static auto& kept = *new std::vector<std::unique_ptr<const Shop>>;
  const std::lock_guard<std::mutex> lock(mutex);
  serving = shop.get();
  if (shop != nullptr) kept.push_back(std::move(shop));
}

bool Holds(const Message& message, const FieldDescriptor* field) {
  return field->is_repeated() ? message.GetReflection()->FieldSize(message, field) > 0
                              : message.GetReflection()->HasField(message, field);
}

std::string ValueText(const Message& message, const FieldDescriptor* field) {
  const int size = field->is_repeated() ? message.GetReflection()->FieldSize(message, field) : 1;
  std::string text;
  for (int i = 0; i < size; ++i) {
    std::string value;
    if (field->cpp_type() == FieldDescriptor::CPPTYPE_MESSAGE) {
      value = message.GetReflection()->GetMessage(message, field).ShortDebugString();
    } else {
      google::protobuf::TextFormat::PrintFieldValueToString(message, field, field->is_repeated() ? i : -1, &value);
    }
    absl::StrAppend(&text, i > 0 ? ", " : "", value);
  }
  return text;
}

}  // namespace

absl::Status UseShop(const v1::SettingsFile* file) {
  if (file == nullptr) {
    Keep(nullptr);
    return absl::OkStatus();
  }
  std::vector<standards::FieldError> errors;
  RefuseUnreadable(*file, &errors);
  if (!errors.empty()) return standards::InvalidFields(errors);
  const Reader reader(*file, "", &errors);
  auto shop = std::make_unique<Shop>();
  shop->file = *file;
  if (reader.Text("name", 200).empty() && !reader.HasErrorAt("name"))
    reader.Missing("name", "a name for these settings");
  shop->tests = ReadTestChoice(reader.At("tests"), plan::TestChoice());
  shop->tests.bench = ReadBench(reader.At("bench"), testing::BenchMeans());
  shop->plan = ReadSettings(reader.At("plan"), plan::Settings());
  if (!errors.empty()) return standards::InvalidFields(errors);
  Keep(std::move(shop));
  return absl::OkStatus();
}

const Shop* TheShop() { return serving; }

void DescribeUse(const Shop& shop, std::initializer_list<const Message*> given, v1::ShopSettingsUse* out) {
  out->set_name(shop.file.name());
  const auto* parts = shop.file.GetDescriptor();
  for (const char* part : {"tests", "bench", "plan"}) {
    const Message& own = shop.file.GetReflection()->GetMessage(shop.file, parts->FindFieldByName(part));
    for (const Message* request : given) {
      if (request->GetDescriptor() != own.GetDescriptor()) continue;
      std::vector<const FieldDescriptor*> fields;
      own.GetReflection()->ListFields(own, &fields);
      for (const FieldDescriptor* field : fields) {
        if (!Holds(*request, field)) out->add_used(absl::StrCat(part, ".", field->name(), ": ", ValueText(own, field)));
      }
    }
  }
}

}  // namespace coilwright::rpc
