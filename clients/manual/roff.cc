#include "roff.h"

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"

namespace coilwright::manual {
namespace {

// A hyphen of a flag must be one that can be copied from the page, and quotes and accents stand as they are typed.
std::string Escaped(absl::string_view text) {
  return absl::StrReplaceAll(
      text, {{"\\", "\\(rs"}, {"-", "\\-"}, {"'", "\\(aq"}, {"`", "\\(ga"}, {"^", "\\(ha"}, {"~", "\\(ti"}});
}

// A text that begins a line: a dot there would begin a macro.
std::string Line(absl::string_view text) {
  const std::string escaped = Escaped(text);
  return absl::StrCat(!escaped.empty() && escaped[0] == '.' ? "\\&" : "", escaped, "\n");
}

std::string Argument(absl::string_view text) { return absl::StrReplaceAll(Escaped(text), {{"\"", "\\(dq"}}); }

}  // namespace

Roff::Roff(absl::string_view name, int section, absl::string_view summary, absl::string_view version)
    : text_(absl::StrCat(".TH \"", Argument(absl::AsciiStrToUpper(name)), "\" ", section, " \"\" \"Coilwright ",
                         Argument(version), "\" \"Coilwright\"\n.nh\n.ad l\n")) {
  Section("Name");
  // What whatis and apropos read: the name, a dash, what it is.
  absl::StrAppend(&text_, Escaped(name), " \\- ", Escaped(summary), "\n");
}

void Roff::Section(absl::string_view title) {
  absl::StrAppend(&text_, ".SH \"", Argument(absl::AsciiStrToUpper(title)), "\"\n");
}

void Roff::Subsection(absl::string_view title) { absl::StrAppend(&text_, ".SS \"", Argument(title), "\"\n"); }

void Roff::Paragraph(absl::string_view text) { absl::StrAppend(&text_, ".PP\n", Line(text)); }

void Roff::Usage(absl::string_view command, absl::string_view rest) {
  absl::StrAppend(&text_, ".HP\n\\fB", Escaped(command), "\\fR ", Escaped(rest), "\n");
}

void Roff::Term(absl::string_view term, absl::string_view value, absl::string_view meaning) {
  absl::StrAppend(&text_, ".TP\n\\fB", Escaped(term), "\\fR");
  if (!value.empty()) absl::StrAppend(&text_, value[0] == '=' ? "" : " ", "\\fI", Escaped(value), "\\fR");
  absl::StrAppend(&text_, "\n", Line(meaning));
}

void Roff::Example(const std::vector<std::string>& lines) {
  absl::StrAppend(&text_, ".PP\n.in +4\n.nf\n");
  for (const std::string& line : lines) absl::StrAppend(&text_, Line(line));
  absl::StrAppend(&text_, ".fi\n.in -4\n");
}

void Roff::SeeAlso(const std::vector<std::pair<std::string, int>>& pages) {
  Section("See also");
  absl::StrAppend(&text_,
                  absl::StrJoin(pages, ",\n",
                                [](std::string* out, const std::pair<std::string, int>& page) {
                                  absl::StrAppend(out, "\\fB", Escaped(page.first), "\\fR(", page.second, ")");
                                }),
                  "\n");
}

}  // namespace coilwright::manual
