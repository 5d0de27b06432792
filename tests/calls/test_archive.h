#pragma once

#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string>
#include <utility>

#include "absl/strings/str_cat.h"
#include "archive/archive.h"
#include "google/protobuf/message.h"
#include "gtest/gtest.h"

namespace coilwright::calls {

using google::protobuf::Message;

// A name in the folder of temporary files for this process alone; what stands there is removed now and at the end.
class TemporaryFile {
 public:
  explicit TemporaryFile(const std::string& label)
      : path_(absl::StrCat(::testing::TempDir(), "coilwright_", label, "_", getpid(), ".db")) {
    Remove();
  }
  ~TemporaryFile() { Remove(); }
  TemporaryFile(const TemporaryFile&) = delete;
  TemporaryFile& operator=(const TemporaryFile&) = delete;
  const std::string& path() const { return path_; }

 private:
  void Remove() const {
    for (const char* beside : {"", "-wal", "-shm", ".lock"}) std::remove(absl::StrCat(path_, beside).c_str());
  }
  const std::string path_;
};

inline std::shared_ptr<archive::Archive> OpenForTest(const std::string& file,
                                                     const archive::ArchiveOptions& options = {}) {
  auto open = archive::OpenSqlite(file);
  auto opened = open.ok() ? archive::Archive::Open(*std::move(open), options)
                          : absl::StatusOr<std::unique_ptr<archive::Archive>>(open.status());
  if (opened.ok()) return *std::move(opened);
  std::fprintf(stderr, "%s\n", opened.status().ToString().c_str());
  std::abort();
}

// The archive of this test program, which holds what the samples name.
const std::shared_ptr<archive::Archive>& TestArchive();

// Stands in a sample for the etag of the revision that is current when it is sent.
inline constexpr const char* kEtagNow = "1-00000000";
// Stands in a sample for a name that nothing has yet.
inline constexpr const char* kNameNow = "windings/never-before";

// A request as it is sent to the test archive: with the etag of now where the sample leaves it open, and with the
// resource in the state that the call expects, so that the same sample is good a thousand times. One with a request id
// that was sent before is sent as it was then.
std::unique_ptr<Message> Fresh(const Message& request);

}  // namespace coilwright::calls
