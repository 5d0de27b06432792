#include "calls/test_archive.h"

#include <map>
#include <mutex>

#include "absl/strings/match.h"
#include "calls/archive_samples.h"
#include "calls/samples.h"
#include "coilwright/v1/archive_service.pb.h"
#include "rpc/archive_calls.h"

namespace coilwright::calls {
namespace {

class Freshened {
 public:
  explicit Freshened(const Message& request) : request_(request.New()) {
    request_->CopyFrom(request);
    const std::string id = Text(*request_, "request_id");
    static auto& etags = *new std::map<std::string, std::string>;
    const bool repeated = !id.empty() && etags.count(id) > 0;
    Message* holder = EtagHolder();
    if (holder != nullptr && Text(*holder, "etag") == kEtagNow) {
      if (!repeated) Ready(request.GetDescriptor()->name());
      const auto current = TestArchive()->Get(Name());
      const std::string etag = current.ok() ? rpc::EtagOf(current->name, current->revision) : kEtagNow;
      Set(holder, "etag", repeated ? etags[id] : etag);
    }
    if (!id.empty() && !repeated) etags[id] = holder == nullptr ? "" : Text(*holder, "etag");
    if (request_->GetDescriptor() == v1::ImportEntriesRequest::descriptor()) {
      static int names = 0;
      for (v1::ArchiveEntry& entry : *static_cast<v1::ImportEntriesRequest&>(*request_).mutable_entries()) {
        if (entry.has_winding() && entry.winding().name() == kNameNow)
          entry.mutable_winding()->set_name(absl::StrCat("windings/imported-", ++names));
      }
    }
  }
  std::unique_ptr<Message> Take() { return std::move(request_); }

 private:
  static std::string Text(const Message& message, const char* field) {
    const auto* descriptor = message.GetDescriptor()->FindFieldByName(field);
    return descriptor == nullptr || descriptor->cpp_type() != google::protobuf::FieldDescriptor::CPPTYPE_STRING
               ? ""
               : message.GetReflection()->GetString(message, descriptor);
  }
  static void Set(Message* message, const char* field, const std::string& text) {
    message->GetReflection()->SetString(message, message->GetDescriptor()->FindFieldByName(field), text);
  }
  // The resource that an update carries; null in other requests.
  const Message* Carried() const {
    for (const char* field : {"winding", "job"}) {
      const auto* descriptor = request_->GetDescriptor()->FindFieldByName(field);
      if (descriptor != nullptr && descriptor->message_type() != nullptr &&
          request_->GetReflection()->HasField(*request_, descriptor))
        return &request_->GetReflection()->GetMessage(*request_, descriptor);
    }
    return nullptr;
  }
  Message* EtagHolder() {
    if (request_->GetDescriptor()->FindFieldByName("etag") != nullptr) return request_.get();
    const Message* carried = Carried();
    if (carried == nullptr) return nullptr;
    const auto* revision = carried->GetDescriptor()->FindFieldByName("revision");
    return carried->GetReflection()->MutableMessage(const_cast<Message*>(carried), revision);
  }
  std::string Name() const {
    const Message* carried = Carried();
    return Text(carried == nullptr ? *request_ : *carried, "name");
  }

  // Sets or takes off the mark of deletion, and what a job can have only so many of; undoes what an update did before,
  // since one that changes nothing is refused.
  void Ready(const std::string& call) const {
    auto current = TestArchive()->Get(Name());
    if (!current.ok()) return;
    archive::NewEntry next;
    v1::Job job;
    const bool is_job = absl::StartsWith(current->name, "jobs/") && rpc::Fill(*current, &job).ok();
    const bool full = is_job && (job.stages_size() > 90 || job.sign_offs_size() > 40);
    const bool wanted_deleted = absl::StartsWith(call, "Undelete");
    const bool updated = absl::StartsWith(call, "Update");
    if (current->deleted == wanted_deleted && !full && !updated) return;
    if (full) {
      job.clear_stages();
      job.clear_sign_offs();
    }
    v1::ArchivedWinding winding;
    const bool is_winding = !is_job && rpc::Fill(*current, &winding).ok();
    if (updated) {
      job.set_title("before the update");
      *winding.mutable_record() = DemoRecord();
      winding.mutable_record()->set_note("before the update");
    }
    if (is_job) next = rpc::NewEntryOf(current->name, job);
    if (is_winding) next = rpc::NewEntryOf(current->name, winding);
    next.follows = current->revision;
    next.entry.deleted = wanted_deleted;
    if (!TestArchive()->Write(next).ok()) std::abort();
  }

  std::unique_ptr<Message> request_;
};

}  // namespace

const std::shared_ptr<archive::Archive>& TestArchive() {
  struct Kept {
    TemporaryFile file{"calls"};
    std::shared_ptr<archive::Archive> archive = OpenForTest(file.path());
  };
  static Kept kept;
  static const bool seeded = (SeedTestArchive(*kept.archive), true);
  static_cast<void>(seeded);
  return kept.archive;
}

std::unique_ptr<Message> Fresh(const Message& request) {
  static std::mutex mutex;  // what was sent before is remembered for all threads
  const std::lock_guard<std::mutex> lock(mutex);
  return Freshened(request).Take();
}

}  // namespace coilwright::calls
