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

// "--volts" for the flag whose field shares the most steps with `field`, where one holds the other.
std::string NearestFlag(const std::vector<Flag>& flags, absl::string_view field) {
  const auto holds = [](absl::string_view outer, absl::string_view inner) {
    return inner == outer || absl::StartsWith(inner, absl::StrCat(outer, ".")) ||
           absl::StartsWith(inner, absl::StrCat(outer, "["));
  };
  size_t most = 0;
  std::string nearest;
  for (const Flag& flag : flags) {
    const absl::string_view path = flag.field;
    if (path.empty() || !(holds(path, field) || holds(field, path))) continue;
    const size_t shared = std::min(path.size(), field.size());
    if (shared <= most) continue;
    most = shared;
    nearest = absl::StrCat("--", flag.name);
  }
  return nearest;
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
    const auto flag = std::find_if(arguments.flags_.begin(), arguments.flags_.end(), [&](const Flag& f) {
      return !name.empty() && name == (word[1] == '-' ? f.name : f.letter);
    });
    if (flag == arguments.flags_.end()) {
      std::vector<std::string> known;
      for (const Flag& f : arguments.flags_) known.emplace_back(f.name);
      const std::string nearest = Nearest(name, known);
      return absl::InvalidArgumentError(
          absl::StrCat("unknown flag ", word.substr(0, equals),
                       nearest.empty() ? "" : absl::StrCat("; did you mean --", nearest, "?")));
    }
    const bool is_switch = flag->value[0] == '\0';
    if (is_switch && equals != std::string::npos) return Wrong(flag->name, "takes no value");
    if (!absl::EndsWith(flag->value, "...") && arguments.Has(flag->name)) return Wrong(flag->name, "given twice");
    std::string value = "true";
    if (!is_switch && equals != std::string::npos) {
      value = word.substr(equals + 1);
    } else if (!is_switch) {
      if (i + 1 == words.size() || absl::StartsWith(words[i + 1], "--")) {
        return Wrong(flag->name, absl::StrCat("needs a value, ", flag->value));
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

std::string Arguments::GivenFlagFor(absl::string_view field) const {
  std::vector<Flag> flags;
  for (const auto& [flag, value] : given_) flags.push_back(flag);
  return NearestFlag(flags, field);
}

std::string Arguments::FlagFor(absl::string_view field) const {
  const std::string given = GivenFlagFor(field);
  return given.empty() ? NearestFlag(flags_, field) : given;
}

}  // namespace coilwright::cli
