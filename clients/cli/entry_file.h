#pragma once

#include <cstdint>
#include <istream>
#include <ostream>
#include <string>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"
#include "coilwright/v1/archive_service.pb.h"

namespace coilwright::cli {

// SHA-256 over what is added, in small hexadecimal letters.
class Checksum {
 public:
  Checksum();
  ~Checksum();
  Checksum(const Checksum&) = delete;
  Checksum& operator=(const Checksum&) = delete;
  void Add(absl::string_view bytes);
  std::string Hex() const;  // of what was added so far

 private:
  void* const context_;
};

// Entries of an archive as lines of JSON, one ArchiveEntry to a line. A backup ends in a line that says how many there
// are and the SHA-256 of every byte before it:
//   {"closing":{"entries":1234,"sha256":"..."}}

// Writes a file that is there whole or not at all: under a name of its own beside it, synced and renamed in the end,
// over one of the name that was there. Without Finish nothing is left.
class WholeFile {
 public:
  explicit WholeFile(std::string path);
  ~WholeFile();
  WholeFile(const WholeFile&) = delete;
  WholeFile& operator=(const WholeFile&) = delete;
  // INVALID_ARGUMENT where the file cannot be made or something else than such a file has the name, UNAVAILABLE where
  // it cannot be written on: one line with the reason.
  absl::Status Open();
  absl::Status Write(absl::string_view bytes);
  absl::Status Finish();

 private:
  absl::Status MayBeReplaced() const;
  absl::Status Failed(absl::string_view what) const;
  std::string path_, temporary_;
  int file_ = -1;
};

// Whether the last line of a file is a closing line, right or not; the file is at its beginning before and after.
bool EndsInClosingLine(std::istream& file);

struct ClosingLine {
  int64_t entries = 0;
  std::string sha256;
};
std::string ClosingLineText(const ClosingLine& closing);

// Reads such lines one by one, however large the file is.
class EntryReader {
 public:
  // `shown` names the input in errors.
  EntryReader(std::istream& in, std::string shown) : in_(in), shown_(std::move(shown)) {}

  // The next entry; false at the end. INVALID_ARGUMENT for a line that is no entry ("backup.jsonl: line 17: ..."), for
  // lines after the closing line, and for a closing line that what stands before it belies.
  absl::StatusOr<bool> Next(v1::ArchiveEntry* entry);
  int line() const { return line_; }  // of the entry read last, from 1
  int64_t entries() const { return entries_; }
  int64_t bytes() const { return bytes_; }  // read so far
  // At the end: whether a closing line stood there and was right.
  bool closed() const { return closed_; }
  const std::string& shown() const { return shown_; }

 private:
  absl::Status Wrong(absl::string_view what) const;
  absl::Status Close();
  // The next line into `text_`, as far as it is not too long; false at the end.
  bool ReadLine();

  std::istream& in_;
  std::string shown_;
  std::string buffer_;  // read ahead
  size_t at_ = 0;       // in it
  std::string text_;    // the line
  bool feed_ = false;   // it ended in a line feed
  Checksum checksum_;
  int line_ = 0;
  int64_t entries_ = 0, bytes_ = 0;
  bool closed_ = false;
};

}  // namespace coilwright::cli
