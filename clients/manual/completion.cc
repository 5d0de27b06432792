// Completions for bash that need nothing but bash: the words are in the script.

#include <algorithm>
#include <set>
#include <string>
#include <vector>

#include "absl/algorithm/container.h"
#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "coilwright/services.h"
#include "command.h"
#include "pages.h"
#include "request.h"
#include "server_flags.h"

namespace coilwright::manual {
namespace {

using google::protobuf::Descriptor;
using google::protobuf::EnumDescriptor;
using google::protobuf::FieldDescriptor;

// What stands in the script for "a file".
constexpr char kFiles[] = "@files";

constexpr char kCommandScript[] = R"bash(
# Words, or files for @files, that begin with what is typed.
_coilwright_offer() {
  if [[ $2 == @files ]]; then
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$1")
  else
    mapfile -t COMPREPLY < <(compgen -W "$2" -- "$1")
  fi
}

_coilwright() {
  local first=${COMP_WORDS[1]} typed=${COMP_WORDS[COMP_CWORD]} flag=${COMP_WORDS[COMP_CWORD-1]} command more
  COMPREPLY=()
  if ((COMP_CWORD == 1)); then
    _coilwright_offer "$typed" "$(_coilwright_words)"
    return
  fi
  more=$(_coilwright_words "$first")
  command=$first
  [[ " $more " == *" ${COMP_WORDS[2]} "* ]] && ((COMP_CWORD > 2)) && command="$first ${COMP_WORDS[2]}"
  # --flag=value is three words to bash.
  if [[ $typed == = ]]; then
    typed=
  elif [[ $flag == = ]]; then
    flag=${COMP_WORDS[COMP_CWORD-2]}
  fi
  if [[ $flag == -* ]] && _coilwright_values "$command $flag" >/dev/null; then
    _coilwright_offer "$typed" "$(_coilwright_values "$command $flag")"
  elif [[ $typed == -* ]]; then
    _coilwright_offer "$typed" "$(_coilwright_flags "$command")"
  elif ((COMP_CWORD == 2)) && [[ -n $more ]]; then
    _coilwright_offer "$typed" "$more"
    ((${#COMPREPLY[@]} > 0)) || _coilwright_offer "$typed" "$(_coilwright_rest "$command")"
  else
    _coilwright_offer "$typed" "$(_coilwright_rest "$command")"
  fi
}

complete -F _coilwright coilwright
)bash";

constexpr char kServerScript[] = R"bash(
_coilwrightd() {
  local typed=${COMP_WORDS[COMP_CWORD]} flag=${COMP_WORDS[COMP_CWORD-1]} words
  COMPREPLY=()
  # --flag=value is three words to bash.
  if [[ $typed == = ]]; then
    typed=
  elif [[ $flag == = ]]; then
    flag=${COMP_WORDS[COMP_CWORD-2]}
  else
    compopt -o nospace 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -W "$(_coilwrightd_flags)" -- "$typed")
    return
  fi
  words=$(_coilwrightd_values "$flag")
  if [[ $words == @files ]]; then
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$typed")
  else
    mapfile -t COMPREPLY < <(compgen -W "$words" -- "$typed")
  fi
}

complete -F _coilwrightd coilwrightd
)bash";

// The enumeration at a path of a request, where all requests that have such a field mean the same one.
const EnumDescriptor* EnumAt(const std::string& path) {
  std::set<const EnumDescriptor*> found;
  for (const auto* service : Services()) {
    for (int i = 0; i < service->method_count(); ++i) {
      const Descriptor* message = service->method(i)->input_type();
      const FieldDescriptor* field = nullptr;
      for (absl::string_view step : absl::StrSplit(path, '.')) {
        field = message == nullptr ? nullptr : message->FindFieldByName(std::string(step));
        message = field == nullptr ? nullptr : field->message_type();
      }
      if (field != nullptr && field->enum_type() != nullptr) found.insert(field->enum_type());
    }
  }
  return found.size() == 1 ? *found.begin() : nullptr;
}

// "si|shop": words that may stand there; none for what a person fills in.
std::vector<std::string> Choices(absl::string_view value) {
  std::vector<std::string> words;
  if (!absl::StrContains(value, "|")) return words;
  for (absl::string_view word : absl::StrSplit(value, '|')) {
    if (!word.empty() && absl::c_all_of(word, [](unsigned char c) { return absl::ascii_islower(c); }))
      words.emplace_back(word);
  }
  return words;
}

std::string Values(const cli::Flag& flag) {
  if (absl::StartsWith(flag.value, "FILE")) return kFiles;
  std::vector<std::string> words = Choices(flag.value);
  if (words.empty() && flag.field[0] != '\0') {
    if (const EnumDescriptor* type = EnumAt(flag.field)) words = cli::EnumWords(type);
  }
  return absl::StrJoin(words, " ");
}

// A function of the script that answers one word or two with others, and fails where it knows nothing of them.
class Lookup {
 public:
  explicit Lookup(absl::string_view name) : text_(absl::StrCat("\n", name, "() {\n  case ${1-} in\n")) {}
  void Add(const std::string& pattern, const std::string& words) {
    absl::StrAppend(&text_, "    ", pattern, ") echo '", words, "' ;;\n");
  }
  std::string Done() const { return absl::StrCat(text_, "    *) return 1 ;;\n  esac\n}\n"); }

 private:
  std::string text_;
};

std::string Flags(const std::vector<cli::Flag>& flags) {
  return absl::StrJoin(flags, " ",
                       [](std::string* out, const cli::Flag& flag) { absl::StrAppend(out, "--", flag.name); });
}

// What may stand where no flag does.
std::string Rest(const cli::Command& command) {
  if (absl::StartsWith(command.usage, "SERVICE/METHOD")) {
    std::vector<std::string> methods;
    for (const auto* service : Services()) {
      for (int i = 0; i < service->method_count(); ++i)
        methods.push_back(absl::StrCat(service->name(), "/", service->method(i)->name()));
    }
    return absl::StrJoin(methods, " ");
  }
  return absl::StrContains(command.usage, "FILE") ? kFiles : "";
}

}  // namespace

std::string CommandCompletion() {
  // First words in order of the table, and what may follow each.
  std::vector<std::string> firsts;
  std::vector<std::vector<std::string>> seconds;
  for (const cli::Command& command : cli::Commands()) {
    const std::vector<std::string> name = absl::StrSplit(command.name, ' ');
    const auto at = static_cast<size_t>(std::find(firsts.begin(), firsts.end(), name[0]) - firsts.begin());
    if (at == firsts.size()) {
      firsts.push_back(name[0]);
      seconds.emplace_back();
    }
    if (name.size() > 1) seconds[at].push_back(name[1]);
  }
  const std::string all = absl::StrJoin(firsts, " ");
  Lookup words("_coilwright_words");
  words.Add("''", absl::StrCat(all, " help"));
  words.Add("help", all);
  for (size_t i = 0; i < firsts.size(); ++i) {
    if (!seconds[i].empty()) words.Add(firsts[i], absl::StrJoin(seconds[i], " "));
  }
  Lookup flags("_coilwright_flags");
  Lookup values("_coilwright_values");
  Lookup rest("_coilwright_rest");
  const auto add_values = [&values](const std::string& command, const std::vector<cli::Flag>& list) {
    for (const cli::Flag& flag : list) {
      if (flag.value[0] == '\0') continue;
      const std::string letter = flag.letter[0] == '\0' ? "" : absl::StrCat("|", command, "' -", flag.letter, "'");
      values.Add(absl::StrCat(command, "' --", flag.name, "'", letter), Values(flag));
    }
  };
  for (const cli::Command& command : cli::Commands()) {
    const std::string name = absl::StrCat("'", command.name, "'");
    std::vector<cli::Flag> list = command.flags;
    add_values(name, list);
    list.insert(list.end(), cli::CommonFlags().begin(), cli::CommonFlags().end());
    flags.Add(name, Flags(list));
    rest.Add(name, Rest(command));
  }
  add_values("*", cli::CommonFlags());
  return absl::StrCat("# Completion of coilwright for bash, made from its table of commands.\n", words.Done(),
                      flags.Done(), values.Done(), rest.Done(), kCommandScript);
}

std::string ServerCompletion() {
  std::vector<std::string> names;
  Lookup flags("_coilwrightd_flags");
  Lookup values("_coilwrightd_values");
  for (const ServerFlag& flag : ServerFlags()) {
    names.push_back(absl::StrCat("--", flag.name, flag.value.empty() ? " " : "="));
    const bool file = absl::StartsWith(flag.value, "FILE");
    values.Add(absl::StrCat("--", flag.name), file ? kFiles : absl::StrJoin(Choices(flag.value), " "));
  }
  flags.Add("''", absl::StrJoin(names, " "));
  return absl::StrCat("# Completion of coilwrightd for bash, made from its flags.\n", flags.Done(), values.Done(),
                      kServerScript);
}

}  // namespace coilwright::manual
