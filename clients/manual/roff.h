#pragma once

#include <string>
#include <utility>
#include <vector>

#include "absl/strings/string_view.h"

namespace coilwright::manual {

// A manual page in the macros that every system's man knows. Texts are plain; the page takes care of what would be
// read as a macro or an escape.
class Roff {
 public:
  // `name` as it is called ("coilwright-plan"), `section` 1 or 8.
  Roff(absl::string_view name, int section, absl::string_view summary, absl::string_view version);

  void Section(absl::string_view title);
  void Subsection(absl::string_view title);
  void Paragraph(absl::string_view text);
  // What is typed, then what stands for something else: **coilwright plan** FILE.
  void Usage(absl::string_view command, absl::string_view rest);
  // A term in bold with what stands after it, and what it means.
  void Term(absl::string_view term, absl::string_view value, absl::string_view meaning);
  // Lines as they stand.
  void Example(const std::vector<std::string>& lines);
  // Other pages: "coilwright(1)".
  void SeeAlso(const std::vector<std::pair<std::string, int>>& pages);

  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

}  // namespace coilwright::manual
