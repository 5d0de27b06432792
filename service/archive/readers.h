#pragma once

#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <utility>
#include <vector>

#include "absl/status/status.h"
#include "absl/status/statusor.h"
#include "archive/archive.h"
#include "archive/pause.h"

namespace coilwright::archive {

// Connections for reading, opened as they are needed and lent to one call at a time; a call waits where all are lent.
// Safe from any thread.
class Readers {
 public:
  Readers(OpenDatabase open, const ArchiveOptions& options) : open_(std::move(open)), options_(options) {}

  // Calls `body` with a connection; again with a new one where that is lost.
  template <class Answer>
  absl::StatusOr<Answer> Read(const std::function<absl::StatusOr<Answer>(Database&)>& body) {
    Pause pause(options_.patience);
    while (true) {
      absl::StatusOr<Answer> answer = absl::UnknownError("not read");
      absl::StatusOr<std::unique_ptr<Database>> db = Borrow();
      if (db.ok()) {
        answer = body(**db);
      } else {
        answer = db.status();
      }
      GiveBack(db.ok() && !absl::IsUnavailable(answer.status()) ? *std::move(db) : nullptr);
      if (answer.ok()) return answer;
      if (!WorthAnotherTry(answer.status()) || !pause.Once()) return AsTold(answer.status());
    }
  }

 private:
  absl::StatusOr<std::unique_ptr<Database>> Borrow();
  void GiveBack(std::unique_ptr<Database> db);  // null where it is lost

  const OpenDatabase open_;
  const ArchiveOptions options_;
  std::mutex mutex_;
  std::condition_variable returned_;
  std::vector<std::unique_ptr<Database>> idle_;
  int lent_ = 0;
};

}  // namespace coilwright::archive
