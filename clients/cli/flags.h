#pragma once

#include <string>
#include <utility>
#include <vector>

#include "absl/status/statusor.h"
#include "absl/strings/string_view.h"

namespace coilwright::cli {

// A flag of a command.
struct Flag {
  const char* name;   // without its dashes
  const char* value;  // what stands after it, "" for a switch; one that ends in "..." may be given again and again
  const char* field;  // path of the request field it sets, "" for none
  const char* help;
  bool read_by_command = false;  // in words of its own: the field only tells which flag an error is about
  const char* letter = "";       // "o" where -o stands for it
};

// The words of one command, sorted into flags and the rest.
class Arguments {
 public:
  // INVALID_ARGUMENT, one line, for an unknown flag (naming the nearest known one), a value missing or too many, a flag
  // given twice. `--name value` and `--name=value` are the same; `--` ends the flags; `-` is not a flag.
  static absl::StatusOr<Arguments> Parse(const std::vector<std::string>& words, std::vector<Flag> flags);

  bool Has(absl::string_view name) const;
  // Value of a flag that stands at most once, `fallback` where it does not stand.
  std::string Text(absl::string_view name, absl::string_view fallback = "") const;
  std::vector<std::string> All(absl::string_view name) const;
  // Flag and value in the order given; the value of a switch is "true".
  const std::vector<std::pair<Flag, std::string>>& given() const { return given_; }
  const std::vector<std::string>& words() const { return words_; }
  // "--volts" for the flag that comes nearest to this field (sets it, a message that holds it or one in it), those
  // given first; "" where none does.
  std::string FlagFor(absl::string_view field) const;
  // The same among the flags given.
  std::string GivenFlagFor(absl::string_view field) const;

 private:
  std::vector<Flag> flags_;
  std::vector<std::pair<Flag, std::string>> given_;
  std::vector<std::string> words_;
};

}  // namespace coilwright::cli
