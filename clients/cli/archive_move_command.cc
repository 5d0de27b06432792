#include <sys/stat.h>

#include <algorithm>
#include <fstream>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "archive_paging.h"
#include "archive_text.h"
#include "coilwright/v1/archive_service.pb.h"
#include "command.h"
#include "entry_file.h"
#include "progress.h"

namespace coilwright::cli {
namespace {

// Of one call, well below the 4 MiB that a message may be; and few enough that nobody else waits long for the archive.
constexpr size_t kMostBatchBytes = 1 << 20;
constexpr int kMostBatchEntries = 500;
constexpr int kPageBytes = 1 << 20;

std::string Size(int64_t bytes) {
  return bytes < 10000000 ? absl::StrFormat("%.1f kB", static_cast<double>(bytes) / 1e3)
                          : absl::StrFormat("%.1f MB", static_cast<double>(bytes) / 1e6);
}

struct Written {
  int64_t entries = 0, bytes = 0;
  int64_t held = 0;  // by the archive; more than came where some are lost in it
  google::protobuf::Timestamp moment;
};

// Every entry as a line, to whoever takes them.
absl::StatusOr<Written> ExportTo(Session& session, const std::function<absl::Status(absl::string_view)>& take) {
  Progress progress(session.aside, "export");
  Written written;
  v1::ExportEntriesRequest request;
  request.set_page_bytes(kPageBytes);
  do {
    v1::ExportEntriesResponse page;
    if (absl::Status called = session.Call(request, &page); !called.ok()) return called;
    for (const v1::ArchiveEntry& entry : page.entries()) {
      const std::string line = absl::StrCat(ToJsonLine(entry), "\n");
      if (absl::Status taken = take(line); !taken.ok()) return taken;
      written.bytes += static_cast<int64_t>(line.size());
    }
    TellDamaged(session, page.damaged());
    written.entries += page.entries_size();
    written.moment = page.snapshot_time();
    written.held = page.total_entries();
    if (page.total_entries() > 0) {
      progress.Tell(static_cast<double>(written.entries) / static_cast<double>(page.total_entries()), written.entries);
    }
    request.set_page_token(page.next_page_token());
  } while (!request.page_token().empty());
  return written;
}

absl::Status ExportToFile(Session& session, const std::string& path, bool closing_line) {
  WholeFile file(path);
  if (absl::Status opened = file.Open(); !opened.ok()) return opened;
  Checksum checksum;
  auto written = ExportTo(session, [&](absl::string_view line) {
    if (closing_line) checksum.Add(line);
    return file.Write(line);
  });
  if (!written.ok()) return written.status();
  const std::string of_all = written->entries == written->held ? "" : absl::StrCat(" of ", written->held);
  if (closing_line) {
    if (!of_all.empty()) {
      return absl::DataLossError(absl::StrCat(
          path, ": no backup: ", written->entries, of_all,
          " entries are left in the archive, the others are lost in it; "
          "coilwright archive export takes what is left, and importing an earlier backup puts right what it holds"));
    }
    const std::string line = ClosingLineText({written->entries, checksum.Hex()});
    if (absl::Status closed = file.Write(line); !closed.ok()) return closed;
    written->bytes += static_cast<int64_t>(line.size());
  }
  if (absl::Status finished = file.Finish(); !finished.ok()) return finished;
  session.out = session.json
                    ? absl::StrCat("{\n \"entries\": ", written->entries, ",\n \"bytes\": ", written->bytes, "\n}\n")
                    : absl::StrCat(path, ": ", written->entries, of_all, " entries, ", Size(written->bytes), ", as of ",
                                   Moment(written->moment), "\n");
  return absl::OkStatus();
}

absl::Status Export(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "a FILE to write, or - for standard output");
      !words.ok())
    return words;
  const std::string& path = session.arguments.words()[0];
  if (path != "-") return ExportToFile(session, path, false);
  return ExportTo(session,
                  [&](absl::string_view line) {
                    session.live << line;
                    return session.live ? absl::OkStatus()
                                        : absl::UnavailableError(
                                              "the export could not be written: output closed or "
                                              "disk full");
                  })
      .status();
}

absl::Status Backup(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "a FILE to write"); !words.ok()) return words;
  if (session.arguments.words()[0] == "-")
    return absl::InvalidArgumentError("a backup is a file that is there whole or not at all; accepted: its name");
  return ExportToFile(session, session.arguments.words()[0], true);
}

// Entries of a file on their way into the archive, some at a time.
class Importer {
 public:
  explicit Importer(Session& session, const std::string& shown) : session_(session), shown_(shown) {}

  absl::Status Add(v1::ArchiveEntry&& entry, int line) {
    const size_t size = entry.ByteSizeLong();
    if (!lines_.empty() && (bytes_ + size > kMostBatchBytes || batch_.entries_size() == kMostBatchEntries)) {
      if (absl::Status sent = Send(); !sent.ok()) return sent;
    }
    bytes_ += size;
    *batch_.add_entries() = std::move(entry);
    lines_.push_back(line);
    return absl::OkStatus();
  }

  absl::Status Send() {
    v1::ImportEntriesRequest batch;
    batch.Swap(&batch_);
    std::vector<int> lines;
    lines.swap(lines_);
    bytes_ = 0;
    return batch.entries().empty() ? absl::OkStatus() : Send(&batch, lines);
  }

  const v1::ImportEntriesResponse& done() const { return done_; }

 private:
  absl::Status Send(v1::ImportEntriesRequest* batch, const std::vector<int>& lines) {
    v1::ImportEntriesResponse answer;
    absl::Status sent =
        session_.connection.Write(batch, &answer, [&](const std::string& field) { return NameOf(field, lines); });
    if (sent.ok()) {
      done_.set_added(done_.added() + answer.added());
      done_.set_passed_over(done_.passed_over() + answer.passed_over());
      return sent;
    }
    const bool refused = ExitStatus(sent) == kExitWrongInput || ExitStatus(sent) == kExitNoAnswer;
    if (!refused) return sent;
    if (lines.size() == 1) {
      return absl::Status(sent.code(), absl::StartsWith(sent.message(), shown_)
                                           ? std::string(sent.message())
                                           : absl::StrCat(shown_, ": line ", lines[0], ": ", sent.message()));
    }
    // None of them was taken: halves, in their order, until the one that is refused stands alone.
    const auto half = static_cast<std::ptrdiff_t>(lines.size() / 2);
    v1::ImportEntriesRequest first, second;
    for (int i = 0; i < batch->entries_size(); ++i)
      (i < half ? first : second).add_entries()->Swap(batch->mutable_entries(i));
    if (absl::Status sent_first = Send(&first, {lines.begin(), lines.begin() + half}); !sent_first.ok())
      return sent_first;
    return Send(&second, {lines.begin() + half, lines.end()});
  }

  // "backup.jsonl: line 12: winding.record.title" for "entries[3].winding.record.title".
  std::string NameOf(const std::string& field, const std::vector<int>& lines) const {
    size_t index = 0;
    int end = 0;
    if (std::sscanf(field.c_str(), "entries[%zu]%n", &index, &end) != 1 || end == 0 || index >= lines.size())
      return field;
    const absl::string_view rest = absl::string_view(field).substr(static_cast<size_t>(end));
    return absl::StrCat(shown_, ": line ", lines[index], rest.empty() ? "" : ": ",
                        rest.empty() ? rest : rest.substr(1));
  }

  Session& session_;
  std::string shown_;
  v1::ImportEntriesRequest batch_;
  std::vector<int> lines_;  // of the entries of the batch
  size_t bytes_ = 0;
  v1::ImportEntriesResponse done_;
};

int64_t SizeOfFile(const std::string& path) {
  struct stat found = {};
  return stat(path.c_str(), &found) == 0 && S_ISREG(found.st_mode) ? found.st_size : 0;
}

// Every entry of the file to `take` with its line. Ends in the reader's own checks.
absl::Status ReadAll(Session& session, EntryReader& reader, int64_t size, const std::string& doing,
                     const std::function<absl::Status(v1::ArchiveEntry&&, int)>& take) {
  Progress progress(session.aside, doing);
  v1::ArchiveEntry entry;
  for (;;) {
    const auto more = reader.Next(&entry);
    if (!more.ok()) return more.status();
    if (!*more) return absl::OkStatus();
    if (absl::Status taken = take(std::move(entry), reader.line()); !taken.ok()) return taken;
    progress.Tell(size > 0 ? static_cast<double>(reader.bytes()) / static_cast<double>(size) : -1, reader.entries());
  }
}

absl::Status ImportFrom(Session& session, std::istream& in, const std::string& shown, int64_t size,
                        const std::string& doing, v1::ImportEntriesResponse* done) {
  EntryReader reader(in, shown);
  Importer importer(session, shown);
  absl::Status read = ReadAll(session, reader, size, doing,
                              [&](v1::ArchiveEntry&& entry, int line) { return importer.Add(std::move(entry), line); });
  // What stands before a line that is none is as good as it was.
  if (read.ok() || (absl::IsInvalidArgument(read) && reader.line() > 0)) {
    if (absl::Status sent = importer.Send(); !sent.ok()) read = sent;
  }
  *done = importer.done();
  if (read.ok()) return read;
  return absl::Status(
      read.code(), absl::StrCat(read.message(), "\n", done->added(), " entries before it were taken, ",
                                done->passed_over(), " were there already; the same again goes on where this ended"));
}

// Reads a backup to its end: its entries, or what is wrong with it. The file is at its beginning before and after.
absl::StatusOr<int64_t> Verify(Session& session, std::ifstream& file, const std::string& path) {
  EntryReader reader(file, path);
  absl::Status verified =
      ReadAll(session, reader, SizeOfFile(path), "verify", [](v1::ArchiveEntry&&, int) { return absl::OkStatus(); });
  if (!verified.ok()) return verified;
  if (!reader.closed()) {
    return absl::InvalidArgumentError(absl::StrCat(
        path, ": no closing line at its end: cut short, or an export (coilwright archive import takes that)"));
  }
  file.clear();
  file.seekg(0);
  return reader.entries();
}

absl::Status Import(Session& session) {
  if (absl::Status words =
          ExpectWords(session.arguments, 1, 1, "a FILE that archive export or archive backup wrote, or -");
      !words.ok())
    return words;
  const std::string& path = session.arguments.words()[0];
  std::ifstream file;
  if (path != "-") file.open(path, std::ios::binary);
  if (path != "-" && !file) return absl::InvalidArgumentError(absl::StrCat(path, ": cannot be opened"));
  const std::string shown = path == "-" ? "standard input" : path;
  // A damaged backup is refused before anything of it is written.
  if (path != "-" && EndsInClosingLine(file)) {
    if (const auto verified = Verify(session, file, path); !verified.ok()) return verified.status();
  }
  v1::ImportEntriesResponse done;
  if (absl::Status imported =
          ImportFrom(session, path == "-" ? session.in : file, shown, SizeOfFile(path), "import", &done);
      !imported.ok())
    return imported;
  session.out = session.json ? ToJson(done)
                             : absl::StrCat(shown, ": ", done.added(), " entries added, ", done.passed_over(),
                                            " there already\n");
  return absl::OkStatus();
}

absl::Status Restore(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "a FILE that archive backup wrote"); !words.ok())
    return words;
  const std::string& path = session.arguments.words()[0];
  if (path == "-") return absl::InvalidArgumentError("a backup is read twice, first to verify it; accepted: its FILE");
  std::ifstream file(path, std::ios::binary);
  if (!file) return absl::InvalidArgumentError(absl::StrCat(path, ": cannot be opened"));
  const int64_t size = SizeOfFile(path);
  const absl::StatusOr<int64_t> entries = Verify(session, file, path);
  if (!entries.ok()) return entries.status();
  v1::GetArchiveResponse archive;
  if (absl::Status called = session.Call(v1::GetArchiveRequest(), &archive); !called.ok()) return called;
  if (archive.entries() > 0) {
    return absl::FailedPreconditionError(absl::StrCat(
        "the archive holds ", archive.entries(),
        " entries, and a backup is restored into an empty one; coilwright archive import adds what is missing, also "
        "after a restore that was interrupted"));
  }
  v1::ImportEntriesResponse done;
  if (absl::Status imported = ImportFrom(session, file, path, size, "restore", &done); !imported.ok()) return imported;
  if (done.added() + done.passed_over() != *entries) {
    return absl::UnavailableError(absl::StrCat(path, ": ", *entries, " entries verified, but ",
                                               done.added() + done.passed_over(),
                                               " restored: the file or the archive was changed meanwhile"));
  }
  session.out = session.json ? ToJson(done) : absl::StrCat(path, ": verified, ", *entries, " entries restored\n");
  return absl::OkStatus();
}

absl::Status Status(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 0, "flags only"); !words.ok()) return words;
  v1::GetArchiveResponse archive;
  if (absl::Status called = session.Call(v1::GetArchiveRequest(), &archive); !called.ok()) return called;
  if (session.json) {
    session.out = ToJson(archive);
    return absl::OkStatus();
  }
  Page page;
  page.Title("archive");
  page.Facts(
      {{"store", absl::StrCat(archive.store(), ", schema ", archive.schema_version())},
       {"windings", absl::StrCat(archive.windings())},
       {"jobs", absl::StrCat(archive.jobs())},
       {"readings", absl::StrCat(archive.readings())},
       {"entries", absl::StrCat(archive.entries(), ", every revision counted")},
       {"writes waiting", absl::StrCat(archive.writes_waiting(), " of ", archive.most_writes_waiting(), " that may")}});
  session.out = page.text();
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> ArchiveMoveCommands() {
  return {
      {"archive status", "what the archive holds", "", {}, Status},
      {"archive export",
       "everything as lines of JSON",
       "FILE | -",
       {},
       Export,
       "Every revision of every winding and job and all readings in the order they came in, one ArchiveEntry of the "
       "contract to a line, as they were at one moment. Another archive imports it with nothing lost. A FILE is there "
       "whole or not at all."},
      {"archive import",
       "the lines of an export or a backup into the archive",
       "FILE | -",
       {},
       Import,
       "Entries that are there already are passed over, so that an import that was interrupted is simply run again. An "
       "entry that contradicts what is there is refused and named by its line; those before it are taken. A backup in "
       "a "
       "FILE is verified before anything of it is written."},
      {"archive backup",
       "an export with a checksum, while the archive is in use",
       "FILE",
       {},
       Backup,
       "The lines of an export and a closing line with their number and the SHA-256 of every byte before it. Written "
       "under another name, brought to the disk and then named FILE, over an earlier one: FILE is always a whole "
       "backup."},
      {"archive restore",
       "a backup into an empty archive",
       "FILE",
       {},
       Restore,
       "Verifies the whole file before it writes anything. An archive that holds something is left alone: coilwright "
       "archive import adds what is missing."}};
}

}  // namespace coilwright::cli
