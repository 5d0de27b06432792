#include <algorithm>
#include <fstream>
#include <iostream>
#include <iterator>

#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "command.h"
#include "encryption.h"
#include "text.h"

namespace coilwright::cli {
namespace {

constexpr size_t kGreatestFileBytes = 4 << 20;

std::string Overview() {
  Page page;
  page.Title("coilwright: rewind data from a recorded winding");
  page.Heading("usage: coilwright COMMAND ... [FLAGS]");
  page.Blank();
  Table table({{"", {}}, {"", {}}});
  for (const Command& command : Commands()) table.Add({command.name, command.summary});
  table.Add({"help [COMMAND]", "this page, or that of a command"});
  page.Add(table);
  page.Heading("Flags of every command");
  Table flags({{"", {}}, {"", {}}});
  for (const Flag& flag : CommonFlags()) flags.Add({absl::StrCat("--", flag.name, " ", flag.value), flag.help});
  page.Add(flags);
  page.Heading("Exit status");
  page.Facts(ExitStatuses());
  page.Heading("Start with: coilwright plan --template > motor.json, fill it in, coilwright plan motor.json");
  return page.text();
}

std::string HelpPage(const Command& command) {
  Page page;
  page.Title(absl::StrCat("coilwright ", command.name, ": ", command.summary));
  page.Blank();
  page.Title(absl::StrCat("usage: coilwright ", command.name, " ", command.usage));
  for (absl::string_view paragraph : absl::StrSplit(command.more, "\n\n", absl::SkipEmpty())) {
    page.Blank();
    page.Paragraph(paragraph);
  }
  page.Blank();
  Table flags({{"", {}}, {"", {}}});
  for (const auto& list : {command.flags, CommonFlags()}) {
    for (const Flag& flag : list) flags.Add({absl::StrCat("--", flag.name, " ", flag.value), flag.help});
  }
  page.Add(flags);
  return page.text();
}

// Commands whose first word is this one.
std::vector<const Command*> Group(const std::string& word) {
  std::vector<const Command*> group;
  for (const Command& command : Commands()) {
    const absl::string_view name = command.name;
    if (name == word || absl::StartsWith(name, absl::StrCat(word, " "))) group.push_back(&command);
  }
  return group;
}

// What a group can do, where the pages of all of it would be too many.
constexpr size_t kMostPagesAtOnce = 4;
std::string GroupPage(const std::string& word, const std::vector<const Command*>& group) {
  Page page;
  page.Title(absl::StrCat("usage: coilwright ", word, " ... [FLAGS]"));
  page.Blank();
  Table table({{"", {}}, {"", {}}});
  for (const Command* command : group) table.Add({command->name, command->summary});
  page.Add(table);
  page.Blank();
  page.Title(absl::StrCat("coilwright help ", group.front()->name, " prints the page of one."));
  return page.text();
}

// The command the words begin with; those words are taken off.
absl::StatusOr<const Command*> Find(std::vector<std::string>* words) {
  const std::vector<const Command*> group = Group(words->front());
  if (group.empty()) {
    std::vector<std::string> known;
    for (const Command& command : Commands())
      known.push_back(std::vector<std::string>(absl::StrSplit(command.name, ' '))[0]);
    const std::string nearest = Nearest(words->front(), known);
    return absl::InvalidArgumentError(
        absl::StrCat("unknown command ", words->front(),
                     nearest.empty() ? "; see coilwright help" : absl::StrCat("; did you mean ", nearest, "?")));
  }
  for (const Command* command : group) {
    const std::vector<std::string> name = absl::StrSplit(command->name, ' ');
    if (words->size() < name.size() || !std::equal(name.begin(), name.end(), words->begin())) continue;
    words->erase(words->begin(), words->begin() + static_cast<std::ptrdiff_t>(name.size()));
    return command;
  }
  std::vector<std::string> names;
  for (const Command* command : group) names.emplace_back(command->name);
  return absl::InvalidArgumentError(absl::StrCat(words->front(), " what? accepted: ", absl::StrJoin(names, ", ")));
}

absl::StatusOr<std::string> Help(const std::vector<std::string>& words) {
  if (words.empty()) return Overview();
  if (const std::vector<const Command*> group = Group(words[0]); words.size() == 1 && group.size() > 1) {
    if (group.size() > kMostPagesAtOnce) return GroupPage(words[0], group);
    std::vector<std::string> pages;
    for (const Command* command : group) {
      // The command that is the word alone before those that add to it.
      pages.insert(command->name == words[0] ? pages.begin() : pages.end(), HelpPage(*command));
    }
    return absl::StrJoin(pages, "\n");
  }
  std::vector<std::string> rest = words;
  const auto command = Find(&rest);
  if (!command.ok()) return command.status();
  return HelpPage(**command);
}

absl::StatusOr<std::string> Answer(std::vector<std::string> words, std::istream& in, std::ostream& out,
                                   std::ostream& err, const SettledService& own_service, int* exit_status) {
  for (const std::string& word : words) {
    if (FirstLineNotUtf8(word) > 0) return absl::InvalidArgumentError("the command line is not UTF-8");
  }
  if (words.empty() || words[0] == "--help" || words[0] == "-h") return Overview();
  if (words[0] == "help") return Help({words.begin() + 1, words.end()});
  if (words[0] == "--version") words[0] = "version";
  if (words[0][0] == '-')
    return absl::InvalidArgumentError(absl::StrCat("the command comes first, then flags such as ", words[0]));
  const std::vector<std::string> all = words;
  if (std::find(all.begin(), all.end(), "--help") != all.end() ||
      std::find(all.begin(), all.end(), "-h") != all.end()) {
    std::vector<std::string> name;
    for (const std::string& word : all) {
      if (name.size() == 2 || word[0] == '-') break;
      name.push_back(word);
    }
    return Help(Group(name[0]).size() > 1 ? name : std::vector<std::string>{name[0]});
  }
  const auto command = Find(&words);
  if (!command.ok()) return command.status();
  std::vector<Flag> flags = (*command)->flags;
  flags.insert(flags.end(), CommonFlags().begin(), CommonFlags().end());
  const auto arguments = Arguments::Parse(words, flags);
  if (!arguments.ok()) return arguments.status();
  const std::string units = arguments->Text("units", "si");
  if (units != "si" && units != "shop") {
    return absl::InvalidArgumentError(absl::StrCat("--units: got \"", units, "\", accepted: si, shop"));
  }
  int width = PageWidth();
  if (arguments->Has("width") &&
      (!absl::SimpleAtoi(arguments->Text("width"), &width) || width < kLeastPageWidth || width > kGreatestPageWidth)) {
    return absl::InvalidArgumentError(absl::StrCat("--width: got \"", arguments->Text("width"),
                                                   "\", accepted: ", kLeastPageWidth, " to ", kGreatestPageWidth));
  }
  SetPageWidth(width);
  double deadline_seconds = 0;
  const std::string deadline = arguments->Text("deadline", "30");
  if (!absl::SimpleAtod(deadline, &deadline_seconds) || !(deadline_seconds > 0 && deadline_seconds <= 86400)) {
    return absl::InvalidArgumentError(
        absl::StrCat("--deadline: got \"", deadline, "\", accepted: seconds above 0, at most 86400"));
  }
  if (arguments->Has("server") && arguments->Text("server").empty()) {
    return absl::InvalidArgumentError("--server: got nothing, accepted: HOST:PORT");
  }
  for (const char* own : {"settings", "archive"}) {
    if (arguments->Has(own) && arguments->Has("server")) {
      return absl::InvalidArgumentError(absl::StrCat(
          "--", own, " beside --server: a server has its own, given when it is started; accepted: one of the two"));
    }
    if (arguments->Has(own) && arguments->Text(own).empty())
      return absl::InvalidArgumentError(absl::StrCat("--", own, ": got nothing, accepted: a file"));
  }
  auto encryption = ReadEncryption(*arguments);
  if (!encryption.ok()) return encryption.status();
  Connection connection(
      arguments->Text("server"), deadline_seconds,
      [&](const OwnArchive& archive) {
        return own_service({arguments->Text("settings"), archive.kept, arguments->Text("archive"), archive.may_make});
      },
      *std::move(encryption));
  Session session{*arguments, connection, in, Units(units == "shop"), arguments->Has("json"), "", out, err};
  if (absl::Status done = (*command)->run(session); !done.ok()) return done;
  *exit_status = session.exit_status;
  return std::move(session.out);
}

}  // namespace

int ExitStatus(const absl::Status& status) {
  switch (status.code()) {
    case absl::StatusCode::kOk:
      return kExitDone;
    case absl::StatusCode::kInvalidArgument:
    case absl::StatusCode::kOutOfRange:
    case absl::StatusCode::kAlreadyExists:
      return kExitWrongInput;
    case absl::StatusCode::kNotFound:
    case absl::StatusCode::kFailedPrecondition:
      return kExitNoAnswer;
    case absl::StatusCode::kAborted:
      return kExitChanged;
    default:
      return kExitServer;
  }
}

int Run(const std::vector<std::string>& words, std::istream& in, std::ostream& out, std::ostream& err,
        const SettledService& own_service) {
  int exit_status = kExitDone;
  const absl::StatusOr<std::string> answer = Answer(words, in, out, err, own_service, &exit_status);
  if (answer.ok()) {
    out << *answer << std::flush;
    if (out) return exit_status;
    err << "coilwright: the answer could not be written: output closed or disk full\n";
    return kExitServer;
  }
  for (absl::string_view line : absl::StrSplit(answer.status().message(), '\n'))
    err << "coilwright: " << Printable(line) << "\n";
  return ExitStatus(answer.status());
}

absl::StatusOr<JsonSource> ReadJsonFile(const std::string& name, std::istream& in) {
  const bool standard_input = name == "-";
  std::ifstream file;
  if (!standard_input) file.open(name, std::ios::binary);
  if (!standard_input && !file) return absl::InvalidArgumentError(absl::StrCat(name, ": cannot be opened"));
  std::istream& source = standard_input ? in : file;
  std::string text;
  char block[16384];
  while (text.size() <= kGreatestFileBytes && (source.read(block, sizeof block), source.gcount() > 0)) {
    text.append(block, static_cast<size_t>(source.gcount()));
  }
  const std::string shown = standard_input ? "standard input" : name;
  if (source.bad()) return absl::InvalidArgumentError(absl::StrCat(shown, ": cannot be read"));
  if (text.size() > kGreatestFileBytes) return absl::InvalidArgumentError(absl::StrCat(shown, ": larger than 4 MiB"));
  return ReadJson(shown, text);
}

absl::Status ExpectWords(const Arguments& arguments, size_t least, size_t most, absl::string_view wanted) {
  const auto& words = arguments.words();
  if (words.size() < least) return absl::InvalidArgumentError(absl::StrCat("missing: ", wanted));
  if (words.size() > most)
    return absl::InvalidArgumentError(absl::StrCat("one word too many: \"", words[most], "\"; wanted: ", wanted));
  return absl::OkStatus();
}

}  // namespace coilwright::cli
