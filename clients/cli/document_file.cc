#include "document_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <iostream>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "request.h"

namespace coilwright::cli {
namespace {

constexpr char kOut[] = "a FILE that ends in .pdf or .svg, or - for standard output";

std::string Target(const Session& session) { return session.arguments.Text("out"); }

bool IsThere(const std::string& path) {
  struct stat about = {};
  return lstat(path.c_str(), &about) == 0;
}

absl::Status RefuseToReplace(const Session& session, const std::string& path) {
  if (session.arguments.Has("force") || !IsThere(path)) return absl::OkStatus();
  return absl::InvalidArgumentError(absl::StrCat("--out: ", path, " is there; accepted: another name, or --force"));
}

// drawing-2.svg for drawing.svg.
std::string PathOfPage(const std::string& path, int page, int pages) {
  if (pages == 1) return path;
  const size_t dot = path.rfind('.');
  return absl::StrCat(path.substr(0, dot), "-", page, path.substr(dot));
}

// Under a name of its own beside it first: who looks at the file never sees half of it.
absl::Status WriteWhole(const std::string& path, absl::string_view bytes) {
  const std::string part = absl::StrCat(path, ".", getpid(), ".part");
  const auto failed = [&](absl::string_view what) {
    const std::string reason = std::strerror(errno);
    std::remove(part.c_str());
    return absl::InvalidArgumentError(absl::StrCat("--out: ", path, ": ", what, ": ", reason));
  };
  const int file = open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (file < 0) return failed("cannot be made");
  while (!bytes.empty()) {
    const ssize_t written = write(file, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) {
      absl::Status status = failed("cannot be written");
      close(file);
      return status;
    }
    bytes.remove_prefix(static_cast<size_t>(written));
  }
  if (close(file) != 0) return failed("cannot be written");
  if (std::rename(part.c_str(), path.c_str()) != 0) return failed("cannot be named");
  return absl::OkStatus();
}

}  // namespace

std::vector<Flag> DocumentFlags() {
  return {{"out", "FILE", "", "or -o FILE: where the document goes, FILE.pdf, FILE.svg, or - for standard output",
           false, "o"},
          {"force", "", "", "write over a file that is there"},
          {"format", "KIND", "document.format", "pdf (default) or svg, where the name does not say"},
          {"paper", "SIZE", "document.paper", "a4 (default), letter"},
          {"title", "TEXT", "document.title", "on every page; default: that of the record"}};
}

absl::Status ChooseFormat(const Session& session, v1::DocumentChoice* choice) {
  const std::string path = Target(session);
  if (path.empty()) {
    // The answer as JSON holds the files.
    return session.json ? absl::OkStatus()
                        : absl::InvalidArgumentError(absl::StrCat("--out: missing; accepted: ", kOut));
  }
  const std::string small = absl::AsciiStrToLower(path);
  const v1::DocumentFormat by_name = absl::EndsWith(small, ".pdf")   ? v1::DOCUMENT_FORMAT_PDF
                                     : absl::EndsWith(small, ".svg") ? v1::DOCUMENT_FORMAT_SVG
                                                                     : v1::DOCUMENT_FORMAT_UNSPECIFIED;
  if (by_name == v1::DOCUMENT_FORMAT_UNSPECIFIED && path != "-") {
    return absl::InvalidArgumentError(absl::StrCat("--out: got ", path, ", accepted: ", kOut));
  }
  if (by_name != v1::DOCUMENT_FORMAT_UNSPECIFIED && session.arguments.Has("format") && by_name != choice->format()) {
    return absl::InvalidArgumentError(absl::StrCat("--format: ", session.arguments.Text("format"), " beside ", path,
                                                   ", whose name says otherwise; accepted: one of the two"));
  }
  if (by_name != v1::DOCUMENT_FORMAT_UNSPECIFIED) choice->set_format(by_name);
  if (path == "-") {
    if (&session.live == &std::cout && isatty(STDOUT_FILENO) != 0) {
      return absl::InvalidArgumentError("--out: - is this terminal; accepted: a file, or a pipe behind this command");
    }
    return absl::OkStatus();
  }
  return RefuseToReplace(session, path);
}

absl::Status WriteDocument(Session& session, const v1::Document& document,
                           const google::protobuf::RepeatedPtrField<std::string>& left_out) {
  const std::string path = Target(session);
  // A frame on top is easily not looked at where a script prints it.
  for (const std::string& warning : document.warnings()) session.aside << "coilwright: " << warning << "\n";
  for (const std::string& what : left_out) session.aside << "coilwright: left out " << what << "\n";
  if (path == "-") {
    if (document.files_size() != 1) {
      return absl::InvalidArgumentError(absl::StrCat("--out: - takes one file, and these are ", document.files_size(),
                                                     "; accepted: a FILE, or --format pdf"));
    }
    session.live << document.files(0) << std::flush;
    return session.live ? absl::OkStatus()
                        : absl::UnavailableError("the document could not be written: output closed or disk full");
  }
  for (int i = 0; i < document.files_size(); ++i) {
    const std::string page = PathOfPage(path, i + 1, document.files_size());
    if (absl::Status may = RefuseToReplace(session, page); !may.ok()) return may;
  }
  for (int i = 0; i < document.files_size(); ++i) {
    const std::string page = PathOfPage(path, i + 1, document.files_size());
    if (absl::Status written = WriteWhole(page, document.files(i)); !written.ok()) return written;
    absl::StrAppend(&session.out, "wrote ", page, "\n");
  }
  return absl::OkStatus();
}

}  // namespace coilwright::cli
