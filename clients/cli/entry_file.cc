#include "entry_file.h"

#include <fcntl.h>
#include <openssl/evp.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>

#include "absl/strings/escaping.h"
#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/strip.h"
#include "json.h"

namespace coilwright::cli {
namespace {

// The contract's messages are 4 MiB at most, and JSON writes a byte in six at worst; a line is not read beyond this.
constexpr size_t kLongestLine = 32 << 20;
constexpr size_t kBlock = 65536;
constexpr char kClosing[] = "{\"closing\":";

EVP_MD_CTX* Context(void* context) { return static_cast<EVP_MD_CTX*>(context); }

}  // namespace

Checksum::Checksum() : context_(EVP_MD_CTX_new()) { EVP_DigestInit_ex(Context(context_), EVP_sha256(), nullptr); }
Checksum::~Checksum() { EVP_MD_CTX_free(Context(context_)); }
void Checksum::Add(absl::string_view bytes) { EVP_DigestUpdate(Context(context_), bytes.data(), bytes.size()); }

std::string Checksum::Hex() const {
  EVP_MD_CTX* const copy = EVP_MD_CTX_new();
  EVP_MD_CTX_copy_ex(copy, Context(context_));
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned size = 0;
  EVP_DigestFinal_ex(copy, digest.data(), &size);
  EVP_MD_CTX_free(copy);
  return absl::BytesToHexString(absl::string_view(reinterpret_cast<const char*>(digest.data()), size));
}

WholeFile::WholeFile(std::string path)
    : path_(std::move(path)), temporary_(absl::StrCat(path_, ".", getpid(), ".part")) {}

WholeFile::~WholeFile() {
  if (file_ < 0) return;
  close(file_);
  std::remove(temporary_.c_str());
}

absl::Status WholeFile::Failed(absl::string_view what) const {
  return absl::UnavailableError(absl::StrCat(path_, ": ", what, ": ", std::strerror(errno), "; nothing is left of it"));
}

// What may be replaced: an earlier file of such lines, or an empty one. An archive itself, what stands beside it,
// devices and links are none.
absl::Status WholeFile::MayBeReplaced() const {
  struct stat about = {};
  if (lstat(path_.c_str(), &about) != 0) return absl::OkStatus();  // nothing there; what else it is, opening tells
  char first = '{';
  if (S_ISREG(about.st_mode)) {
    const int there = open(path_.c_str(), O_RDONLY | O_CLOEXEC);
    const bool read_it = there >= 0 && read(there, &first, 1) >= 0;
    if (there >= 0) close(there);
    if (read_it && first == '{') return absl::OkStatus();
  }
  return absl::InvalidArgumentError(absl::StrCat(
      path_,
      ": is there and is no export or backup, so it is not replaced; accepted: a new name, or that of an earlier "
      "one"));
}

absl::Status WholeFile::Open() {
  if (absl::Status may = MayBeReplaced(); !may.ok()) return may;
  // What a shop knows of its customers is nobody else's to read.
  file_ = open(temporary_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file_ < 0) return absl::InvalidArgumentError(absl::StrCat(path_, ": cannot be made: ", std::strerror(errno)));
  return absl::OkStatus();
}

absl::Status WholeFile::Write(absl::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written = write(file_, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return Failed("cannot be written");
    bytes.remove_prefix(static_cast<size_t>(written));
  }
  return absl::OkStatus();
}

absl::Status WholeFile::Finish() {
  if (fsync(file_) != 0) return Failed("cannot be brought to the disk");
  if (std::rename(temporary_.c_str(), path_.c_str()) != 0) return Failed("cannot be named");
  close(file_);
  file_ = -1;
  // The name is on the disk when its folder is.
  const size_t slash = path_.rfind('/');
  const std::string folder = slash == std::string::npos ? "." : path_.substr(0, slash + 1);
  const int opened = open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  const bool synced = opened >= 0 && fsync(opened) == 0;
  if (opened >= 0) close(opened);
  return synced
             ? absl::OkStatus()
             : absl::UnavailableError(absl::StrCat(path_, ": written, but its folder cannot be brought to the disk"));
}

std::string ClosingLineText(const ClosingLine& closing) {
  return absl::StrCat(kClosing, "{\"entries\":", closing.entries, ",\"sha256\":\"", closing.sha256, "\"}}\n");
}

absl::Status EntryReader::Wrong(absl::string_view what) const {
  return absl::InvalidArgumentError(absl::StrCat(shown_, ": line ", line_, ": ", what));
}

absl::Status EntryReader::Close() {
  absl::string_view rest = text_;
  ClosingLine closing;
  const bool read = absl::ConsumePrefix(&rest, kClosing) && absl::ConsumePrefix(&rest, "{\"entries\":") &&
                    absl::SimpleAtoi(rest.substr(0, rest.find(',')), &closing.entries);
  if (!read || ClosingLineText({closing.entries, checksum_.Hex()}) != absl::StrCat(text_, "\n")) {
    return Wrong("the file is damaged: its checksum is not that of the lines before, and none of them can be trusted");
  }
  if (closing.entries != entries_) {
    return Wrong(
        absl::StrCat("the file is damaged: ", closing.entries, " entries were saved, ", entries_, " are there"));
  }
  closed_ = true;
  return absl::OkStatus();
}

bool EntryReader::ReadLine() {
  text_.clear();
  feed_ = false;
  while (text_.size() <= kLongestLine) {
    if (at_ == buffer_.size()) {
      buffer_.resize(kBlock);
      in_.read(&buffer_[0], kBlock);
      buffer_.resize(static_cast<size_t>(in_.gcount()));
      at_ = 0;
      if (buffer_.empty()) break;
    }
    const size_t feed = buffer_.find('\n', at_);
    feed_ = feed != std::string::npos;
    const size_t end = feed_ ? feed : buffer_.size();
    text_.append(buffer_, at_, end - at_);
    at_ = feed_ ? end + 1 : end;
    if (feed_) break;
  }
  bytes_ += static_cast<int64_t>(text_.size()) + (feed_ ? 1 : 0);
  return feed_ || !text_.empty();
}

bool EndsInClosingLine(std::istream& file) {
  constexpr std::streamoff kTail = 256;  // a closing line is shorter
  file.seekg(0, std::ios::end);
  const std::streamoff size = file.tellg();
  file.seekg(std::max<std::streamoff>(0, size - kTail));
  std::string tail(static_cast<size_t>(kTail), '\0');
  file.read(&tail[0], kTail);
  tail.resize(static_cast<size_t>(file.gcount()));
  file.clear();
  file.seekg(0);
  if (absl::EndsWith(tail, "\n")) tail.pop_back();
  return absl::StartsWith(absl::string_view(tail).substr(tail.rfind('\n') + 1), kClosing);
}

absl::StatusOr<bool> EntryReader::Next(v1::ArchiveEntry* entry) {
  while (ReadLine()) {
    ++line_;
    if (text_.size() > kLongestLine) return Wrong("longer than 32 MiB: not a line of an export");
    if (closed_) return Wrong("stands after the closing line");
    if (absl::StartsWith(text_, kClosing)) {
      if (absl::Status closed = Close(); !closed.ok()) return closed;
      continue;
    }
    checksum_.Add(text_);
    if (feed_) checksum_.Add("\n");
    if (text_.find_first_not_of(" \t\r") == std::string::npos) continue;
    entry->Clear();
    if (!ParseJsonLine(text_, entry)) {
      // Once more, slowly, for what is wrong with it; it is one line, and that is known already.
      const auto source = ReadJson("", text_);
      const absl::Status why = source.ok() ? ParseJson(*source, entry) : source.status();
      absl::string_view what = why.message();
      absl::ConsumePrefix(&what, ": line 1: ");
      absl::ConsumePrefix(&what, ": ");
      return Wrong(what);
    }
    if (entry->entry_case() == v1::ArchiveEntry::ENTRY_NOT_SET)
      return Wrong("holds no entry; accepted: one with winding, job or readings");
    ++entries_;
    return true;
  }
  if (in_.bad()) return absl::InvalidArgumentError(absl::StrCat(shown_, ": cannot be read"));
  return false;
}

}  // namespace coilwright::cli
