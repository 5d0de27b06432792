#include "flags.h"

#include <algorithm>

#include "absl/status/status.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "text.h"

namespace coilwright::cli {
namespace {

absl::Status Wrong(absl::string_view flag, absl::string_view what) {
  return absl::InvalidArgumentError(absl::StrCat("--", flag, ": ", what));
}

}  // namespace

absl::StatusOr<Arguments> Arguments::Parse(const std::vector<std::string>& words, std::vector<Flag> flags) {
  Arguments arguments;
  arguments.flags_ = std::move(flags);
  for (size_t i = 0; i < words.size(); ++i) {
    const std::string& word = words[i];
    if (word == "--") {
      arguments.words_.insert(arguments.words_.end(), words.begin() + static_cast<std::ptrdiff_t>(i) + 1, words.end());
      break;
    }
    const bool number =
        word.size() > 1 && word[0] == '-' && absl::string_view("0123456789.").find(word[1]) != absl::string_view::npos;
    if (word.size() < 2 || word[0] != '-' || number) {
      arguments.words_.push_back(word);
      continue;
    }
    const size_t equals = word.find('=');
    const std::string name =
        word.substr(word[1] == '-' ? 2 : 1, equals == std::string::npos ? equals : equals - (word[1] == '-' ? 2 : 1));
    const auto flag = std::find_if(arguments.flags_.begin(), arguments.flags_.end(),
                                   [&](const Flag& f) { return word[1] == '-' && name == f.name; });
    if (flag == arguments.flags_.end()) {
      std::vector<std::string> known;
      for (const Flag& f : arguments.flags_) known.emplace_back(f.name);
      const std::string nearest = Nearest(name, known);
      return absl::InvalidArgumentError(
          absl::StrCat("unknown flag ", word.substr(0, equals),
                       nearest.empty() ? "" : absl::StrCat("; did you mean --", nearest, "?")));
    }
    const bool is_switch = flag->value[0] == '\0';
    if (is_switch && equals != std::string::npos) return Wrong(name, "takes no value");
    if (!absl::EndsWith(flag->value, "...") && arguments.Has(name)) return Wrong(name, "given twice");
    std::string value = "true";
    if (!is_switch && equals != std::string::npos) {
      value = word.substr(equals + 1);
    } else if (!is_switch) {
      if (i + 1 == words.size() || absl::StartsWith(words[i + 1], "--")) {
        return Wrong(name, absl::StrCat("needs a value, ", flag->value));
      }
      value = words[++i];
    }
    arguments.given_.emplace_back(*flag, value);
  }
  return arguments;
}

bool Arguments::Has(absl::string_view name) const { return !All(name).empty(); }

std::string Arguments::Text(absl::string_view name, absl::string_view fallback) const {
  const std::vector<std::string> all = All(name);
  return all.empty() ? std::string(fallback) : all.back();
}

std::vector<std::string> Arguments::All(absl::string_view name) const {
  std::vector<std::string> values;
  for (const auto& [flag, value] : given_) {
    if (name == flag.name) values.push_back(value);
  }
  return values;
}

std::string Arguments::FlagFor(absl::string_view field) const {
  const auto name_in = [&](const auto& flags, const auto& flag_of) -> std::string {
    for (const auto& item : flags) {
      const Flag& flag = flag_of(item);
      const absl::string_view path = flag.field;
      const bool same = !path.empty() && (field == path || absl::StartsWith(field, absl::StrCat(path, ".")) ||
                                          absl::StartsWith(field, absl::StrCat(path, "[")) ||
                                          absl::StartsWith(path, absl::StrCat(field, ".")));
      if (same) return absl::StrCat("--", flag.name);
    }
    return "";
  };
  const std::string given = name_in(given_, [](const auto& item) -> const Flag& { return item.first; });
  return given.empty() ? name_in(flags_, [](const Flag& flag) -> const Flag& { return flag; }) : given;
}

}  // namespace coilwright::cli
