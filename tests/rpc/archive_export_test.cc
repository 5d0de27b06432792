// Everything out of one archive and into another: with nothing lost, once however often it is sent, and nothing let in
// that could not be read again.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "calls/loopback.h"
#include "calls/own_archive.h"
#include "calls/walk.h"
#include "rpc/archive_names.h"

namespace coilwright::calls {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

class Exports : public OwnArchive {
 protected:
  Exports() {
    SeedTestArchive(archive());
    auto mark = Parse<v1::DeleteWindingRequest>(R"(name: "windings/to-delete" recorded_by: "A." request_id: "gone")");
    mark.set_etag(rpc::EtagOf(mark.name(), 1));
    Ok(&rpc::DeleteWinding, mark);
  }

  // All entries over a socket, so many bytes a page.
  static std::vector<v1::ArchiveEntry> All(const Loopback& from, int page_bytes) {
    std::vector<v1::ArchiveEntry> entries;
    v1::ExportEntriesRequest request;
    request.set_page_bytes(page_bytes);
    do {
      v1::ExportEntriesResponse page;
      const grpc::Status status = from.Call(Named("ExportEntries"), request, &page);
      EXPECT_TRUE(status.ok()) << status.error_message();
      entries.insert(entries.end(), page.entries().begin(), page.entries().end());
      EXPECT_GT(page.total_entries(), 0);
      request.set_page_token(page.next_page_token());
    } while (!request.page_token().empty() && entries.size() < 10000);
    return entries;
  }
  static std::string Bytes(const std::vector<v1::ArchiveEntry>& entries) {
    std::string bytes;
    for (const v1::ArchiveEntry& entry : entries) bytes += entry.SerializeAsString();
    return bytes;
  }
  static rpc::ServerOptions With(const std::shared_ptr<archive::Archive>& archive) {
    rpc::ServerOptions options;
    options.archive = archive;
    return options;
  }
};

TEST_F(Exports, GoFromOneServerIntoAnotherByteForByte) {
  const Loopback from(With(shared()));
  TemporaryFile file("second");
  const auto second = OpenForTest(file.path());
  const Loopback to(With(second));
  const auto entries = All(from, 10000);
  ASSERT_EQ(entries.size(), static_cast<size_t>(archive().LastSequence().value()));
  EXPECT_EQ(Bytes(All(from, 0)), Bytes(entries)) << "whatever the size of the pages";
  v1::ImportEntriesRequest import;
  for (const v1::ArchiveEntry& entry : entries) *import.add_entries() = entry;
  v1::ImportEntriesResponse imported;
  ASSERT_TRUE(to.Call(Named("ImportEntries"), import, &imported).ok());
  EXPECT_EQ(imported.added(), static_cast<int64_t>(entries.size()));
  EXPECT_EQ(Bytes(All(to, 20000)), Bytes(entries));
  ASSERT_TRUE(to.Call(Named("ImportEntries"), import, &imported).ok());
  EXPECT_EQ(imported.added(), 0);
  EXPECT_EQ(imported.passed_over(), static_cast<int64_t>(entries.size()));
  // What the entries are found by came with them, and so did request ids.
  v1::ListWindingsRequest list;
  list.mutable_filter()->set_text("retort");
  v1::ListWindingsResponse found;
  ASSERT_TRUE(to.Call(Named("ListWindings"), list, &found).ok());
  ASSERT_EQ(found.windings_size(), 1);
  EXPECT_EQ(found.windings(0).name(), "windings/other");
  auto again = Parse<v1::DeleteWindingRequest>(R"(name: "windings/to-delete" recorded_by: "A." request_id: "gone")");
  again.set_etag(rpc::EtagOf(again.name(), 1));
  v1::DeleteWindingResponse deleted;
  ASSERT_TRUE(rpc::DeleteWinding(*second, again, &deleted).ok());
  EXPECT_EQ(deleted.winding().revision().number(), 2);
  EXPECT_EQ(second->LastSequence().value(), static_cast<int64_t>(entries.size()));
}

TEST_F(Exports, ShowOneMomentWhateverComesInMeanwhile) {
  v1::ExportEntriesRequest request;
  request.set_page_bytes(1);
  auto page = Ok(&rpc::ExportEntries, request);
  const int64_t total = page.total_entries();
  int64_t seen = page.entries_size();
  while (!page.next_page_token().empty()) {
    KeepForTest(archive(), absl::StrCat("meanwhile-", seen), v1::WindingRecord());
    request.set_page_token(page.next_page_token());
    page = Ok(&rpc::ExportEntries, request);
    EXPECT_EQ(page.total_entries(), total);
    seen += page.entries_size();
  }
  EXPECT_EQ(seen, total);
  request.set_page_token("5.100.7.0123456789abcdef");
  EXPECT_THAT(Refused(&rpc::ExportEntries, request), ElementsAre("page_token"));
}

TEST_F(Exports, AreRefusedWholeWhereOneEntryIsWrongAndItsIndexIsNamed) {
  v1::ImportEntriesRequest import;
  const auto exported = Ok(&rpc::ExportEntries, v1::ExportEntriesRequest());
  for (const v1::ArchiveEntry& entry : exported.entries()) *import.add_entries() = entry;
  ASSERT_GT(import.entries_size(), 8);
  TemporaryFile file("second");
  const auto empty = OpenForTest(file.path());
  const auto refused = [&](const v1::ImportEntriesRequest& wrong) {
    v1::ImportEntriesResponse response;
    const absl::Status status = rpc::ImportEntries(*empty, wrong, &response);
    EXPECT_FALSE(status.ok());
    EXPECT_EQ(empty->LastSequence().value(), 0);
    std::vector<std::string> fields;
    for (const auto& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
    return fields.empty() ? std::vector<std::string>{std::string(status.message())} : fields;
  };
  auto wrong = import;
  wrong.mutable_entries(1)->mutable_winding()->mutable_record()->mutable_winding()->set_coil_pitch_slots(-1);
  wrong.mutable_entries(0)->mutable_winding()->set_name("windings/");
  wrong.mutable_entries(2)->mutable_winding()->mutable_revision()->clear_time();
  wrong.mutable_entries(3)->mutable_winding()->mutable_revision()->set_number(3);  // after revision 1
  wrong.mutable_entries(4)->mutable_job()->add_stages();
  wrong.mutable_entries(5)->set_request_id("no-digest");
  wrong.mutable_entries(6)->clear_entry();
  EXPECT_THAT(refused(wrong),
              ::testing::UnorderedElementsAre(
                  "entries[1].winding.record.winding.coil_pitch_slots", "entries[0].winding.name",
                  "entries[2].winding.revision.time", "entries[4].job.stages[0].stage", "entries[4].job.stages[0].time",
                  "entries[4].job.stages[0].by", "entries[5].request_digest", "entries[6].winding"));
  wrong = import;
  wrong.mutable_entries(3)->mutable_winding()->mutable_revision()->set_number(3);
  // The first of that name in the call is revision 1 of windings/sample.
  EXPECT_EQ(import.entries(3).winding().name(), "windings/sample");
  EXPECT_THAT(refused(wrong), ElementsAre("entries[3].winding.revision.number"));
  wrong = import;
  wrong.mutable_entries()->DeleteSubrange(0, 1);  // the first revision is missing
  EXPECT_THAT(refused(wrong), ElementsAre(HasSubstr("revision 2 of windings/sample")));
  EXPECT_THAT(refused(v1::ImportEntriesRequest()), ElementsAre("entries"));
  // Another content under a revision that is there.
  wrong = import;
  wrong.mutable_entries(0)->mutable_winding()->mutable_record()->set_title("forged");
  v1::ImportEntriesResponse response;
  EXPECT_EQ(rpc::ImportEntries(archive(), wrong, &response).code(), absl::StatusCode::kAlreadyExists);
}

}  // namespace
}  // namespace coilwright::calls
