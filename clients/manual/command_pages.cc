#include <map>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"
#include "command.h"
#include "pages.h"
#include "roff.h"

namespace coilwright::manual {
namespace {

using cli::Command;

constexpr char kCaution[] =
    "Test voltages, stored charge, magnets and ovens hurt people. The figures are no permission: local codes and a "
    "qualified person decide whether and how a test is done.";

// Commands by their first word, in order of the table.
struct Group {
  std::string word;
  std::vector<const Command*> commands;
};

std::vector<Group> Groups() {
  std::vector<Group> groups;
  std::map<std::string, size_t> place;
  for (const Command& command : cli::Commands()) {
    const std::string word = std::vector<std::string>(absl::StrSplit(command.name, ' '))[0];
    const auto [at, added] = place.emplace(word, groups.size());
    if (added) groups.push_back({word, {}});
    groups[at->second].commands.push_back(&command);
  }
  return groups;
}

std::string PageName(const Group& group) { return absl::StrCat("coilwright-", group.word); }

// That of the command that is the word alone, or what its commands are called.
std::string Summary(const Group& group) {
  std::vector<std::string> more;
  for (const Command* command : group.commands) {
    if (command->name == group.word) return command->summary;
    more.emplace_back(absl::StripPrefix(command->name, absl::StrCat(group.word, " ")));
  }
  return absl::StrCat("commands: ", absl::StrJoin(more, ", "));
}

std::string Sentence(std::string text) {
  text[0] = absl::ascii_toupper(static_cast<unsigned char>(text[0]));
  return absl::StrCat(text, ".");
}

void Options(const std::vector<cli::Flag>& flags, Roff* page) {
  for (const cli::Flag& flag : flags) {
    const std::string letter = flag.letter[0] == '\0' ? "" : absl::StrCat("-", flag.letter, ", ");
    page->Term(absl::StrCat(letter, "--", flag.name), flag.value, flag.help);
  }
}

// The command lines of the documentation in which this command is called, with its files where they are installed.
std::vector<std::string> Examples(const std::string& documentation, const std::string& word) {
  std::vector<std::string> examples;
  for (absl::string_view line : absl::StrSplit(documentation, '\n')) {
    if (absl::ConsumePrefix(&line, "$ ") &&
        absl::StrContains(absl::StrCat(line, " "), absl::StrCat("coilwright ", word, " ")))
      examples.push_back(absl::StrReplaceAll(line, {{"clients/demo/", "/usr/share/doc/coilwright/examples/"}}));
  }
  return examples;
}

std::string GroupPage(const Group& group, const Sources& sources) {
  Roff page(PageName(group), 1, Summary(group), sources.version);
  page.Section("Synopsis");
  for (const Command* command : group.commands)
    page.Usage(absl::StrCat("coilwright ", command->name), absl::StrCat(command->usage, " [FLAGS]"));
  const bool several = group.commands.size() > 1;
  page.Section(several ? "Commands" : "Description");
  for (const Command* command : group.commands) {
    if (several) page.Subsection(absl::StrCat("coilwright ", command->name));
    page.Paragraph(Sentence(command->summary));
    for (absl::string_view paragraph : absl::StrSplit(command->more, "\n\n", absl::SkipEmpty()))
      page.Paragraph(paragraph);
    if (command->flags.empty()) continue;
    if (!several) page.Section("Options");
    Options(command->flags, &page);
  }
  if (several) page.Section("Options");
  page.Paragraph("Flags of every command, files, environment and exit status are on coilwright(1).");
  if (const auto examples = Examples(sources.documentation, group.word); !examples.empty()) {
    page.Section("Examples");
    page.Example(examples);
  }
  page.Section("Cautions");
  page.Paragraph(kCaution);
  page.SeeAlso({{"coilwright", 1}, {"coilwrightd", 8}});
  return page.text();
}

std::string MainPage(const std::vector<Group>& groups, const Sources& sources) {
  Roff page("coilwright", 1, "rewind data from a recorded winding", sources.version);
  page.Section("Synopsis");
  page.Usage("coilwright", "COMMAND ... [FLAGS]");
  page.Usage("coilwright help", "[COMMAND]");
  page.Section("Description");
  page.Paragraph(
      "Takes the recorded data of an original winding, checks it against physics and answers with what a rewind needs: "
      "wires, turns, resistance to expect, materials, tests with their limits. It computes nothing itself: with "
      "--server it asks a server, coilwrightd(8); without, the same service runs inside the program for the length of "
      "one command.");
  page.Section("Commands");
  std::vector<std::pair<std::string, int>> others;
  for (const Group& group : groups) {
    for (const Command* command : group.commands)
      page.Term(absl::StrCat("coilwright ", command->name), "", command->summary);
    others.emplace_back(PageName(group), 1);
  }
  page.Term("coilwright help", "[COMMAND]", "all commands, or the flags of one");
  page.Section("Options");
  page.Paragraph("Flags of every command; its own are on its page.");
  Options(cli::CommonFlags(), &page);
  page.Section("Exit status");
  for (const auto& [status, meaning] : cli::ExitStatuses()) page.Term(status, "", meaning);
  page.Section("Files");
  page.Term("~/.local/share/coilwright/archive.db", "",
            "windings, jobs and readings of the service inside the program, where --archive names no other file");
  page.Term("/usr/share/doc/coilwright", "", "the documentation, with records to try in examples");
  page.Section("Environment");
  page.Term("XDG_DATA_HOME", "", "stands for ~/.local/share in the name of that file, where it is an absolute path");
  page.Term("HOME", "", "stands for ~");
  page.Section("Examples");
  page.Paragraph("A record to fill in, its plan, and the sheet for the bench:");
  page.Example({"coilwright plan --template > motor.json", "coilwright plan motor.json",
                "coilwright sheet rewind motor.json --out sheet.pdf"});
  page.Paragraph("Test levels, from a server:");
  page.Example({"coilwright limits --volts 230 --kw 0.4 --server 127.0.0.1:7360"});
  page.Section("Cautions");
  page.Paragraph(kCaution);
  others.emplace_back("coilwrightd", 8);
  page.SeeAlso(others);
  return page.text();
}

}  // namespace

std::vector<std::pair<std::string, std::string>> CommandPages(const Sources& sources) {
  const std::vector<Group> groups = Groups();
  std::vector<std::pair<std::string, std::string>> pages = {{"man1/coilwright.1", MainPage(groups, sources)}};
  for (const Group& group : groups)
    pages.emplace_back(absl::StrCat("man1/", PageName(group), ".1"), GroupPage(group, sources));
  return pages;
}

}  // namespace coilwright::manual
